"""How fast the fault dictionary is: against ngspice, and against the bare elimination.

`make bench` prints ratios measured in one run; absolute times belong to the machine. Shown
beside each other, in microseconds per case (fault × position of the controls):

- ours: `solve_cases`, from circuit records to voltages and currents of every case
- bare: the vectorised elimination of the same cases alone
- alter+op: one ngspice process that changes what differs and solves, case after case. For the
  shipped templates it gets the discrete states from us and need not look for them.
- process: one ngspice process for each case, measured on a few

All times are processor time of one thread, the least of several runs: neighbours on the machine
then count little, and neither side waits for a disk.
"""

from __future__ import annotations

import os

os.environ["OPENBLAS_NUM_THREADS"] = "1"
os.environ["OMP_NUM_THREADS"] = "1"  # of ngspice

import itertools
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from quizgen.circuit.components import Battery, Contact, Diode, LedLamp, Relay, Resistor, Switch
from quizgen.circuit.netlist import Circuit, Control
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.faults import inject, universe
from quizgen.solver import Solutions, solve_cases
from quizgen.solver.elimination import eliminate
from quizgen.solver.laws import LINEAR, FilamentLaw, MotorLaw
from quizgen.solver.linear import merge
from quizgen.solver.reduction import contract
from tests.oracles.spice import OPTIONS, filament_amps, motor_amps

OPEN_OHM, JOINT_OHM = 1e12, 1e-6
REPEATS = 9
SPICE_REPEATS = 3
MOST_STATES = 8
MOST_CASES = 1500


