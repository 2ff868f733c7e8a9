"""Filaments, motors and diodes: Newton sweeps inside diode flips, for many cases at once.

In a Newton sweep every lamp and motor is the tangent at its present voltage: a positive
conductance with an offset, which the elimination takes as it takes a battery. What is found is
always told as secant conductances i/v. The few cases that Newton leaves open are finished with
steps whose length is watched.
"""

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
    filament_slope,
    motor_siemens,
    motor_slope,
)
from quizgen.solver.linear import LinearSolution, Wiring, patterns, solve_linear
from quizgen.solver.network import IntArray, LawTable, Network, law_table
from quizgen.solver.reduced import Reduced

SECANT_TOLERANCE = 1e-11  # of a current, between the law and what the network sends
DARK_VOLTS = 1e-9  # below this a non-linear part carries nothing worth iterating for
MOST_SWEEPS = 200  # below twenty as a rule
HALVINGS = 40  # of a step
NEAR = 1e-6  # of a current: from here the last solution of all nodes gets the rest
NEWTON_SWEEPS = 12  # four or five are usual
LEAST_SLOPE = 0.02  # of the secant; a motor at a crawl has a tangent without any slope
FLATTEST = 1e-7  # the same, where the length of a step is watched
MOST_FLIPS = 400
FLIP_VOLTS = 1e-9
NOISE_VOLTS = 1e-13  # of rounding in the difference of two potentials
NO_DROP = 1e-13  # volts across the resistance of a diode that carries nothing


@dataclass
class Electrical:
    """Solved cases: the conductances found and the linear solution that goes with them."""

    siemens: FloatArray
    emf: FloatArray
    solution: LinearSolution


def solve_electrical(
    network: Network, rows: IntArray, guess: FloatArray | None = None
) -> Electrical:
    """Solve m cases with fixed discrete states; `rows` (slots, m) as from Network.rows.

    `guess` (branches, m): conductances of a state near by, from which lamps and motors start.

    Raises CircuitError when a non-linear part finds no operating point (not known to happen
    for the laws of `laws.py`) or ideal sources contradict each other.
    """
    laws = law_table(network, rows)
    siemens, emf = network.fill(rows)
    if not len(laws.branch):
        return Electrical(siemens, emf, solve_linear(network.wiring, siemens, emf))
    if guess is not None:
        start = laws.keep(laws.code != DIODE)
        at = start.branch, start.case
        siemens[at] = np.where(guess[at] > 0.0, guess[at], siemens[at])
    wiring, name, m = network.wiring, network.circuits[0].name, rows.shape[1]
    groups = list(patterns(siemens))
    if len(groups) == 1:
        search = Search(wiring, name, groups[0][0], laws, siemens, emf)
        found = search.run()
        return Electrical(search.reduced.siemens, search.reduced.emf, found)
    out = LinearSolution(
        np.empty((wiring.nodes, m)),
        np.empty((wiring.nodes, m), dtype=np.int32),
        np.empty(siemens.shape),
    )
    for ideal, cases in groups:
        mine = laws.among(cases, m)
        search = Search(wiring, name, ideal, mine, siemens[:, cases], emf[:, cases])
        found = search.run()
        siemens[:, cases], emf[:, cases] = search.reduced.siemens, search.reduced.emf
        out.volts[:, cases], out.island[:, cases] = found.volts, found.island
        out.amps[:, cases] = found.amps
    return Electrical(siemens, emf, out)


