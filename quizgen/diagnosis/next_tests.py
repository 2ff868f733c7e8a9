"""Which test next: the most information per minute about what is wrong.

Tests considered: in the present state and in a few others (see `suspects.states_ahead`) a look
at all loads and a listen to all relays, and a voltmeter from every point that can be reached
to the reference; as the controls stand now also a test lamp, and an ohmmeter across suspect
parts with every supply taken off, once few enough suspects are left. A test that is unsafe or
pointless on the sound circuit is not considered. Information counts what tells ambiguity
groups apart, not how bad a fault is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.diagnosis import checks
from quizgen.diagnosis.beliefs import entropy, information
from quizgen.diagnosis.checks import LOOK, MINUTES, Check
from quizgen.diagnosis.decision_tree import Plan, Probe, Problem, best_plan
from quizgen.diagnosis.many_leads import look_at
from quizgen.diagnosis.readouts import (
    Rows,
    Table,
    lamp_table,
    look_table,
    ohm_table,
    volts_table,
)
from quizgen.diagnosis.suspects import Suspects
from quizgen.solver.laws import FloatArray

ALL = tuple(MINUTES)
MOST_CIRCUITS = 120  # with more suspects than that, instruments that act on the circuit wait
MOST_CASES = 3000  # circuits times leads that one instrument is tried on
MOST_TREE_TESTS = 40  # the most telling ones go into the tree
LEAST_BITS = 1e-3


@dataclass(frozen=True)
class Outcome:
    """One thing that a test may show, and the suspects it would leave."""

    shows: str
    probability: float
    leaves: tuple[tuple[str, float], ...]  # suspect, its probability then


@dataclass(frozen=True, eq=False)
class RankedTest:
    """A test and what it is worth."""

    check: Check
    table: Table
    bits: float
    outcomes: tuple[Outcome, ...]

    @property
    def bits_per_minute(self) -> float:
        """What tests are ranked by."""
        return self.bits / self.check.total_minutes


@dataclass(frozen=True)
class Course:
    """A plan whose hypotheses are the cells of `Suspects.cells`, merged where nothing differs."""

    plan: Plan
    tests: tuple[RankedTest, ...]
    suspects: tuple[tuple[str, ...], ...]  # by hypothesis
    bits: float  # uncertainty before the first test


def next_tests(
    found: Suspects, *, instruments: Sequence[str] = ALL, states: Sequence[int] | None = None
) -> tuple[RankedTest, ...]:
    """Every test that tells something, the best first.

    `instruments` may leave some out ("look" is one of them), `states` are numbers of
    `found.worlds.states`, default all. Raises InputError for an unknown instrument or state.
    """
    for name in instruments:
        if name not in MINUTES:
            raise InputError(f"no test by {shown(name)}{suggest(name, MINUTES)}")
    count = len(found.worlds.states)
    chosen = range(count) if states is None else states
    if not set(chosen) <= set(range(count)):
        raise InputError(f"states are numbered from 0 to {count - 1}")
    if len(found.groups) < 2:
        return ()
    ranked = [_ranked(found, check, table) for check, table in _tables(found, instruments, chosen)]
    useful = [test for test in ranked if test.bits > LEAST_BITS]
    return tuple(sorted(useful, key=lambda t: (-t.bits_per_minute, t.check.total_minutes)))


def uncertainty(found: Suspects) -> float:
    """Bits still missing about which ambiguity group it is."""
    return entropy([sum(found.listed[n].probability for n in g) for g in found.groups])


def _ranked(found: Suspects, check: Check, table: Table) -> RankedTest:
    cells = found.cells
    weight = np.array([cell.weight for cell in cells])
    by_cell = table.likelihood * weight
    group = [found.listed[cell.cause].group for cell in cells]
    by_group = _summed(by_cell, group, len(found.groups))
    share = by_group.sum(axis=0)
    bits = information(share, by_group / share)
    by_cause = _summed(by_cell, [cell.cause for cell in cells], len(found.listed))
    outcomes = [
        _outcome(found, shows, row) for shows, row in zip(table.shows, by_cause, strict=True)
    ]
    return RankedTest(check, table, bits, tuple(o for o in outcomes if o.probability > 0.0))


def _summed(by_cell: FloatArray, into: Sequence[int], count: int) -> FloatArray:
    found = np.zeros((len(by_cell), count))
    for column, number in enumerate(into):
        found[:, number] += by_cell[:, column]
    return found


def _outcome(found: Suspects, shows: str, joint: FloatArray) -> Outcome:
    chance = float(joint.sum())
    left = np.flatnonzero(joint > 1e-9 * max(chance, 1e-300)).tolist()
    left.sort(key=lambda n: (-joint[n], n))
    return Outcome(
        shows, chance, tuple((found.listed[n].key, float(joint[n] / chance)) for n in left)
    )


# --- all tests and their tables -------------------------------------------------------


def _tables(
    found: Suspects, instruments: Sequence[str], states: Sequence[int]
) -> Iterator[tuple[Check, Table]]:
    rows = _rows(found)
    known = checks.reached(found.circuit, found.evidence)
    if LOOK in instruments:
        for check in checks.looks(found.worlds.states):
            told = _told_now(found) if check.state == 0 else frozenset()
            table = None
            if check.state in states:
                table = look_table(found.worlds, rows, check.state, told)
            if table is not None:
                yield check, table
    if "voltmeter" in instruments:
        yield from _voltmeter(found, rows, known, states)
    if "test-lamp" in instruments and 0 in states:
        points = found.worlds.points
        now = found.worlds.states[:1]
        lamp = list(checks.live_checks(found.circuit, "test-lamp", points, now, known))
        yield from _clipped_on(found, rows, lamp)
    if "ohmmeter" in instruments and 0 in states:
        parts = dict.fromkeys(c.part for s in found.listed for c in s.cause.claims)
        now_moves = found.worlds.states[0]
        ohm = list(checks.dead_checks(found.circuit, list(parts), now_moves, known))
        yield from _clipped_on(found, rows, ohm)


def _told_now(found: Suspects) -> frozenset[str]:
    """Loads and relays that have been looked at as the controls stand now."""
    if not found.evidence.steps:
        return frozenset()
    last = found.evidence.steps[-1]
    return frozenset(part for part, _ in (*last.sees, *last.clicks))


def _rows(found: Suspects) -> Rows:
    pairs, cell_of, groups = [], [], []
    for number, cell in enumerate(found.cells):
        for pair in found.worlds.pairs(cell):
            pairs.append(pair)
            cell_of.append(number)
            groups.append(found.listed[cell.cause].group)
    return Rows(pairs, cell_of, groups)


def _voltmeter(
    found: Suspects, rows: Rows, known: frozenset[str], states: Sequence[int]
) -> Iterator[tuple[Check, Table]]:
    """Of points at which every suspect shows the same, only the easiest to reach."""
    worlds = found.worlds
    place = {point: number for number, point in enumerate(worlds.points)}
    every = checks.live_checks(found.circuit, "voltmeter", worlds.points, worlds.states, known)
    seen: set[bytes] = set()
    for check in sorted(every, key=lambda c: c.total_minutes):
        if check.state not in states:
            continue
        low, high = (bound[place[check.red], :, check.state] for bound in worlds.volts)
        shape = np.round(np.stack([low, high]), 2).tobytes()
        if shape not in seen:
            seen.add(shape)
            table = volts_table(worlds, rows, place[check.red], check.state)
            if table is not None:
                yield check, table


def _clipped_on(
    found: Suspects, rows: Rows, every: Sequence[Check]
) -> Iterator[tuple[Check, Table]]:
    """Instruments that act on the circuit, at the points easiest to reach if there are many."""
    circuits = found.worlds.circuits
    if not every or len(circuits) > MOST_CIRCUITS:
        return
    room = max(MOST_CASES // len(circuits), 1)
    chosen = sorted(every, key=lambda c: c.total_minutes)[:room]
    first = chosen[0]
    looks = look_at(
        circuits, first.instrument, [(c.red, c.black) for c in chosen], first.moves, first.unplugged
    )
    for check, some in zip(chosen, looks, strict=True):
        if some is None:
            continue
        table = ohm_table(some, rows) if first.instrument == "ohmmeter" else lamp_table(some, rows)
        if table is not None:
            yield check, table


# --- the whole course -----------------------------------------------------------------


def best_tree(found: Suspects, tests: Sequence[RankedTest]) -> Course:
    """The cheapest adaptive course of `tests`, exact where there are few enough suspects.

    Every severity is taken at its likeliest outcome of each test. Raises InputError when there
    is no suspect.
    """
    if not found.listed:
        raise InputError("there is no suspect to tell from others")
    used = sorted(tests, key=lambda t: -t.bits_per_minute)[:MOST_TREE_TESTS]
    settled = [tuple(np.argmax(test.table.likelihood, axis=0).tolist()) for test in used]
    merged: dict[tuple[int, tuple[int, ...]], list[int]] = {}
    for number, cell in enumerate(found.cells):
        outcomes = tuple(column[number] for column in settled)
        merged.setdefault((found.listed[cell.cause].group, outcomes), []).append(number)
    cells = found.cells
    access: dict[str, float] = {p: m for test in used for p, m in test.check.places}
    problem = Problem(
        tuple(sum(cells[n].weight for n in some) for some in merged.values()),
        tuple(
            Probe(
                str(i), tuple(outcomes[i] for _, outcomes in merged), test.check.minutes,
                frozenset(p for p, _ in test.check.places),
            )
            for i, test in enumerate(used)
        ),
        tuple(group for group, _ in merged),
        access,
    )  # fmt: skip
    names = tuple(
        tuple(dict.fromkeys(found.listed[cells[n].cause].key for n in some))
        for some in merged.values()
    )
    return Course(best_plan(problem), tuple(used), names, uncertainty(found))
