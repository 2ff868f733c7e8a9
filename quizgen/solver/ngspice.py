"""A second opinion on solved points by ngspice, a general-purpose circuit simulator.

The discrete states are those that the solver found, see `quizgen.solver.spice`; voltages and
currents are found anew, by Newton's method on a matrix instead of elimination and secants. That
the states fit the new voltages is looked at with `misfits`.

One process solves many points: a control script sources one netlist after the other and
appends each operating point to one binary raw file (ngspice user's manual, `write`), which
holds doubles, so that no digit is lost.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import nan
from pathlib import Path

import numpy as np

from quizgen.base.errors import OutsideError
from quizgen.solver.history import Histories
from quizgen.solver.laws import DiodeLaw
from quizgen.solver.models import part_model
from quizgen.solver.operating_point import OperatingPoint, Solutions
from quizgen.solver.part_model import Armature
from quizgen.solver.spice import Netlist, netlist, pieces

AT_ONCE = 500  # netlists to a process
SECONDS = 600  # for one process: a hundred times what it takes
NEAR_VOLTS = 1e-3  # of a threshold

Values = dict[str, float]


def find_ngspice() -> str:
    """Where the program is. Raises OutsideError where it is not installed."""
    program = shutil.which("ngspice")
    if program is None:
        raise OutsideError(
            "ngspice is not installed, and the second opinion is its; "
            "install the package ngspice of your system"
        )
    return program


def solve_again(points: Sequence[OperatingPoint], program: str) -> list[OperatingPoint | None]:
    """Each point with the voltages, currents and floating nodes that ngspice finds.

    None where ngspice finds no operating point. A current that an ideal branch shares with
    others beside it is nan. Raises OutsideError when the program cannot be run.
    """
    found: list[OperatingPoint | None] = []
    for start in range(0, len(points), AT_ONCE):
        some = points[start : start + AT_ONCE]
        nets = [netlist(p, title=f"case {i}") for i, p in enumerate(some)]
        values = _run(nets, program)
        for point, net, case in zip(some, nets, values, strict=True):
            found.append(None if case is None else _exchanged(point, net, case))
    return found


def _run(nets: Sequence[Netlist], program: str) -> list[Values | None]:
    """Name → volts or amps, by netlist; None where there is no operating point."""
    script = ["operating points", ".control", "set filetype=binary", "set appendwrite"]
    with tempfile.TemporaryDirectory(prefix="quizgen-") as folder:
        for i, net in enumerate(nets):
            if net.elements:
                Path(folder, f"{i}.cir").write_text(net.text, encoding="utf-8")
                script += [f"source {i}.cir", "op", "write raw all", "destroy all", "remcirc"]
        script += ["quit 0", ".endc", ".end", ""]
        Path(folder, "run.cir").write_text("\n".join(script), encoding="utf-8")
        try:
            subprocess.run(
                [program, "-n", "-b", "run.cir"], cwd=folder, capture_output=True, check=False,
                timeout=SECONDS,
            )  # fmt: skip
        except (OSError, subprocess.TimeoutExpired) as error:
            raise OutsideError(f"{program} cannot be run: {error}") from None
        raw = Path(folder, "raw")
        found = dict(_plots(raw.read_bytes())) if raw.exists() else {}
    return [found.get(f"case {i}") if net.elements else {} for i, net in enumerate(nets)]


def _plots(raw: bytes) -> Iterator[tuple[str, Values]]:
    """Title and values of each plot of one point in a binary raw file."""
    mark, at = b"Binary:\n", 0
    while (body := raw.find(mark, at)) >= 0:
        body += len(mark)
        head = raw[at:body].decode(errors="replace").splitlines()
        fields = dict(line.split(": ", 1) for line in head if ": " in line)
        count = int(fields["No. Variables"])
        first = head.index("Variables:") + 1
        names = [line.split()[1] for line in head[first : first + count]]
        values = np.frombuffer(raw, dtype="<f8", count=count, offset=body)
        at = body + 8 * count
        yield fields["Title"], dict(zip(names, values.tolist(), strict=True))


def _exchanged(point: OperatingPoint, net: Netlist, values: Values) -> OperatingPoint | None:
    """The point with its numbers exchanged; it has no history of its own."""
    old, case = point.solutions, point.case
    column = {
        name: getattr(old.settled, name)[:, [case]].copy()
        for name in ("state", "siemens", "emf", "volts", "island", "amps")
    }
    for node, island in net.island.items():
        row = old.network.node_index[node]
        column["island"][row] = island
        name = net.nodes.get(node, "").lower()
        column["volts"][row] = values.get(f"v({name})", 0.0 if island or name == "0" else nan)
    for part in point.circuit.parts:
        for key, row in _rows(point, part.id):
            if key in net.elements:
                column["amps"][row] = _amps(values, net.elements[key])
            else:
                column["amps"][row] = nan if key in net.shorted else 0.0
    if not np.isfinite(column["volts"]).all():
        return None
    settled = replace(old.settled, histories=Histories(), **column)
    solutions = Solutions(old.network, old.circuit[[case]], [old.moves[case]], settled)
    return OperatingPoint(solutions, 0)


def _rows(point: OperatingPoint, part_id: str) -> Iterator[tuple[tuple[str, str], int]]:
    """Part and branch, and the row of the branch in the tables."""
    network = point.solutions.network
    slot = network.slot_index[part_id]
    variant = int(network.variant[slot, int(point.solutions.circuit[point.case])])
    branches = network.slots[slot].models[variant].branches
    for branch, row in zip(branches, network.slots[slot].columns[variant], strict=True):
        yield (part_id, branch.name), row


def _amps(values: Values, element: str) -> float:
    name = element.lower()
    return values.get(f"i({name})", values.get(f"i(@{name}[i])", nan))


def misfits(point: OperatingPoint) -> Iterator[str]:
    """Discrete states that the voltages of `point` do not hold, a line each.

    Diodes conduct from their forward voltage on; a relay or solenoid that is pulled has more
    than its drop-out voltage, one at rest less than its pull-in voltage. Not for a circuit
    that chatters, nor for relays with a timer.
    """
    for part in point.circuit.parts:
        model = part_model(part)
        flows = point.flows(part)
        for piece, flow in zip(pieces(point, part), flows, strict=True):
            if isinstance(piece.flow.law, DiodeLaw) and flow.volts is not None:
                above = flow.volts - piece.flow.law.forward_volts
                if above < -NEAR_VOLTS if piece.conducts else above > NEAR_VOLTS:
                    verb = "conducts" if piece.conducts else "blocks"
                    yield f"{part.id} {verb} at {flow.volts:.3f} V"
        mover = model.mover
        if isinstance(mover, Armature) and mover.gate is None:
            felt = abs(sum(share * (flows[i].volts or 0.0) for i, share in mover.coils))
            pulled = point.state(part) == "pulled"
            low, high = mover.drop_out_volts - NEAR_VOLTS, mover.pull_in_volts + NEAR_VOLTS
            if felt < low if pulled else felt > high:
                yield f"{part.id} is {'pulled' if pulled else 'at rest'} at {felt:.3f} V"
