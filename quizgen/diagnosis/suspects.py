"""Which faults are consistent with everything that was found, and how likely each now is.

Every claim of the fault universe is tried at all severities, "no fault" too, and on request
two claims at once. What does not agree with one certain observation or reading is out; what
is left shares the likelihood by weight. A claim about a resistance keeps the share of its
severities that agree, so a fault that explains the findings only at one particular severity
counts for less than one that explains them anyhow.

Suspects that a voltmeter at every point and a look at every load, in several positions of the
controls, would not tell apart form an ambiguity group.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, combinations, groupby

import numpy as np

from quizgen.base.errors import InputError
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.agreement import (
    Words,
    agreeing,
    between,
    load_words,
    slack,
    visible_loads,
)
from quizgen.diagnosis.beliefs import normalised
from quizgen.diagnosis.claims import claims
from quizgen.diagnosis.evidence import Evidence, check_evidence
from quizgen.diagnosis.states import telling_states
from quizgen.diagnosis.worlds import (
    Cause,
    Cell,
    Worlds,
    cells_of,
    faulted,
    joined,
    solve_worlds,
    split,
)
from quizgen.faults import Fault
from quizgen.solver.laws import FloatArray
from quizgen.solver.operating_point import Moves

SOUND_SHARE = 0.02  # one complaint in fifty has no fault behind it (common practice, no source)
PAIR_SHARE = 0.05  # one faulty machine in twenty has two (common practice, no source)
MOST_PAIRS = 1500  # pairs of claims tried, the likeliest first
REFINEMENTS = 3  # times that a step between severities is divided
PIECES = 4  # into so many
MOST_CELLS = 3  # steps of severity kept of one suspect
MOST_STATES = 6  # in which suspects are compared


@dataclass(frozen=True)
class Suspect:
    """A cause that agrees with all that was found."""

    cause: Cause
    probability: float
    group: int
    cells: tuple[Cell, ...]  # severities that agree; `weight` is the probability now

    @property
    def key(self) -> str:
        """Unique text."""
        return self.cause.key


@dataclass(frozen=True)
class Suspects:
    """`listed` by falling probability; `groups` number them by what tells them apart."""

    circuit: Circuit
    evidence: Evidence
    listed: tuple[Suspect, ...]
    groups: tuple[tuple[int, ...], ...]
    tried: int  # causes
    left_out: int  # pairs of claims too unlikely to be tried
    worlds: Worlds  # of all cells, in the present state and some others

    @property
    def cells(self) -> list[Cell]:
        """All cells; `cause` is the number in `listed`."""
        return [
            Cell(number, cell.weight, cell.near, cell.far)
            for number, suspect in enumerate(self.listed)
            for cell in suspect.cells
        ]


def suspects(circuit: Circuit, evidence: Evidence, *, double: bool = False) -> Suspects:
    """The causes that agree with `evidence` on `circuit` (the sound one); maybe none.

    With `double` also two claims at once, each at its usual severity, of which neither alone
    explains what was found. Raises InputError for evidence that does not fit the circuit,
    CircuitError for a circuit that cannot be solved.
    """
    check_evidence(circuit, evidence)
    causes = _single_causes(circuit)
    alive = _agreeing_cells(circuit, evidence, causes)
    left_out = 0
    if double:
        found = {cell.cause for cell in alive}
        pairs, left_out = _pairs(circuit, [x for n, x in enumerate(causes) if n not in found])
        first = len(causes)
        causes += pairs
        new = [Cell(first + n, p.weight, f, f) for n, p in enumerate(pairs) for f in (_usual(p),)]
        alive += list(_filtered(circuit, evidence, new))
    kept = [
        cell
        for _, some in groupby(alive, key=lambda cell: cell.cause)
        for cell in joined(list(some), MOST_CELLS)
    ]
    return _listed(circuit, evidence, causes, kept, left_out)


def _single_causes(circuit: Circuit) -> list[Cause]:
    possible = claims(circuit)
    total = sum(claim.weight for claim in possible) or 1.0
    sound = Cause((), SOUND_SHARE / (1.0 - SOUND_SHARE))
    return [sound, *(Cause((claim,), claim.weight / total) for claim in possible)]


def _usual(pair: Cause) -> tuple[Fault, ...]:
    return tuple(claim.usual for claim in pair.claims)


def _pairs(circuit: Circuit, singles: Sequence[Cause]) -> tuple[list[Cause], int]:
    """The likeliest pairs of claims about two parts, and how many more there would be."""
    able = [cause for cause in singles if cause.claims]
    found = [
        Cause(a.claims + b.claims, PAIR_SHARE * a.weight * b.weight)
        for a, b in combinations(able, 2)
        if a.claims[0].part != b.claims[0].part
    ]
    found.sort(key=lambda pair: -pair.weight)
    fitting = [pair for pair in found[:MOST_PAIRS] if _fits(circuit, pair)]
    return fitting, len(found) - len(found[:MOST_PAIRS])


def _fits(circuit: Circuit, pair: Cause) -> bool:
    """False where the second fault has nothing left to happen to."""
    try:
        faulted(circuit, _usual(pair))
    except InputError:
        return False
    return True


@dataclass(frozen=True)
class _Match:
    """How a cell agrees: at both ends, at one, or only somewhere between, past a sudden change."""

    at_both: bool
    at_one: bool
    jumps: bool


def _agreeing_cells(circuit: Circuit, evidence: Evidence, causes: Sequence[Cause]) -> list[Cell]:
    """Cells that agree. A step of severity that agrees only in part is divided.

    Between two severities a relay may drop out, and one finding agree with this side of the
    jump and another with that. Such a step, once it is narrow, must agree at one of its ends.
    """
    cells = [cell for number, cause in enumerate(causes) for cell in cells_of(number, cause)]
    alive = _filtered(circuit, evidence, cells)
    for _ in range(REFINEMENTS):
        pieces = {cell: split(cell, PIECES) for cell, match in alive.items() if not match.at_both}
        finer = _filtered(circuit, evidence, list(chain(*pieces.values())))
        after: dict[Cell, _Match] = {}
        for cell, match in alive.items():
            whole = {cell: match} if match.at_both else {}
            after |= whole or {x: finer[x] for x in pieces[cell] if x in finer}
        alive = after
    return [cell for cell, match in alive.items() if match.at_one or not match.jumps]


def _filtered(circuit: Circuit, evidence: Evidence, cells: list[Cell]) -> dict[Cell, _Match]:
    """The cells that agree, in their order."""
    if not cells or not any(s.sees or s.clicks or s.readings for s in evidence.steps):
        return dict.fromkeys(cells, _Match(True, True, False))
    worlds = solve_worlds(circuit, _sets(cells), evidence.states)
    pairs = {cell: worlds.pairs(cell) for cell in cells}
    ends = {row for some in pairs.values() for pair in some for row in pair}
    asked = list(dict.fromkeys([*((row, row) for row in sorted(ends)), *chain(*pairs.values())]))
    agree = dict(zip(asked, agreeing(worlds, evidence, asked).tolist(), strict=True))
    found = {}
    for cell, some in pairs.items():
        if any(agree[pair] for pair in some):
            at_both = all(agree[row, row] for row in some[0])
            at_one = any(agree[row, row] for pair in some for row in pair)
            found[cell] = _Match(at_both, at_one, not at_one and worlds.jumps(*some[0]))
    return found


def _sets(cells: Sequence[Cell]) -> list[tuple[Fault, ...]]:
    return [faults for cell in cells for faults in (cell.near, cell.far)]


def _listed(
    circuit: Circuit, evidence: Evidence, causes: Sequence[Cause], cells: list[Cell], left_out: int
) -> Suspects:
    """Probabilities, order and groups."""
    worlds = solve_worlds(circuit, _sets(cells), states_ahead(circuit, evidence))
    shares = normalised([cell.weight for cell in cells]).tolist() if cells else []
    mine: dict[int, list[Cell]] = {}
    for cell, share in zip(cells, shares, strict=True):
        mine.setdefault(cell.cause, []).append(Cell(cell.cause, share, cell.near, cell.far))
    chance = {number: sum(cell.weight for cell in some) for number, some in mine.items()}
    order = sorted(mine, key=lambda number: -chance[number])
    groups = _groups(worlds, [mine[number] for number in order])
    group_of = {place: g for g, places in enumerate(groups) for place in places}
    listed = tuple(
        Suspect(causes[number], chance[number], group_of[place], tuple(mine[number]))
        for place, number in enumerate(order)
    )
    return Suspects(circuit, evidence, listed, groups, len(causes), left_out, worlds)


def states_ahead(circuit: Circuit, evidence: Evidence) -> tuple[Moves, ...]:
    """The present state, and others reached from it by moving what stands differently."""
    now = evidence.states[-1]
    stands = circuit.rest_positions() | dict(now)
    found = [now]
    reached = {tuple(stands.items())}
    for moves in telling_states(circuit, MOST_STATES):
        target = circuit.rest_positions() | dict(moves)
        if tuple(target.items()) not in reached:
            reached.add(tuple(target.items()))
            found.append((*now, *((k, v) for k, v in target.items() if v != stands[k])))
    return tuple(found[:MOST_STATES])


# --- ambiguity groups -----------------------------------------------------------------


def _groups(worlds: Worlds, suspects: Sequence[Sequence[Cell]]) -> tuple[tuple[int, ...], ...]:
    """Numbers of suspects that nothing tells apart, in the order of their first."""
    found: list[list[int]] = []
    signs = [_sign(worlds, cells) for cells in suspects]
    for number, (words, low, high) in enumerate(signs):
        for group in found:
            other, floor, ceiling = signs[group[0]]
            if words == other and _same(low, floor) and _same(high, ceiling):
                group.append(number)
                break
        else:
            found.append([number])
    return tuple(tuple(group) for group in found)


def _sign(
    worlds: Worlds, cells: Sequence[Cell]
) -> tuple[tuple[Words, ...], FloatArray, FloatArray]:
    """What is seen in each state, and the bounds of all voltages (points, states)."""
    pairs = [pair for cell in cells for pair in worlds.pairs(cell)]
    rows = [row for pair in pairs for row in pair]
    low, high = worlds.volts
    seen = tuple(
        frozenset().union(*(_pair_words(worlds, load, pair, state) for pair in pairs))
        for state in range(len(worlds.states))
        for load in visible_loads(worlds.circuit)
    )
    return seen, low[:, rows].min(axis=1), high[:, rows].max(axis=1)


def _pair_words(worlds: Worlds, load: str, pair: tuple[int, int], state: int) -> Words:
    return between(*(load_words(worlds, load, row, state) for row in pair))


def _same(a: FloatArray, b: FloatArray) -> bool:
    """No voltmeter tells them apart: within the slack of both."""
    return bool((np.abs(a - b) <= slack(0.0) + 0.005 * (np.abs(a) + np.abs(b))).all())


def each_group(found: Suspects) -> Iterator[tuple[float, tuple[Suspect, ...]]]:
    """(probability, members) of each group, the likeliest first."""
    groups = [tuple(found.listed[n] for n in group) for group in found.groups]
    yield from sorted(((sum(s.probability for s in g), g) for g in groups), key=lambda p: -p[0])