class Search:
    """Looks for the operating point of cases that share their ideal branches.

    `g`, `e` (late branches, m) are what the non-linear branches do at present.
    """

    def __init__(
        self,
        wiring: Wiring,
        name: str,
        ideal: tuple[int, ...],
        laws: LawTable,
        siemens: FloatArray,
        emf: FloatArray,
    ) -> None:
        self.name = name
        late = np.unique(laws.branch)
        self.g, self.e = siemens[late], emf[late]
        siemens[late], emf[late] = 0.0, 0.0
        self.reduced = Reduced(wiring, ideal, tuple(late.tolist()), siemens, emf)
        laws = laws.with_branch(np.searchsorted(late, laws.branch))
        self.secant = laws.keep(laws.code != DIODE)
        self.diodes = laws.of(DIODE)
        self.on = np.zeros(len(self.diodes.branch), dtype=bool)
        # diodes at the edge of conducting must be told apart before the last solution
        self.near = SECANT_TOLERANCE if len(self.diodes.branch) else NEAR
        self.ends = np.zeros((len(late), 2, siemens.shape[1]))
        self.island = np.zeros(self.ends.shape, dtype=np.int32)

    def run(self) -> LinearSolution:
        """Sweep, flip the diodes that are wrong, sweep again, until none is."""
        active = np.arange(self.g.shape[1])
        seen: set[bytes] = set()
        single = np.zeros(self.g.shape[1], dtype=bool)
        for _ in range(MOST_FLIPS):
            d = self.diodes
            self.g[d.branch, d.case] = np.where(self.on, d.numbers[:, 1], 0.0)
            self.e[d.branch, d.case] = np.where(self.on, d.numbers[:, 0], 0.0)
            self._sweep(active)
            wrong = self._violated()
            if not wrong.any():
                found = self.reduced.finish(self.g, self.e)
                active = self._close(found)
                if not len(active) or self.near == SECANT_TOLERANCE:
                    return found
                self.near = SECANT_TOLERANCE
                continue
            active = np.unique(d.case[wrong])
            self._mark_repeats(active, seen, single)
            self.on ^= self._to_flip(wrong, single)
        raise CircuitError(f"{self.name}: the diodes find no common state")

    def _sweep(self, active: IntArray) -> None:
        """Bring lamps and motors of the `active` cases near their laws."""
        left = self._newton(active)
        if len(left):
            self._careful(left)

    def _newton(self, active: IntArray) -> IntArray:
        """Solve with tangents until the laws are nearly met. Returns the cases that are not there.

        A part whose current is far from what its line foretold, or runs the other way, is
        given its secant instead for the next sweep: from there a tangent could overshoot.
        """
        laws = self.secant.keep(np.isin(self.secant.case, active))
        for _ in range(NEWTON_SWEEPS):
            self.ends[:, :, active], self.island[:, :, active] = self.reduced.ends_of(
                self.g[:, active], self.e[:, active], active
            )
            b, c = laws.branch, laws.case
            g, e = self.g[b, c], self.e[b, c]
            volts = self.ends[b, 0, c] - self.ends[b, 1, c]
            line, secant, slope = g * (volts - e), *_conductances(laws, volts)
            amps, dark = secant * volts, np.abs(volts) <= DARK_VOLTS
            off = np.abs(amps - line)
            # a dark part's conductance is set once, then its voltage has no say
            reset = (e != 0.0) | (np.abs(secant - g) > 0.5 * g)
            wrong = np.where(dark, reset, off > self.near * np.abs(amps))
            follow = ~dark & (off < np.abs(amps))
            slope = np.maximum(slope, LEAST_SLOPE * secant)
            self.g[b, c] = np.where(follow, slope, np.where(dark & ~reset, g, secant))
            self.e[b, c] = np.where(follow, volts - amps / np.where(follow, slope, 1.0), 0.0)
            active = np.unique(c[wrong])
            if not len(active):
                break
            on = np.isin(c, active)
            laws, last = laws.keep(on), secant[on]
        else:
            self.g[laws.branch, laws.case], self.e[laws.branch, laws.case] = last, 0.0
        return active

    def _close(self, found: LinearSolution) -> IntArray:
        """Tell what was found with tangents as secants. Returns the cases not at their laws."""
        b, c = self.secant.branch, self.secant.case
        rows = np.array(self.reduced.late, dtype=np.intp)[b]
        wiring = self.reduced.wiring
        volts = found.volts[wiring.a[rows], c] - found.volts[wiring.b[rows], c]
        g, amps = self.g[b, c], found.amps[rows, c]
        secant, _ = _conductances(self.secant, volts)
        dark = np.abs(volts) <= DARK_VOLTS
        reset = (self.e[b, c] != 0.0) | (np.abs(secant - g) > 0.5 * g)
        law = secant * volts
        wrong = np.where(dark, reset, np.abs(law - amps) > SECANT_TOLERANCE * np.abs(law))
        siemens = np.where(dark & ~reset, g, secant)
        self.reduced.siemens[rows, c], self.reduced.emf[rows, c] = siemens, 0.0
        return np.unique(c[wrong])

    def _careful(self, active: IntArray) -> None:
        """Bring the `active` cases to their laws where plain Newton steps go astray.

        The sought state is where the co-content of the network, the sum of ∫i dv over its
        branches, is least (W. Millar, Phil. Mag. 42, 1951, from memory). As no law falls, it is
        convex, and a Newton step as long as the co-content falls always comes nearer.
        """
        laws = self.secant.keep(np.isin(self.secant.case, active))
        volts, line = self._solve_lines(laws, active)
        for _ in range(MOST_SWEEPS):
            secant, slope = _conductances(laws, volts)
            amps = secant * volts
            least = np.maximum(SECANT_TOLERANCE * np.abs(amps), NOISE_VOLTS * secant)
            slope = np.maximum(slope, FLATTEST * secant)
            b, c = laws.branch, laws.case
            self.g[b, c], self.e[b, c] = slope, volts - amps / slope
            if not (np.abs(amps - line) > least).any():
                self._solve_lines(laws, active)
                return
            ahead, line_ahead = self._solve_lines(laws, active)
            share = _stride(laws, volts, ahead - volts, line, line_ahead - line)
            volts = volts + share * (ahead - volts)
            line = line + share * (line_ahead - line)
        raise CircuitError(f"{self.name}: lamps and motors find no operating point")

    def _solve_lines(self, laws: LawTable, active: IntArray) -> tuple[FloatArray, FloatArray]:
        """Solve with the lines that stand for `laws` now. Returns their volts and amps (n,)."""
        self.ends[:, :, active], self.island[:, :, active] = self.reduced.ends_of(
            self.g[:, active], self.e[:, active], active
        )
        b, c = laws.branch, laws.case
        volts = self.ends[b, 0, c] - self.ends[b, 1, c]
        return volts, self.g[b, c] * (volts - self.e[b, c])

    def _violated(self) -> NDArray[np.bool_]:
        """Diodes that conduct backwards, or block against more than their forward voltage.

        A cathode that nothing else holds is where a meter's current would put it: lifted by an
        anode above the forward voltage, else left alone. Without this a diode that was
        switched on and then lost its push would show the cathode below the reference.
        """
        b, c = self.diodes.branch, self.diodes.case
        anode, cathode = self.ends[b, 0, c], self.ends[b, 1, c]
        drop, forward = anode - cathode, self.diodes.numbers[:, 0]
        apart = self.island[b, 0, c] != self.island[b, 1, c]
        lifts = apart & (self.island[b, 0, c] == 0) & (anode > forward + FLIP_VOLTS)
        starts = np.where(apart, lifts, drop > forward + FLIP_VOLTS)
        stops = drop < forward - FLIP_VOLTS * np.maximum(1.0, np.abs(drop))
        loose = (np.abs(drop - forward) <= NO_DROP) & (self.island[b, 1, c] == 0)
        stops |= loose & (cathode < -FLIP_VOLTS)
        return np.asarray(np.where(self.on, stops, starts))

    def _mark_repeats(self, active: IntArray, seen: set[bytes], single: NDArray[np.bool_]) -> None:
        """Cases whose diode states come round again flip one diode at a time from now on."""
        for case in active:
            states = np.packbits(self.on[self.diodes.case == case])
            key = case.tobytes() + states.tobytes()
            if key in seen:
                single[case] = True
            seen.add(key)

    def _to_flip(self, wrong: NDArray[np.bool_], single: NDArray[np.bool_]) -> NDArray[np.bool_]:
        case = self.diodes.case
        flip = wrong & ~single[case]
        for c in np.unique(case[wrong & single[case]]):
            flip[np.flatnonzero(wrong & (case == c))[0]] = True
        return flip


