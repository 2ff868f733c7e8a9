"""Question kind: between which points does the unwanted contact to ground lie?

A fuse blows. With the fuse out and the loads behind it unplugged, a test lamp across the empty
holder, or an ohmmeter from there to the frame with the battery isolated, tells whether the
contact is still joined to the fuse: in several states of the controls, plugs apart, relays out.
The options are sections of the wiring (`quizgen.items.sections`), each claimed as
`between NODE and NODE`. Of all single faults of the circuit that open the fuse, those that
agree with every reading lie in the key's section, and none touches another option's.

`Refutation.low` and `high` bound what the faults of a section would show at the reading: share
of rated voltage of the lamp, or ohm (−1 for OL). `Option.figures` name a fault and the number
of a reading: "FAULT 2", in volts across the lamp or ohm.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import lru_cache

from quizgen.base.errors import UnprovableError
from quizgen.circuit import components as c
from quizgen.faults import Fault, WeightedFault, inject, universe
from quizgen.instruments import Shown, distinguishable
from quizgen.items.fuse_holder import Holder, look_at_holder, spares
from quizgen.items.item import Item, Proof
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.sections import Section, section_words
from quizgen.items.sentences import Sentences
from quizgen.items.tell_short import BY_THE_FUSE, Draft, key_option, reading, stem, wrong_options
from quizgen.solver import solve_cases

NAME = "locate-short"
MOST_ENDS = 4  # of a section that is an option
MOST_ROWS = 5
LONGEST_RATIO = 1.5  # of option lengths, our threshold


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about a contact to ground behind one of the fuses, drawn with `rng`.

    Raises UnprovableError when no fuse has a contact that readings at its holder locate.
    """
    same = [i for i in request.used if i.kind == NAME and i.family == material.template]
    asked = Counter(i.key.claim for i in same)
    circuit = material.circuit
    cases = [w for w in universe(circuit) if w.fault.mode in ("short-to-ground", "short-to")]
    order = sorted(cases, key=lambda w: rng.random() ** (1.0 / w.weight), reverse=True)
    tried = 0
    for fuse, fault in _blown(material, order):
        instruments = ["test-lamp", "ohmmeter"]
        rng.shuffle(instruments)
        for instrument in instruments:
            holder = _holder(material, fuse, instrument)
            if holder is None or fault not in holder.faults:
                continue
            draft = _draft(holder, holder.faults.index(fault), request.options, rng)
            if draft is not None and not asked[draft.key.claim]:
                return _write(draft, material, rng)
        tried += 1
        if tried == 12:
            break
    raise UnprovableError(
        f"{material.template}: no contact to ground can be located at a fuse holder with "
        f"{dict(material.moves)}; try other positions or parameters"
    )


@lru_cache(maxsize=8)
def _holder(material: Material, fuse: str, instrument: str) -> Holder | None:
    return look_at_holder(material, fuse, instrument)


def _blown(material: Material, order: Sequence[WeightedFault]) -> Iterator[tuple[str, Fault]]:
    """(fuse, fault) where the fault surely opens that fuse and nothing else is open."""
    if not order:
        return
    circuits = [inject(material.circuit, w.fault) for w in order]
    found = solve_cases(circuits, [(i, material.moves) for i in range(len(circuits))])
    for i, w in enumerate(order):
        point = found.point(i)
        opened = {e.part for e in point.events if e.change == "opens"}
        if len(opened) == 1 and not point.ambiguous and point.behaviour == "protector-open":
            (fuse,) = opened
            if isinstance(material.circuit.part(fuse), c.Fuse):
                yield fuse, w.fault


# --- decisions ------------------------------------------------------------------------


def _draft(holder: Holder, hidden: int, options: int, rng: random.Random) -> Draft | None:
    """Readings that leave no suspect outside one section; None if there are none."""
    place = holder.where(hidden)
    if len(place) != 1 or len(place[0].ends) > MOST_ENDS:
        return None
    key = place[0]
    others = (s for f in range(len(holder.faults)) for s in holder.where(f))
    if all(section == key for section in others):
        return None  # the fuse alone would tell
    usable = [a for a, row in enumerate(holder.shown) if _plain(row[hidden])]
    if 0 not in usable:
        return None
    acts = _choose_acts(holder, hidden, key, usable)
    if acts is None:
        return None
    wrong = _wrong(holder, hidden, key, acts, options - 1, rng)
    if len(wrong) < options - 1 or all(n == BY_THE_FUSE for _, n in wrong):
        return None
    return Draft(holder, hidden, key, acts, tuple(wrong))