def synthetic(nodes: int, seed: int) -> Circuit:
    """A nearly tree-like vehicle network: thin wires, a third as many loads, four switches."""
    rng = random.Random(seed)
    parts = [Battery(id="GB1", nodes=("n1", "chassis"), emf_volts=12.6, internal_ohm=0.01)]
    for i in range(2, nodes):
        before = rng.randrange(max(1, i - 6), i)
        ohm = 10 ** rng.uniform(-2.5, -1)
        parts.append(Resistor(id=f"W{i}", nodes=(f"n{before}", f"n{i}"), ohm=ohm))
    for i in range(nodes // 3):
        end = f"n{rng.randrange(2, nodes)}"
        parts.append(Resistor(id=f"R{i}", nodes=(end, "chassis"), ohm=10 ** rng.uniform(0, 2)))
    controls = []
    for i in range(4):
        a, b = rng.sample(range(2, nodes), 2)
        closes = ((), (Contact(a="1", b="2"),))
        parts.append(
            Switch(
                id=f"S{i}", nodes=(f"n{a}", f"n{b}"), pins=("1", "2"), positions=("off", "on"),
                closes=closes, control=f"S{i}",
            )
        )  # fmt: skip
        controls.append(Control(name=f"S{i}", positions=("off", "on"), rest="off"))
    return Circuit(
        name=f"{nodes} nodes", title="", system_volts=12, parts=tuple(parts),
        controls=tuple(controls),
    )  # fmt: skip


def synthetic_cases(circuit: Circuit, faults: int) -> tuple[list[Circuit], list]:
    """1.2 opens per node, times all positions of four switches."""
    resistors = [p for p in circuit.parts if isinstance(p, Resistor)][:faults]
    opened = [circuit.with_parts(changed=[replace(p, ohm=np.inf)]) for p in resistors]
    return [circuit, *opened], list(states_of(circuit, 16))


def states_of(circuit: Circuit, most: int) -> list[tuple[tuple[str, str], ...]]:
    """Up to `most` combinations of positions, spread over all of them."""
    rest = circuit.rest_positions()
    every = list(itertools.product(*([(c.name, p) for p in c.positions] for c in circuit.controls)))
    picked = every[:: max(1, len(every) // most)][:most]
    return [tuple((n, p) for n, p in combo if p != rest[n]) for combo in picked]


def best(work: Callable[[], object]) -> float:
    """Least processor time of a few runs, in seconds."""
    times = []
    for _ in range(REPEATS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def bare_seconds(solved: Solutions) -> float:
    """The elimination of the same cases, all else done beforehand."""
    wiring, settled = solved.network.wiring, solved.settled
    finite = np.where(np.isinf(settled.siemens), 1 / JOINT_OHM, settled.siemens)
    reduction = contract(wiring.nodes, wiring.ends, (), settled.emf, wiring.names)
    merged = merge(wiring, reduction, (), finite, settled.emf)
    return best(lambda: eliminate(merged.plan, merged.conductance, merged.source))


# --- ngspice --------------------------------------------------------------------------


def netlist(solved: Solutions) -> tuple[list[str], np.ndarray, np.ndarray]:
    """Elements of the whole network, the resistances (branches, m), and which cases it can do.

    Filaments and motors are behavioural sources with the law of the sound part; a case with
    another law (another lamp, a burnt winding) is left out, and so is one with another battery.
    """
    network, settled = solved.network, solved.settled
    rows = network.rows(solved.circuit, settled.state)
    ohm = np.full(settled.siemens.shape, OPEN_OHM)
    np.divide(1.0, settled.siemens, out=ohm, where=settled.siemens > 0)
    ohm = np.clip(ohm, JOINT_OHM, OPEN_OHM)
    able = (settled.emf == settled.emf[:, :1]).all(axis=0)
    lines = []
    for s, slot in enumerate(network.slots):
        for local, branch in enumerate(slot.branches):
            a, b = (f"n{n}" if n else "0" for n in network.wiring.ends[branch])
            code, numbers = slot.code[rows[s], local], slot.numbers[rows[s], local]
            if (code != LINEAR).any():
                model = int(np.flatnonzero(code != LINEAR)[0])
                able &= (code == code[model]) & (numbers == numbers[model]).all(axis=1)
                across = f"v({a},{b})"
                if code[model] == FilamentLaw.code:
                    amps = filament_amps(across, FilamentLaw(*numbers[model][:3].tolist()))
                else:
                    amps = motor_amps(across, MotorLaw(*numbers[model].tolist()))
                lines.append(f"b{branch} {a} {b} i = {amps}")
            elif settled.emf[branch, 0]:
                lines += [f"v{branch} {a} e{branch} {float(settled.emf[branch, 0])!r}"]
                lines += [f"r{branch} e{branch} {b} {float(ohm[branch, 0])!r}"]
            else:
                lines.append(f"r{branch} {a} {b} {float(ohm[branch, 0])!r}")
    return lines, ohm, np.flatnonzero(able)


def alter_seconds(solved: Solutions, ngspice: str) -> tuple[float, int]:
    """One process, alter and op for each case; start-up taken off. Also the cases done."""
    lines, ohm, cases = netlist(solved)
    resistors = {line.split(" ", 1)[0] for line in lines}
    script = ["op"]
    for before, case in itertools.pairwise([0, *cases.tolist()]):
        for branch in np.flatnonzero(ohm[:, before] != ohm[:, case]).tolist():
            if f"r{branch}" in resistors:
                script.append(f"alter r{branch} = {float(ohm[branch, case])!r}")
        script.append("op")
    empty = min(run_ngspice(ngspice, lines, ["op"]) for _ in range(SPICE_REPEATS))
    whole = min(run_ngspice(ngspice, lines, script) for _ in range(SPICE_REPEATS))
    return whole - empty, len(cases)


def run_ngspice(ngspice: str, lines: list[str], script: list[str]) -> float:
    """Processor seconds of one ngspice process."""
    deck = ["bench", *lines, OPTIONS, ".control", *script, "quit", ".endc", ".end"]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "deck.cir"
        path.write_text("\n".join(deck) + "\n")
        start = spent_by_children()
        done = subprocess.run(
            [ngspice, "-b", str(path)], capture_output=True, check=False, timeout=600, text=True
        )
        seconds = spent_by_children() - start
    assert "rror" not in done.stdout + done.stderr, (done.stdout + done.stderr)[-500:]
    return seconds


def spent_by_children() -> float:
    """Processor seconds of all processes that have run until now."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


# --- the table ------------------------------------------------------------------------


def report(name: str, circuits: list[Circuit], states: list, ngspice: str | None) -> None:
    """One line of the table."""
    cases = [(c, moves) for c in range(len(circuits)) for moves in states][:MOST_CASES]
    solved = solve_cases(circuits, cases)
    micro = 1e6 / len(cases)
    ours = best(lambda: solve_cases(circuits, cases)) * micro
    bare = bare_seconds(solved) * micro
    row = f"{name:24} {len(solved.network.nodes):5} {len(cases):6} {ours:8.1f} {bare:7.2f}"
    row += f" {ours / bare:7.1f}"
    if ngspice:
        seconds, done = alter_seconds(solved, ngspice)
        alter = seconds / done * 1e6
        lines, _, _ = netlist(solved)
        single = min(run_ngspice(ngspice, lines, ["op"]) for _ in range(SPICE_REPEATS)) * 1e6
        row += f" {alter:9.0f} {alter / ours:7.0f} {single:9.0f} {single / ours:7.0f}"
    print(row, flush=True)


def without_diodes(circuit: Circuit) -> bool:
    """ngspice is given resistors for the rest; diodes would need their states as well."""
    return not any(
        isinstance(p, Diode | LedLamp) or (isinstance(p, Relay) and p.suppression == "diode")
        for p in circuit.parts
    )


def main() -> None:
    ngspice = shutil.which("ngspice")
    if ngspice is None:
        print("ngspice is not installed: its columns are left out", file=sys.stderr)
    print(f"{'network':24} {'nodes':>5} {'cases':>6} {'ours us':>8} {'bare us':>7} {'ratio':>7}"
          f" {'alter us':>9} {'ratio':>7} {'process':>9} {'ratio':>7}")  # fmt: skip
    for nodes in (20, 50, 150):
        circuit = synthetic(nodes, nodes)
        report(circuit.name, *synthetic_cases(circuit, int(1.2 * nodes)), ngspice)
    for name in shipped_templates():
        circuit = find_template(name).build({})
        if without_diodes(circuit):
            faults = [inject(circuit, item.fault) for item in universe(circuit)]
            report(name, [circuit, *faults], states_of(circuit, MOST_STATES), ngspice)


if __name__ == "__main__":
    main()
