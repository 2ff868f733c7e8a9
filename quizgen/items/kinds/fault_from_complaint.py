"""Question kind: which fault explains the complaint, with no meter?

A fault is hidden; the driver says what is wrong, and in several states of the controls somebody
watches the loads and listens for the relays. The key agrees with all of it. Every wrong option
is a fault that agrees with the complaint and at whatever severity is ruled out by one
observation (`Option.refuted_by`, reading −1).

`Option.figures` are the volts that make an option right or wrong, each named "PART FAULT" or
"PART sound": across that load, or the coil of that relay, with that fault in the circuit or
nothing; in the state that refutes a wrong option, or for the key in the item's own state.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from quizgen.base.errors import UnprovableError
from quizgen.items.calm import burns
from quizgen.items.complaint import drawn
from quizgen.items.explain_sighting import (
    explain_key,
    explain_wrong,
    figures_of,
    misconception,
    with_state,
)
from quizgen.items.gallery import Gallery, make_gallery, told_in
from quizgen.items.item import Item, Observed, Option, Proof, Refutation
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.places import nature
from quizgen.items.rationale import claim_text
from quizgen.items.sentences import Sentences, capital
from quizgen.items.sightings import Place, Sighting, rules_out, sight
from quizgen.items.tell_sighting import tell

NAME = "fault-from-complaint"
MOST_TOLD = 4  # states told in one stem
MOST_KEYS = 24  # faults tried on one circuit before another is drawn
LONGEST_RATIO = 1.5  # of option lengths, our threshold


@dataclass(frozen=True)
class Draft:
    """The decisions behind an item, before any sentence is written."""

    gallery: Gallery
    key: int
    states: tuple[int, ...]  # told, the item's own first
    wrong: tuple[tuple[int, Place], ...]  # claim, and what rules it out


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about a fault of the material's circuit, drawn with `rng` by likelihood.

    Faults asked in `request.used` are not asked again. Raises UnprovableError when none of the
    faults tried has enough wrong answers that a look at the machine rules out.
    """
    gallery = _gallery(material)
    same = [i for i in request.used if i.kind == NAME]
    asked = {i.key.claim for i in same if i.family == material.template}
    had = Counter(i.key_kind for i in same)
    pool = {
        k: claim
        for k, claim in enumerate(gallery.claims)
        if claim.key not in asked and _tellable(gallery, k)
    }
    for _ in range(min(MOST_KEYS, len(pool))):
        key = drawn(gallery.circuit, pool, had, rng)
        del pool[key]
        draft = None if _burns(gallery.looks[key]) else _draft(gallery, key, request.options, rng)
        if draft is not None:
            return _write(draft, material, rng)
    raise UnprovableError(
        f"{material.template}: no fault tried can be told from others by a look at the machine "
        f"with {dict(material.moves)}; try other positions or parameters"
    )


@lru_cache(maxsize=2)
def _gallery(material: Material) -> Gallery:
    return make_gallery(material)


# --- decisions ------------------------------------------------------------------------


def _tellable(gallery: Gallery, key: int) -> bool:
    """Nothing is in doubt, and there is a complaint in the item's own state."""
    look = gallery.looks[key]
    if not (look.certain and gallery.sound.certain):
        return False
    return all(look.words[0][p] for p in look.sound[0]) and bool(_complaints(gallery, key))


def _burns(look: Sighting) -> bool:
    """In some state a wire would be on fire before anybody looked."""
    return any(burns(point) for points in look.ways for point in points)


def _complaints(gallery: Gallery, key: int) -> list[str]:
    """Loads that are not as they should be in the item's own state."""
    look = gallery.looks[key]
    return [p for p in look.sound[0] if look.words[0][p] != gallery.sound.words[0][p]]


def _usable(gallery: Gallery, key: int) -> list[int]:
    """States in which everything that the key does is certain."""
    look, sound = gallery.looks[key], gallery.sound
    return [
        s
        for s in range(len(gallery.states))
        if all(look.words[s][p] and sound.words[s][p] for p in look.sound[s])
    ]


def _draft(gallery: Gallery, key: int, options: int, rng: random.Random) -> Draft | None:
    """States and options for the claim `key`; None if a look at the machine does not do."""
    usable = _usable(gallery, key)
    told = {s: told_in(gallery, key, s) for s in usable}
    rivals = _rivals(gallery, key, told)
    if len(rivals) < options - 1:
        return None
    states = _choose_states(rivals, usable, rng)
    shown = {s: told[s] for s in states}
    near = [k for k in rivals if any(p.state in states for p in rivals[k])]
    near = sorted(near, key=lambda k: -_closeness(gallery, k, shown))
    wrong = _wrong(gallery, key, near, shown, options - 1)
    if len(wrong) < options - 1:
        return None
    needed = {place.state for _, place in wrong}
    kept = [s for s in states if s in needed or s == 0]
    if len(kept) == 1:  # one more, so that the way it fails is seen, unless nothing is on there
        kept += [s for s in states[1:] if gallery.states[s]][:1]
    for n, (k, _) in enumerate(wrong):
        if _looks_like(gallery, wrong[:n], k, {s: told[s] for s in kept}):
            kept = list(states)
    return _narrowed(Draft(gallery, key, tuple(kept), tuple(wrong)))


