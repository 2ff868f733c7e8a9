"""Question kind: between which points does the unwanted contact lie?

Two stories. *A fuse blows*: with the fuse out and the loads behind it unplugged, a test lamp
across the empty holder, or an ohmmeter from there to the frame with the battery isolated, tells
whether the contact is still joined to the fuse. *A load works unbidden*: a test lamp in its
place, or a voltmeter across it, tells whether it is still supplied. Both in several states of
the controls, plugs apart, relays out. The options are sections of the wiring
(`quizgen.items.sections`), each claimed as `between NODE and NODE`. Of all single faults of the
circuit that explain the complaint, those that agree with every reading touch the key's section,
and none touches another option's.

`Proof.observed` are the loads that work unbidden, none in the story of the fuse.
`Refutation.low` and `high` bound what the faults of a section would show at the reading: share
of rated voltage of the lamp, volts or ohm (−1 for OL). `Option.figures` name a fault and the
number of a reading, "FAULT 2", in volts across lamp or meter or ohm; or a fault and a part in
the item's own state, "FAULT F1": ampere through the fuse, volts across the load.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Generic

from quizgen.base.errors import UnprovableError
from quizgen.circuit import components as c
from quizgen.faults import Fault, WeightedFault, inject
from quizgen.items import tell_short, tell_unbidden
from quizgen.items.fuse_holder import Holder, look_at_holder
from quizgen.items.hunt import Draft, H, cases_of, draft_of, key_section
from quizgen.items.item import Item, Moves, Observed, Proof
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.sections import CONTACTS
from quizgen.items.sentences import Sentences
from quizgen.items.tell_hunt import ByComplaint, Manner, options_of, reading_of
from quizgen.items.unbidden import (
    Unbidden,
    Unrest,
    look_at_all,
    look_at_load,
    suspects_of,
)
from quizgen.solver import solve_cases

NAME = "locate-short"
MOST_TRIED = 12  # faults, of each story
MOST_OTHER_STATES = 2


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about an unwanted contact, drawn with `rng`.

    Raises UnprovableError when no contact is located by readings at a fuse holder or at a load.
    """
    same = [i for i in request.used if i.kind == NAME and i.family == material.template]
    asked = Counter(i.key.claim for i in same)
    stories = [_blown_fuse, _unbidden]
    rng.shuffle(stories)
    told = Counter(bool(i.proof.observed) for i in same)
    stories.sort(key=lambda story: told[story is _unbidden])
    for story in stories:
        for item in story(material, request.options, rng):
            if not asked[item.key.claim]:
                return item
    raise UnprovableError(
        f"{material.template}: no unwanted contact can be located at a fuse holder or a load "
        f"with {dict(material.moves)}; try other positions or parameters"
    )


def _by_likelihood(cases: Sequence[WeightedFault], rng: random.Random) -> list[WeightedFault]:
    return sorted(cases, key=lambda w: rng.random() ** (1.0 / w.weight), reverse=True)


# --- a fuse blows ---------------------------------------------------------------------


def _blown_fuse(material: Material, options: int, rng: random.Random) -> Iterator[Item]:
    cases = [w for w in cases_of(material) if w.fault.mode in ("short-to-ground", "short-to")]
    tried = 0
    for fuse, fault in _blown(material, _by_likelihood(cases, rng)):
        instruments = ["test-lamp", "ohmmeter"]
        rng.shuffle(instruments)
        for instrument in instruments:
            holder = _holder(material, fuse, instrument)
            if holder is None or fault not in holder.faults:
                continue
            draft = draft_of(holder, holder.faults.index(fault), options, rng)
            if draft is not None:
                sentences = Sentences("locate_short", rng)
                stem = tell_short.stem(draft, sentences)
                manner = tell_short.manner_of(draft)
                told = _Told(stem, (), manner, tell_short.by_the_fuse)
                yield _write(draft, told, material, sentences, rng)
        tried += 1
        if tried == MOST_TRIED:
            return


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


# --- a load works unbidden ------------------------------------------------------------


def _unbidden(material: Material, options: int, rng: random.Random) -> Iterator[Item]:
    states = [material.moves, ()]
    others = [m for m in material.states if m not in states]
    states += rng.sample(others, min(MOST_OTHER_STATES, len(others)))
    rng.shuffle(states)
    tried = 0
    for unrest in (_unrest(material, moves) for moves in dict.fromkeys(states)):
        for fault, load in _started(material, unrest, rng):
            suspected = _suspects(unrest, load)
            hidden = suspected.faults.index(fault)
            if key_section(suspected, hidden) is None:
                continue  # no reading makes it a question
            instruments = ["test-lamp", "voltmeter"]
            rng.shuffle(instruments)
            for instrument in instruments:
                hunt = _load(suspected, unrest.moves, instrument)
                draft = draft_of(hunt, hidden, options, rng) if hunt else None
                if draft is not None:
                    yield _tell_unbidden(draft, unrest, material, rng)
            tried += 1
            if tried == MOST_TRIED:
                return


@lru_cache(maxsize=8)
def _unrest(material: Material, moves: Moves) -> Unrest:
    return look_at_all(material, moves)


@lru_cache(maxsize=32)
def _suspects(unrest: Unrest, load: str) -> Unbidden:
    return suspects_of(unrest, load)


@lru_cache(maxsize=32)
def _load(suspected: Unbidden, moves: Moves, instrument: str) -> Unbidden | None:
    return look_at_load(suspected, moves, instrument)


def _started(material: Material, unrest: Unrest, rng: random.Random) -> Iterator[tuple[Fault, str]]:
    """(fault, load) where an unwanted contact surely sets a load to work that should be idle."""
    contacts = [w for w in cases_of(material) if w.fault.mode in CONTACTS]
    numbers = {fault: i for i, fault in enumerate(unrest.faults)}
    for w in _by_likelihood(contacts, rng):
        started = unrest.disturbed(numbers[w.fault])
        rng.shuffle(started)
        yield from ((w.fault, load) for load in started[:1])


def _tell_unbidden(
    draft: Draft[Unbidden], unrest: Unrest, material: Material, rng: random.Random
) -> Item:
    sentences = Sentences("locate_short", rng)
    started = unrest.disturbed(unrest.faults.index(draft.fault))
    seen = tell_unbidden.observed(draft, started)
    stem = tell_unbidden.stem(draft, seen, material.complain, sentences)
    manner = tell_unbidden.manner_of(draft, sentences)
    told = _Told(stem, seen, manner, tell_unbidden.by_the_load)
    return _write(draft, told, material, sentences, rng)


# --- the item -------------------------------------------------------------------------


@dataclass(frozen=True)
class _Told(Generic[H]):
    """What the two stories tell each in its own way."""

    stem: tuple[str, ...]
    observed: tuple[Observed, ...]
    manner: Manner
    by_complaint: ByComplaint[H]


def _write(
    draft: Draft[H], told: _Told[H], material: Material, sentences: Sentences, rng: random.Random
) -> Item:
    readings = tuple(reading_of(draft, act, sentences) for act in draft.acts)
    origin = replace(material.origin(str(draft.fault)), positions=draft.hunt.acts[0].positions)
    return Item(
        **KIND.label(material, rng),
        key_kind="wire",
        stem=told.stem,
        readings=readings,
        question=sentences.say("question"),
        options=options_of(draft, readings, told.manner, told.by_complaint, sentences, rng),
        origin=origin,
        proof=Proof(faults=len(draft.hunt.faults), observed=told.observed),
    )


KIND = Kind(
    name=NAME,
    about="where the unwanted contact lies",
    level="interpret",
    responses=("one",),
    make=make,
    retried=0.4,
)
