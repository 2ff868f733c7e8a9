"""Filaments, motors and diodes: secant sweeps inside diode flips, for many cases at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quizgen.base.errors import CircuitError
from quizgen.solver.laws import (
    DIODE,
    FILAMENT,
    MOTOR,
    FloatArray,
    filament_siemens,
    motor_siemens,
)
from quizgen.solver.linear import LinearSolution, solve_linear
from quizgen.solver.network import IntArray, LawTable, Network, law_table

SECANT_TOLERANCE = 1e-11  # relative change of a conductance between sweeps
DARK_VOLTS = 1e-9  # below this a non-linear part carries nothing worth iterating for
MOST_SWEEPS = 2000
PLAIN_SWEEPS = 40  # a filament fed by a constant current needs 0.45^n < 1e-11: 32
MOST_FLIPS = 400
FLIP_VOLTS = 1e-9


@dataclass
class Electrical:
    """Solved cases: the conductances found and the linear solution that goes with them."""

    siemens: FloatArray
    emf: FloatArray
    solution: LinearSolution
    diode_on: NDArray[np.bool_]  # of each entry of the law table with a diode
    laws: LawTable


def solve_electrical(network: Network, rows: IntArray) -> Electrical:
    """Solve m cases with fixed discrete states; `rows` (slots, m) as from Network.rows.

    Raises CircuitError when a non-linear part finds no operating point (not known to happen
    for the laws of `laws.py`) or ideal sources contradict each other.
    """
    laws = law_table(network, rows)
    siemens, emf = network.fill(rows)
    secant = laws.keep(laws.code != DIODE)
    diodes = laws.of(DIODE)
    on = np.zeros(len(diodes.branch), dtype=bool)
    out = _empty_solution(network, rows.shape[1])
    active = np.arange(rows.shape[1])
    seen: set[bytes] = set()
    single = np.zeros(rows.shape[1], dtype=bool)
    for _ in range(MOST_FLIPS):
        _set_diodes(diodes, on, siemens, emf)
        _sweep(network, secant, siemens, emf, out, active)
        wrong = _violated(network, diodes, on, out)
        if not wrong.any():
            return Electrical(siemens, emf, out, on, laws)
        active = np.unique(diodes.case[wrong])
        _mark_repeats(diodes, on, active, seen, single)
        on ^= _to_flip(diodes, wrong, single)
    raise CircuitError(f"{network.circuits[0].name}: the diodes find no common state")


def _empty_solution(network: Network, m: int) -> LinearSolution:
    n, b = len(network.nodes), len(network.wiring.ends)
    return LinearSolution(np.zeros((n, m)), np.zeros((n, m), dtype=np.int32), np.zeros((b, m)))


def _set_diodes(
    diodes: LawTable, on: NDArray[np.bool_], siemens: FloatArray, emf: FloatArray
) -> None:
    siemens[diodes.branch, diodes.case] = np.where(on, diodes.numbers[:, 1], 0.0)
    emf[diodes.branch, diodes.case] = np.where(on, diodes.numbers[:, 0], 0.0)


def _sweep(
    network: Network,
    laws: LawTable,
    siemens: FloatArray,
    emf: FloatArray,
    out: LinearSolution,
    active: IntArray,
) -> None:
    """Secant iteration of the `active` cases until every conductance stands still.

    Where i ~ v^p, an error of log g comes back times (1 − p)·s, s between 0 (fed by a voltage)
    and 1 (by a current). Filaments have p = 0.55; a motor without friction that a lamp or a
    meter holds to a crawl has p = 2 and would swing for ever. Halving the steps makes it
    (1 + (1 − p)·s)/2, less than 0.73 for both.
    """
    ends = np.array(network.wiring.ends, dtype=np.intp).reshape(-1, 2)
    for sweep in range(MOST_SWEEPS):
        found = solve_linear(network.wiring, siemens[:, active], emf[:, active])
        out.volts[:, active] = found.volts
        out.island[:, active] = found.island
        out.amps[:, active] = found.amps
        mask = np.zeros(siemens.shape[1], dtype=bool)
        mask[active] = True
        laws = laws.keep(mask[laws.case])
        if not len(laws.branch):
            return
        moving = _update(laws, ends, siemens, out, halved=sweep >= PLAIN_SWEEPS)
        active = np.unique(laws.case[moving])
        if not len(active):
            return
    raise CircuitError(f"{network.circuits[0].name}: lamps and motors find no operating point")


def _update(
    laws: LawTable, ends: IntArray, siemens: FloatArray, out: LinearSolution, *, halved: bool
) -> NDArray[np.bool_]:
    """Set the secant conductances; True where one has moved and matters.

    `halved`: go half way only, on a logarithmic scale.
    """
    a, b = ends[laws.branch].T
    volts = out.volts[a, laws.case] - out.volts[b, laws.case]
    old = siemens[laws.branch, laws.case]
    new = old.copy()
    for code, rule in ((FILAMENT, filament_siemens), (MOTOR, motor_siemens)):
        mine = laws.code == code
        if mine.any():
            new[mine] = rule(volts[mine], laws.numbers[mine])
    # a dark part's conductance is set once, then its voltage has no say
    moved = (np.abs(new - old) > SECANT_TOLERANCE * old) & (
        (np.abs(volts) > DARK_VOLTS) | (np.abs(new - old) > 0.5 * old)
    )
    siemens[laws.branch[moved], laws.case[moved]] = (
        np.sqrt(old * new)[moved] if halved else new[moved]
    )
    return np.asarray(moved)


def _violated(
    network: Network, diodes: LawTable, on: NDArray[np.bool_], out: LinearSolution
) -> NDArray[np.bool_]:
    """Diodes that conduct backwards, or block against more than their forward voltage."""
    ends = np.array(network.wiring.ends, dtype=np.intp).reshape(-1, 2)
    a, b = ends[diodes.branch].T
    drop = out.volts[a, diodes.case] - out.volts[b, diodes.case]
    island_a, island_b = out.island[a, diodes.case], out.island[b, diodes.case]
    apart = island_a != island_b
    # a live anode lifts a cathode that nothing holds, as any meter on it would show
    lifts = apart & (island_a == 0) & (out.volts[a, diodes.case] > 0)
    forward = diodes.numbers[:, 0]
    starts = np.where(apart, lifts, drop > forward + FLIP_VOLTS)
    stops = drop < forward - FLIP_VOLTS * np.maximum(1.0, np.abs(drop))
    return np.asarray(np.where(on, stops, starts))


def _mark_repeats(
    diodes: LawTable,
    on: NDArray[np.bool_],
    active: IntArray,
    seen: set[bytes],
    single: NDArray[np.bool_],
) -> None:
    """Cases whose diode states have come round again flip one diode at a time from now on."""
    for case in active:
        key = case.tobytes() + np.packbits(on[diodes.case == case]).tobytes()
        if key in seen:
            single[case] = True
        seen.add(key)


def _to_flip(
    diodes: LawTable, wrong: NDArray[np.bool_], single: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    flip = wrong & ~single[diodes.case]
    for case in np.unique(diodes.case[wrong & single[diodes.case]]):
        flip[np.flatnonzero(wrong & (diodes.case == case))[0]] = True
    return flip