def _narrowed(draft: Draft) -> Draft | None:
    """The same with no state ever tried but those told; None if something else is seen then.

    A fuse that a fault opens in a state which is not told is whole.
    """
    wide, ids = draft.gallery, [draft.key, *(k for k, _ in draft.wrong)]
    states = [wide.states[s] for s in draft.states]
    usual = [wide.claims[k].usual for k in ids]
    sound, *seen = sight(wide.circuit, states, [None, *usual])
    looks = list(wide.looks)
    for k, look in zip(ids, seen, strict=True):
        looks[k] = look
    narrow = Gallery(wide.circuit, tuple(states), wide.claims, sound, tuple(looks))
    told = {n: told_in(narrow, draft.key, n) for n in range(len(states))}
    places = [(k, Place(draft.states.index(place.state), place.part)) for k, place in draft.wrong]
    same = all(told[n] == told_in(wide, draft.key, s) for n, s in enumerate(draft.states))
    if not (same and seen[0].certain) or _burns(seen[0]):
        return None
    for n, (k, place) in enumerate(places):
        found = told[place.state][place.part]
        if not rules_out(narrow.members(k), place, found):
            return None
        if _looks_like(narrow, places[:n], k, told):
            return None
    return Draft(narrow, draft.key, tuple(told), tuple(places))


def _rivals(
    gallery: Gallery, key: int, told: Mapping[int, dict[str, str]]
) -> dict[int, list[Place]]:
    """Claims that explain the complaint → what rules out their likeliest member."""
    first = _complaints(gallery, key)[0]
    found = {}
    for k, claim in enumerate(gallery.claims):
        look = gallery.looks[k]
        if claim.part == gallery.claims[key].part or look.word(Place(0, first)) != told[0][first]:
            continue
        places = [Place(s, p) for s, words in told.items() for p in words]
        against = [p for p in places if rules_out([look], p, told[p.state][p.part])]
        if against:
            found[k] = against
    return found


def _choose_states(
    rivals: Mapping[int, list[Place]], usable: Sequence[int], rng: random.Random
) -> tuple[int, ...]:
    """The item's own, and others while each rules out a rival that those before leave in."""
    chosen = [0]
    others = [s for s in usable if s != 0]
    rng.shuffle(others)
    while len(chosen) < MOST_TOLD and others:
        left = [k for k in rivals if not any(p.state in chosen for p in rivals[k])]
        gains = [sum(any(p.state == s for p in rivals[k]) for k in left) for s in others]
        if max(gains) == 0 and len(chosen) > 1:
            break
        chosen.append(others.pop(gains.index(max(gains))))
    return (0, *sorted(chosen[1:]))


def _closeness(gallery: Gallery, rival: int, told: Mapping[int, dict[str, str]]) -> float:
    """How many observations a rival agrees with; a likelier fault tempts more."""
    look = gallery.looks[rival]
    agrees = sum(look.word(Place(s, p)) == w for s, words in told.items() for p, w in words.items())
    return agrees + math.log10(gallery.claims[rival].weight)


def _wrong(
    gallery: Gallery,
    key: int,
    near: Sequence[int],
    told: Mapping[int, dict[str, str]],
    count: int,
) -> list[tuple[int, Place]]:
    """The closest rivals that go together, as far as can be each ruled out by something else."""
    places = [Place(s, p) for s, words in told.items() for p in words]
    chosen: list[tuple[int, Place]] = []
    spare: list[tuple[int, Place]] = []
    for k in near:
        if len(chosen) == count:
            break
        if not _fits_in(gallery, [key, *(c for c, _ in chosen)], k):
            continue
        by = [p for p in places if rules_out(gallery.members(k), p, told[p.state][p.part])]
        if not by or _burns(gallery.looks[k]) or _looks_like(gallery, chosen, k, told):
            continue
        used = [place for _, place in chosen]
        best = min(by, key=lambda p: (used.count(p), by.index(p)))
        (spare if best in used else chosen).append((k, best))
    for k, place in spare:
        fits = _fits_in(gallery, [key, *(c for c, _ in chosen)], k)
        if len(chosen) < count and fits and not _looks_like(gallery, chosen, k, told):
            chosen.append((k, place))
    return chosen


