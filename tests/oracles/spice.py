"""A second opinion by ngspice, a general-purpose circuit simulator, on circuits with loads.

The discrete states (switch positions, relay pulled, fuse open, diode conducting) are given;
ngspice finds the operating point. Filaments and motors are behavioural sources, so ngspice
iterates the non-linear laws itself (Newton's method; the solver uses secants).

Taken from `quizgen.solver` are only the tables of `models.py`: the branches of each part and
what they do in each state. The numbers of the laws come from there, the laws are written
again here.

Open branches, and every node without a path to the reference, are left out of the netlist,
so ngspice never meets a floating node and needs no leak. Which nodes those are is found by a
search of our own over the conducting branches. Ideal branches become V elements; one that
closes a loop of ideal branches is left out, because ngspice calls such a loop singular.

One process solves any number of cases: a control script sources each circuit in turn and
appends its operating point to one binary raw file, which holds doubles, so no digit is lost.

Accuracy seen (ngspice 39): it factorises in double precision with a diagonal, so it loses
about as many digits as the resistances span. Worst difference from the exact oracle over 150
random meshes of 12 nodes and two sources, by span of the resistances:

=================  ===========  ===========
ohm                worst        median
=================  ===========  ===========
1e-3 to 1e3        2e-10 V      5e-14 V
1e-3 to 1e6        2e-7 V       3e-13 V
1e-3 to 1e9        2e-5 V       2e-12 V
1e-3 to 1e12       4e-3 V       1e-11 V
1e-6 to 1e15       37 V         8e-10 V
=================  ===========  ===========

With filaments and motors, at the tolerances below: 1e-6 V from bisection of the laws.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf
from pathlib import Path

import numpy as np
import pytest

from quizgen.circuit.netlist import Circuit
from quizgen.solver.laws import DiodeLaw, FilamentLaw, MotorLaw
from quizgen.solver.models import part_model
from quizgen.solver.part_model import Flow

OPTIONS = ".options reltol=1e-9 abstol=1e-12 vntol=1e-10 gmin=1e-15 itl1=1000"


@dataclass(frozen=True)
class Element:
    """One branch in its state: `flow` between nodes `a` and `b`. `conducts`: see `frozen`."""

    name: str
    a: str
    b: str
    flow: Flow
    conducts: bool


@dataclass(frozen=True)
class Case:
    """A circuit with its discrete states frozen."""

    elements: tuple[Element, ...]
    reference: str
    nodes: tuple[str, ...]


def frozen(
    circuit: Circuit,
    states: Mapping[str, str],
    conducting: Iterable[tuple[str, str]] = (),
) -> Case:
    """The elements of `circuit` with each part in the state `states[part id]`.

    Parts with one state need no entry. `conducting`: (part id, branch name) of the diodes
    that conduct; the others block.
    """
    on = set(conducting)
    elements = []
    for part in circuit.parts:
        model = part_model(part)
        state = 0 if len(model.states) == 1 else model.states.index(states[part.id])
        for branch, flow in zip(model.branches, model.flows[state], strict=True):
            if isinstance(flow.law, DiodeLaw):
                conducts = (part.id, branch.name) in on
            else:
                conducts = flow.law is not None or flow.siemens > 0.0
            name = f"{part.id}.{branch.name}" if branch.name else part.id
            elements.append(Element(name, branch.a, branch.b, flow, conducts))
    return Case(tuple(elements), circuit.reference, circuit.nodes)


def tied(case: Case) -> list[str]:
    """The nodes with a conducting path to the reference, the reference first."""
    beside: dict[str, list[str]] = {}
    for e in case.elements:
        if e.conducts:
            beside.setdefault(e.a, []).append(e.b)
            beside.setdefault(e.b, []).append(e.a)
    reached = {case.reference: None}
    waiting = [case.reference]
    while waiting:
        for node in beside.get(waiting.pop(), []):
            if node not in reached:
                reached[node] = None
                waiting.append(node)
    return list(reached)


def filament_amps(across: str, law: FilamentLaw) -> str:
    """Expression of i = i0 (v/v0)^0.55; below the voltage where they meet, the cold conductance."""
    # (v/v0)^-0.45 = cold/(i0/v0) where they meet
    meet = law.volts * (law.cold_siemens * law.volts / law.amps) ** (-1 / 0.45)
    hot = f"{law.amps!r}*pow(max(abs({across}),{meet!r})/{law.volts!r},0.55)"
    return f"abs({across}) < {meet!r} ? {law.cold_siemens!r}*{across} : sgn({across})*{hot}"


def motor_amps(across: str, law: MotorLaw) -> str:
    """Expression of i with friction and fan torque balanced.

    With x the speed: v = R·i + E·x, i = friction + fan·x².

    With i put into v: R·fan·x² + E·x = v − R·friction. Below v = R·friction it stands still.
    """
    ohm = law.volts / law.stall_amps
    emf = law.volts - law.run_amps * ohm
    held = law.friction * law.run_amps
    fan = law.run_amps - held
    spare = f"max(abs({across})-{ohm * held!r},0)"
    speed = f"(2*{spare}/({emf!r}+sqrt({emf**2!r}+{4 * ohm * fan!r}*{spare})))"
    turning = f"sgn({across})*({held!r}+{fan!r}*{speed}*{speed})"
    return f"abs({across}) < {ohm * held!r} ? {across}/{ohm!r} : {turning}"


def _lines(case: Case, number: dict[str, int]) -> list[str]:
    """The element lines among the nodes numbered."""
    lines = []
    joined = list(range(len(number)))  # for loops of ideal branches: node → any joined node

    def end(n: int) -> int:
        while joined[n] != n:
            n = joined[n]
        return n

    for i, e in enumerate(case.elements):
        if not e.conducts or e.a not in number:
            continue
        a, b = number[e.a], number[e.b]
        across, flow = f"v({a},{b})", e.flow
        match flow.law:
            case FilamentLaw():
                lines.append(f"B{i} {a} {b} i = {filament_amps(across, flow.law)}")
            case MotorLaw():
                lines.append(f"B{i} {a} {b} i = {motor_amps(across, flow.law)}")
            case DiodeLaw(forward_volts, siemens):
                lines.append(f"R{i} {a} d{i} {1 / siemens!r}")
                lines.append(f"V{i} d{i} {b} {forward_volts!r}")
            case _ if flow.siemens == inf:
                if end(a) != end(b):
                    joined[end(a)] = end(b)
                    lines.append(f"V{i} {a} {b} {flow.volts!r}")
            case _ if flow.volts:
                lines.append(f"R{i} {a} s{i} {1 / flow.siemens!r}")
                lines.append(f"V{i} s{i} {b} {flow.volts!r}")
            case _:
                lines.append(f"R{i} {a} {b} {1 / flow.siemens!r}")
    return lines


def solve_by_ngspice(
    cases: Sequence[Case], folder: Path, ngspice: str
) -> list[dict[str, float | None]]:
    """Node → volts against the reference, None when floating, for each case.

    `folder`: an empty folder to work in; `ngspice`: the program. Raises AssertionError when
    ngspice leaves a case without an operating point or ideal branches contradict each other.
    """
    script = ["operating points", ".control", "set filetype=binary", "set appendwrite"]
    numbers = []
    for i, case in enumerate(cases):
        number = {node: n for n, node in enumerate(tied(case))}
        numbers.append(number)
        lines = _lines(case, number)
        if len(number) > 1:
            text = "\n".join([f"case {i}", *lines, OPTIONS, ".end", ""])
            (folder / f"{i}.cir").write_text(text)
            script += [f"source {i}.cir", "op", "write points.raw all", "destroy all", "remcirc"]
    (folder / "run.cir").write_text("\n".join([*script, "quit 0", ".endc", ".end", ""]))
    done = subprocess.run(
        [ngspice, "-n", "-b", "run.cir"], cwd=folder, capture_output=True, text=True, check=False
    )
    raw = folder / "points.raw"
    points = _read_raw(raw.read_bytes()) if raw.exists() else {}
    answers = []
    for i, (case, number) in enumerate(zip(cases, numbers, strict=True)):
        point = points.get(f"case {i}", {})
        missing = [node for node, n in number.items() if n and f"{n}" not in point]
        assert not missing, f"ngspice has no operating point of case {i}:\n{done.stderr[-2000:]}"
        volts = {node: point.get(f"{n}", 0.0) for node, n in number.items()}
        for e in case.elements:  # among them those left out because they close a loop
            if e.flow.siemens == inf and e.conducts and e.a in number:
                gap = volts[e.a] - volts[e.b] - e.flow.volts
                assert abs(gap) < 1e-6, f"case {i}: {e.name} contradicts other ideal branches"
        answers.append({node: volts.get(node) for node in case.nodes})
    return answers


def _read_raw(raw: bytes) -> dict[str, dict[str, float]]:
    """Title → node name → volts, from a binary raw file of one-point plots."""
    points: dict[str, dict[str, float]] = {}
    at = 0
    while at < len(raw):
        body = raw.index(b"Binary:\n", at) + len(b"Binary:\n")
        head = raw[at:body].decode().splitlines()
        fields = dict(line.split(": ", 1) for line in head if ": " in line)
        count = int(fields["No. Variables"])
        first = head.index("Variables:") + 1
        names = [line.split()[1] for line in head[first : first + count]]
        values = np.frombuffer(raw, dtype="<f8", count=count, offset=body)
        at = body + 8 * count
        point = dict(zip(names, values.tolist(), strict=True))
        points[fields["Title"]] = {
            name.removeprefix("v(").removesuffix(")"): value
            for name, value in point.items()
            if name.startswith("v(")
        }
    return points


@pytest.fixture(scope="session")
def ngspice() -> str:
    """The ngspice program; the test is skipped with a notice where it is not installed."""
    program = shutil.which("ngspice")
    if program is None:
        pytest.skip("ngspice is not installed: this check against it did not run")
    return program
