"""Faults that a driver complains of, and what is then seen and heard of them.

For kinds that start from a complaint: a fault is hidden in the circuit, the stem tells what the
loads do and which relays are heard, and one thing is assumed to be wrong.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim
from quizgen.diagnosis.clicks import CLICKS, NO_CLICK, NOBODY_KNOWS
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.items.calm import at_rest, burns
from quizgen.items.item import Item, Observed


def complaints(
    dictionary: FaultDictionary, used: Sequence[Item], rng: random.Random, most: int
) -> Iterator[int]:
    """Up to `most` rows of faults that can be told of, the kinds of parts used least first.

    `used` are items made so far; a fault that one of them hides is not hidden again.
    """
    hidden = {i.origin.fault for i in used if i.family == dictionary.circuit.name}
    had = Counter(i.key_kind for i in used)
    claims = dictionary.claims
    rows = {dictionary.row(c.usual): c for c in claims if str(c.usual) not in hidden}
    pool = {row: claim for row, claim in rows.items() if tellable(dictionary, row)}
    for _ in range(min(most, len(pool))):
        row = drawn(dictionary.circuit, pool, had, rng)
        del pool[row]
        yield row


def drawn(
    circuit: Circuit, pool: Mapping[int, Claim], had: Counter[str], rng: random.Random
) -> int:
    """A number of `pool`: first a kind of part, then by likelihood, or wires would win.

    `had` counts the kinds of parts that were at fault before; these come less often.
    """
    kind_of = {n: circuit.by_id[claim.part].kind for n, claim in pool.items()}
    kinds = sorted(set(kind_of.values()))
    kind = rng.choices(kinds, [4.0 ** -had[k] for k in kinds])[0]
    mine = [n for n in pool if kind_of[n] == kind]
    return rng.choices(mine, [pool[n].weight for n in mine])[0]


def tellable(dictionary: FaultDictionary, row: int) -> bool:
    """There is a complaint, nothing is in doubt, and everything stands still.

    The sound circuit may flash: that it does not is the complaint then.
    """
    point = dictionary.solutions.point(row)
    seen = dictionary.seen[row]
    if not at_rest(point) or burns(point) or any(o.doubtful for o in seen):
        return False
    return any(o.level != s.level for o, s in zip(seen, dictionary.seen[0], strict=True))


def telling(dictionary: FaultDictionary, row: int) -> list[int]:
    """Numbers of what the stem tells: all visible loads, then the clicks heard or missed."""
    loads = len(dictionary.seen[row])
    heard = [
        loads + r
        for r, words in enumerate(dictionary.heard)
        if words[row] != NOBODY_KNOWS and (words[row] != NO_CLICK or words[0] == CLICKS)
    ]
    return [*range(loads), *heard]


def told(dictionary: FaultDictionary, row: int) -> tuple[Observed, ...]:
    """What the stem tells, as records."""
    seen = [Observed(part=o.load, level=o.level) for o in dictionary.seen[row]]
    clicks = [r - len(seen) for r in telling(dictionary, row)[len(seen) :]]
    return (
        *seen,
        *(
            Observed(part=dictionary.clickers[r], level=str(dictionary.heard[r, row]))
            for r in clicks
        ),
    )