def _looks_like(
    gallery: Gallery,
    chosen: Sequence[tuple[int, Place]],
    rival: int,
    told: Mapping[int, dict[str, str]],
) -> bool:
    """At their worst, the rival and one of the chosen do the same in everything told."""
    worst = gallery.members(rival)[-1]
    others = [gallery.members(k)[-1] for k, _ in chosen]
    places = [(s, part) for s, words in told.items() for part in words]
    return any(all(worst.words[s][p] == other.words[s][p] for s, p in places) for other in others)


def _fits_in(gallery: Gallery, chosen: Sequence[int], rival: int) -> bool:
    """Another part, not three of a sort, and not a giveaway by length."""
    what = gallery.claims[rival]
    rivals = [gallery.claims[k] for k in chosen]
    if any(r.part == what.part for r in rivals):
        return False
    if sum(nature(r) == nature(what) for r in rivals) >= 3:
        return False
    lengths = [len(claim_text(gallery.circuit, r)) for r in (*rivals, what)]
    return max(lengths) <= LONGEST_RATIO * min(lengths)


# --- sentences ------------------------------------------------------------------------


def _write(draft: Draft, material: Material, rng: random.Random) -> Item:
    gallery = draft.gallery
    sentences = Sentences("fault_from_complaint", rng)
    claim = gallery.claims[draft.key]
    look, sound = gallery.looks[draft.key], gallery.sound
    first = _complaints(gallery, draft.key)[0]
    part = gallery.circuit.part(first)
    says = material.complain(
        first, part.name or first, look.word(Place(0, first)), sound.word(Place(0, first)),
        material.moves,
    )  # fmt: skip
    paragraphs = tell(
        gallery.circuit,
        [(gallery.states[s], told_in(gallery, draft.key, s), sound.words[s]) for s in draft.states],
        sentences,
    )
    options = list(_options(draft, sentences, rng))
    rng.shuffle(options)
    return Item(
        **KIND.label(material, rng),
        key_kind=gallery.circuit.by_id[claim.part].kind,
        stem=(*((says,) if says else ()), *paragraphs),
        readings=(),
        question=sentences.say("question"),
        options=tuple(options),
        origin=material.origin(str(claim.usual)),
        proof=Proof(observed=tuple(_observed(draft))),
    )


def _observed(draft: Draft) -> Iterator[Observed]:
    gallery = draft.gallery
    for s in draft.states:
        for part, word in told_in(gallery, draft.key, s).items():
            yield Observed(part=part, level=word, moves=gallery.states[s])


def _options(draft: Draft, sentences: Sentences, rng: random.Random) -> Iterator[Option]:
    gallery = draft.gallery
    key, look = gallery.claims[draft.key], gallery.looks[draft.key]
    load = _complaints(gallery, draft.key)[0]
    own = Place(0, load)
    figures = figures_of(look, gallery.sound, own)
    first = sentences.say("in_first" if len(draft.states) > 1 else "in_this")
    yield Option(
        claim=key.key,
        text=capital(claim_text(gallery.circuit, key)),
        is_key=True,
        rationale=explain_key(gallery.circuit, key, own, look, figures, first, sentences),
        figures=figures,
    )
    why = Sentences("misconceptions", rng, "sentences")
    for k, place in draft.wrong:
        option = _wrong_option(draft, k, place, first, sentences)
        reason = why.once(option.misconception)
        yield replace(option, rationale=(*option.rationale, *reason))


def _wrong_option(
    draft: Draft, number: int, place: Place, first: str, sentences: Sentences
) -> Option:
    gallery = draft.gallery
    claim, rival = gallery.claims[number], gallery.looks[number]
    refutation = Refutation(
        claim=claim.key,
        reading=-1,
        low=0.0,
        high=0.0,
        found=told_in(gallery, draft.key, place.state)[place.part],
        part=place.part,
        instead=rival.word(place) or sorted(rival.words[place.state][place.part])[0],
        moves=gallery.states[place.state],
    )
    figures = figures_of(rival, gallery.looks[draft.key], place)
    sound = gallery.sound.word(place)
    when = first if place.state == 0 else with_state(gallery.circuit, refutation.moves or ())
    reason = explain_wrong(
        gallery.circuit, claim, rival, refutation, figures, sound, when, sentences
    )
    return Option(
        claim=claim.key,
        text=capital(claim_text(gallery.circuit, claim)),
        is_key=False,
        rationale=(reason,),
        misconception=misconception(gallery.circuit, claim, refutation, sound),
        refuted_by=refutation,
        figures=figures,
    )


KIND = Kind(
    name=NAME,
    about="which fault explains the complaint",
    level="interpret",
    responses=("one",),
    make=make,
)