def _stride(
    laws: LawTable, volts: FloatArray, step: FloatArray, line: FloatArray, line_step: FloatArray
) -> FloatArray:
    """Which share of a step brings each case's co-content lowest, by entry of `laws` (n,).

    Along the step `line` are the currents that the rest of the network would send. The
    co-content changes by (law − line)·dv, which grows along the step, so its zero is bracketed.
    """
    case = laws.case

    def rise(share: FloatArray) -> FloatArray:
        at = volts + share[case] * step
        secant, _ = _conductances(laws, at)
        slope = (secant * at - line - share[case] * line_step) * step
        return np.asarray(np.bincount(case, weights=slope), dtype=np.float64)

    low, share = np.zeros(case.max() + 1), np.ones(case.max() + 1)
    high, start = share, np.abs(rise(low))
    for _ in range(HALVINGS):
        found = rise(share)
        low, high = np.where(found < 0.0, share, low), np.where(found > 0.0, share, high)
        good = (np.abs(found) <= 0.1 * start) | (low == 1.0)
        if good.all():
            break
        share = np.where(good, share, 0.5 * (low + high))
    return np.asarray(share[case])


def _conductances(laws: LawTable, volts: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Secant i/v and slope di/dv of lamps and motors at `volts`, all (n,)."""
    secant, slope = np.empty_like(volts), np.empty_like(volts)
    for code, siemens, tangent in (
        (FILAMENT, filament_siemens, filament_slope),
        (MOTOR, motor_siemens, motor_slope),
    ):
        mine = laws.code == code
        if mine.any():
            secant[mine] = siemens(volts[mine], laws.numbers[mine])
            slope[mine] = tangent(volts[mine], laws.numbers[mine])
    return secant, slope
