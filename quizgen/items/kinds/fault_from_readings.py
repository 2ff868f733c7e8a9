"""Question kind: which fault explains these readings?

A fault is put in, a driver's complaint and a few voltmeter readings are taken, and the item
stands only if these leave, of all claims the circuit allows, none but that of the key's own
part. Wrong options are faults that explain the complaint and are refuted by a reading.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from dataclasses import dataclass

import numpy as np

from quizgen.base.errors import UnprovableError
from quizgen.diagnosis.claims import Claim
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults.wording import point_name
from quizgen.items.calm import burns
from quizgen.items.complaint import drawn, tellable, telling, told
from quizgen.items.evidence import Evidence, choose_points, margin_volts
from quizgen.items.item import Item, Option, Proof, Reading
from quizgen.items.kind import Kind
from quizgen.items.lint.item_rules import key_stands_out
from quizgen.items.material import Material, Request
from quizgen.items.places import ends, nature
from quizgen.items.rationale import Explainer, claim_text
from quizgen.items.refute import Refuter
from quizgen.items.sentences import (
    Sentences,
    capital,
    state_words,
    volts_words,
)
from quizgen.items.stem import write_stem

NAME = "fault-from-readings"
FEWEST_READINGS = 4
MOST_KEYS = 24  # faults tried on one circuit before another is drawn
LONGEST_RATIO = 1.7  # of option lengths, our threshold


@dataclass(frozen=True)
class Draft:
    """The decisions behind an item, before any sentence is written."""

    evidence: Evidence
    key: int
    points: list[int]
    observations: list[int]
    distractors: list[int]

    @property
    def dictionary(self) -> FaultDictionary:
        return self.evidence.dictionary

    @property
    def refuter(self) -> Refuter:
        return Refuter(self.evidence, self.points, self.observations)


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about a fault of the material's dictionary, drawn with `rng` by likelihood.

    Faults already asked in `request.used` are not asked again, and kinds of parts that were
    faulty less often come first. Raises UnprovableError when none of the faults tried can be
    proved from readings in this state.
    """
    dictionary = material.dictionary
    same = [i for i in request.used if i.kind == NAME]
    asked = {i.key.claim for i in same if i.family == material.template}
    had = Counter(i.key_kind for i in same)
    pool = {
        i: c
        for i, c in enumerate(dictionary.claims)
        if c.key not in asked and tellable(dictionary, dictionary.row(c.usual))
    }
    for _ in range(MOST_KEYS):
        if not pool:
            break
        key = drawn(dictionary.circuit, pool, had, rng)
        del pool[key]
        draft = draft_item(dictionary, key, rng, request.options)
        if draft is not None:
            return _write(draft, material, rng)
    raise UnprovableError(
        f"{material.template}: no fault tried can be proved from readings with "
        f"{dict(material.moves)}; try other positions or parameters"
    )


def draft_item(
    dictionary: FaultDictionary, key: int, rng: random.Random, options: int
) -> Draft | None:
    """Decide readings and options for the claim `key`; None if it cannot be proved."""
    row = dictionary.row(dictionary.claims[key].usual)
    evidence = Evidence(dictionary, row)
    observations = telling(dictionary, row)
    candidates = _candidates(dictionary, rng)
    points = choose_points(evidence, key, observations, candidates)
    if points is None:
        return None
    points = _in_order(dictionary, _with_context(evidence, key, points))
    distractors = _distractors(evidence, key, points, observations, options - 1)
    texts = [claim_text(dictionary.circuit, dictionary.claims[c]) for c in (key, *distractors)]
    if len(distractors) < options - 1 or key_stands_out(texts[0], texts[1:]):
        return None
    return Draft(evidence, key, points, observations, distractors)


def _candidates(dictionary: FaultDictionary, rng: random.Random) -> list[int]:
    """Points in the order of preference: easy to reach first, equals by chance."""
    circuit = dictionary.circuit

    def minutes(point: int) -> float:
        parts = circuit.terminals_at[dictionary.points[point]]
        return min(circuit.by_id[p].access_minutes for p, _ in parts)

    order = [(minutes(p), rng.random(), p) for p in range(len(dictionary.points))]
    return [p for _, _, p in sorted(order)]


def _with_context(evidence: Evidence, key: int, points: list[int]) -> list[int]:
    """At least four readings: add those of a load that fails, the ends of the trouble, the supply.

    A reading that only confirms is still worth having: it is what a technician takes first.
    """
    d = evidence.dictionary
    seen = zip(d.seen[evidence.row], d.seen[0], strict=True)
    failing = [now.load for now, sound in seen if now.level != sound.level]
    loads = [node for load in failing for node in d.circuit.by_id[load].nodes]
    more = [*loads, *ends(d.circuit, d.claims[key]), d.circuit.supply]
    out = list(points)
    for node in more:
        if len(out) >= FEWEST_READINGS:
            break
        if node in d.points and d.points.index(node) not in out:
            out.append(d.points.index(node))
    return out


def _in_order(dictionary: FaultDictionary, points: list[int]) -> list[int]:
    """Along the current: by falling potential in the sound circuit, then as in the template."""
    sound = dictionary.low[:, 0]
    return sorted(points, key=lambda p: (-round(float(sound[p]), 3), p))