def _plain(shown: Shown) -> bool:
    """Everybody would see the same, and it is lit or dark, a dead short or none."""
    word = shown.shown in ("lit bright", "dark") if shown.instrument == "test-lamp" else True
    return word and not shown.doubts and not shown.refused and not shown.warnings


def _refutes(holder: Holder, act: int, hidden: int, fault: int) -> bool:
    return distinguishable(holder.shown[act][fault], holder.shown[act][hidden])


def _choose_acts(
    holder: Holder, hidden: int, key: Section, usable: Sequence[int]
) -> tuple[int, ...] | None:
    """Few, the item's own state first, that rule out every suspect outside the key's section."""
    left = {f for f in range(len(holder.faults)) if key not in holder.where(f)}
    chosen = [0]
    left -= {f for f in left if _refutes(holder, 0, hidden, f)}
    while left:
        gains = {a: sum(_refutes(holder, a, hidden, f) for f in left) for a in usable}
        best = max(usable, key=lambda a: gains[a])
        if gains[best] == 0 or len(chosen) == MOST_ROWS:
            return None
        chosen.append(best)
        left -= {f for f in left if _refutes(holder, best, hidden, f)}
    for act in chosen[1:]:
        rest = [a for a in chosen if a != act]
        outside = [f for f in range(len(holder.faults)) if key not in holder.where(f)]
        if all(any(_refutes(holder, a, hidden, f) for a in rest) for f in outside):
            chosen = rest
    return tuple(chosen) if len(chosen) > 1 else None


def _wrong(
    holder: Holder, hidden: int, key: Section, acts: Sequence[int], count: int, rng: random.Random
) -> list[tuple[Section, int]]:
    """Sections whose every suspect one and the same reading rules out.

    Where these are few, sections nearby in which a contact would not open this fuse at all.
    """
    left = [f for f in range(len(holder.faults)) if not _ruled_out(holder, acts, hidden, f)]
    found: list[tuple[Section, int]] = []
    pool = [s for s in holder.sections if s != key and len(s.ends) <= MOST_ENDS]
    rng.shuffle(pool)
    lengths = [len(section_words(holder.circuit, key))]
    for section in sorted(pool, key=lambda s: _distance(holder, s)):
        length = len(section_words(holder.circuit, section))
        if len(found) == count:
            break
        if max([*lengths, length]) > LONGEST_RATIO * min([*lengths, length]):
            continue
        mine = [f for f in range(len(holder.faults)) if section in holder.where(f)]
        by = [n for n, a in enumerate(acts) if all(_refutes(holder, a, hidden, f) for f in mine)]
        if not mine:
            by = [BY_THE_FUSE] if spares(holder, section) else []
        if by and not set(mine) & set(left):
            used = [n for _, n in found]
            found.append((section, min(by, key=lambda n: (used.count(n), n))))
            lengths.append(length)
    return found


def _distance(holder: Holder, section: Section) -> int:
    """0: it has suspects; 1: it ends at a part behind the fuse; 2: elsewhere."""
    if any(section in holder.where(f) for f in range(len(holder.faults))):
        return 0
    places = {n for f in range(len(holder.faults)) for s in holder.where(f) for n in s.ends}
    near = {part for n in places for part, _ in holder.circuit.terminals_at[n]}
    mine = {part for n in section.ends for part, _ in holder.circuit.terminals_at[n]}
    return 1 if near & mine - {holder.circuit.reference} else 2


def _ruled_out(holder: Holder, acts: Sequence[int], hidden: int, fault: int) -> bool:
    return any(_refutes(holder, a, hidden, fault) for a in acts)


# --- the item ---------------------------------------------------------------------------


def _write(draft: Draft, material: Material, rng: random.Random) -> Item:
    holder = draft.holder
    sentences = Sentences("locate_short", rng)
    readings = tuple(reading(draft, act, sentences) for act in draft.acts)
    options = [key_option(draft, sentences), *wrong_options(draft, readings, sentences, rng)]
    rng.shuffle(options)
    fault = holder.faults[draft.hidden]
    return Item(
        **KIND.label(material, rng),
        key_kind="wire",
        stem=stem(draft, sentences),
        readings=readings,
        question=sentences.say("question"),
        options=tuple(options),
        origin=material.origin(str(fault)),
        proof=Proof(faults=len(holder.faults)),
    )


KIND = Kind(
    name=NAME,
    about="where the unwanted contact lies",
    level="interpret",
    responses=("one",),
    make=make,
)
