"""Faults that nobody could tell from a given one by looking and listening."""

from __future__ import annotations

from quizgen.diagnosis.clicks import NOBODY_KNOWS
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults import Fault, universe
from quizgen.items.calm import at_rest
from quizgen.items.complaint import telling
from quizgen.items.evidence import Evidence


def alike(dictionary: FaultDictionary, row: int, perhaps: bool = False) -> list[Fault]:
    """Faults of the universe, of other parts, that would be told of as that of `row` is.

    With `perhaps` also those of which somebody might tell so and somebody else not.
    """
    d = dictionary
    part = d.claims[d.members[row].claim].part
    row_of = {m.fault: i for i, m in enumerate(d.members) if m.variant == 0}
    found = []
    for weighted in universe(d.circuit):
        other = row_of.get(weighted.fault)
        if other is None or weighted.fault.part == part:
            continue
        if at_rest(d.solutions.point(other)) and _same(d, row, other, perhaps):
            found.append(weighted.fault)
    return found


def rows_alike(dictionary: FaultDictionary, row: int) -> list[int]:
    """Rows of all faults that somebody might tell of as that of `row`.

    Of a step between two severities of which one may look so, both: somewhere between lies one
    that just does.
    """
    evidence = Evidence(dictionary, row)
    alive = ~evidence.unseen[telling(dictionary, row)].any(axis=0)
    _, near, far = evidence.cells
    return sorted({*near[alive].tolist(), *far[alive].tolist()})


def _same(d: FaultDictionary, row: int, other: int, perhaps: bool) -> bool:
    """All that the stem tells in the one case is so in the other."""
    for here, there in zip(d.seen[row], d.seen[other], strict=True):
        if there.doubtful and not perhaps:
            return False
        if here.level != there.level and not there.doubtful:
            return False
    clicks = [n - len(d.seen[row]) for n in telling(d, row) if n >= len(d.seen[row])]
    fine = {NOBODY_KNOWS} if perhaps else set()
    return all(d.heard[r, other] in {d.heard[r, row], *fine} for r in clicks)