def _distractors(
    evidence: Evidence, key: int, points: list[int], observations: list[int], count: int
) -> list[int]:
    """Claims that explain the complaint and agree with as many readings as possible."""
    d = evidence.dictionary
    refuter = Refuter(evidence, points, observations)
    scored: list[tuple[float, int, int]] = []
    for claim, what in enumerate(d.claims):
        if what.part == d.claims[key].part or not _still(d, claim):
            continue
        row = d.row(what.usual)
        fits = [s.level == o.level for s, o in zip(d.seen[row], d.seen[evidence.row], strict=True)]
        refutation = refuter.refute(claim)
        if (
            not all(fits)
            or refutation is None
            or refutation.reading < 0
            or burns(d.solutions.point(row))
        ):
            continue
        agrees = int((np.abs(d.low[points, row] - evidence.shown[points]) < 0.3).sum())
        score = -agrees - 0.2 * math.log10(what.weight)
        scored.append((score, refutation.reading, claim))
    chosen: list[int] = []
    used: list[int] = []
    while scored and len(chosen) < count:
        # one reading that alone rules out all wrong options would make the others idle
        scored.sort(key=lambda s: (s[0] + 1.5 * used.count(s[1]), s[2]))
        _, reading, claim = scored.pop(0)
        if _fits_in(evidence, key, chosen, claim):
            chosen.append(claim)
            used.append(reading)
    return chosen


def _still(dictionary: FaultDictionary, claim: int) -> bool:
    """At no severity anything chatters or cycles; figures of what swings help no reader."""
    return not any(row in dictionary.solutions.phases for row in dictionary.rows_of[claim])


def _fits_in(evidence: Evidence, key: int, chosen: list[int], claim: int) -> bool:
    """Another part, another effect, not three of a sort, and not a giveaway by length."""
    d = evidence.dictionary
    what = d.claims[claim]
    rivals = [d.claims[c] for c in (*chosen, key)]
    if any(r.part == what.part for r in rivals[:-1]):
        return False
    if sum(nature(r) == nature(what) for r in rivals[:-1]) >= 2:
        return False
    row = d.row(what.usual)
    for other in chosen:
        gap = np.abs(d.low[:, row] - d.low[:, d.row(d.claims[other].usual)])
        if gap.max() < margin_volts(float(np.abs(evidence.shown).max())):
            return False
    lengths = [len(claim_text(d.circuit, r)) for r in (*rivals, what)]
    return max(lengths) <= LONGEST_RATIO * min(lengths)


KIND_FILE = "fault_from_readings"


def _write(draft: Draft, material: Material, rng: random.Random) -> Item:
    """Turn decisions into sentences and the proof record."""
    d, evidence = draft.dictionary, draft.evidence
    sentences = Sentences(KIND_FILE, rng)
    why = Sentences("misconceptions", rng, "sentences")
    explainer = Explainer(d, evidence.row, d.claims[draft.key], sentences, why)
    readings = _readings(draft, sentences)
    shuffled = [draft.key, *draft.distractors]
    rng.shuffle(shuffled)
    options = tuple(_option(draft, explainer, c, readings) for c in shuffled)
    return Item(
        **KIND.label(material, rng),
        key_kind=d.circuit.by_id[d.claims[draft.key].part].kind,
        stem=write_stem(d, evidence.row, material.complain, sentences),
        readings=readings,
        question=sentences.say("question"),
        options=options,
        origin=material.origin(str(d.claims[draft.key].usual)),
        proof=_proof(draft),
    )


def _readings(draft: Draft, sentences: Sentences) -> tuple[Reading, ...]:
    d = draft.dictionary
    circuit = d.circuit
    state = capital(state_words(circuit, dict(d.moves)))
    black = sentences.say("shared_black")
    return tuple(
        Reading(
            instrument="voltmeter",
            red_node=d.points[p],
            black_node=circuit.reference,
            red=point_name(circuit, d.points[p], names=False),
            black=black,
            state=state,
            shown=volts_words(float(draft.evidence.shown[p])),
            volts=round(float(draft.evidence.shown[p]), 1) + 0.0,
        )
        for p in draft.points
    )


def _option(
    draft: Draft, explainer: Explainer, claim: int, readings: tuple[Reading, ...]
) -> Option:
    what = draft.dictionary.claims[claim]
    text = capital(claim_text(draft.dictionary.circuit, what))
    if claim == draft.key:
        return Option(claim=what.key, text=text, is_key=True, rationale=explainer.for_key())
    refutation = draft.refuter.refute(claim)
    assert refutation is not None  # drafted only with claims that are refuted
    return Option(
        claim=what.key,
        text=text,
        is_key=False,
        rationale=explainer.for_wrong(what, refutation, readings),
        misconception=explainer.misconception(what),
        refuted_by=refutation,
    )


def _proof(draft: Draft) -> Proof:
    d, evidence = draft.dictionary, draft.evidence
    key: Claim = d.claims[draft.key]
    refuter = draft.refuter
    others = [c for c in (-1, *range(len(d.claims))) if c < 0 or d.claims[c].part != key.part]
    found = [refuter.refute(c) for c in others]
    assert None not in found  # choose_points left only the key's part
    own = [c for c in d.claims if c.part == key.part and c.key != key.key]
    same = [c.key for c in own if _megohms(c, key) or refuter.refute(d.claims.index(c)) is None]
    return Proof(
        claims=len(d.claims),
        faults=len({m.fault for m in d.members if m.fault}),
        margin_volts=round(margin_volts(float(np.abs(evidence.shown).max())), 3),
        observed=told(d, evidence.row),
        refutations=tuple(r for r in found if r is not None),
        same_part=tuple(same),
    )


def _megohms(claim: Claim, key: Claim) -> bool:
    """A resistance that for all one can tell is as good as the break that the key names."""
    return claim.mode == "resistance" and nature(key) == "open" and claim.place == key.place


KIND = Kind(
    name=NAME,
    about="which fault explains the readings",
    level="interpret",
    responses=("one",),
    make=make,
    retried=0.3,
)
