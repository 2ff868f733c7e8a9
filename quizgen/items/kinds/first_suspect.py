"""Question kind: which suspect first?

Options are parts, their ids the claims. Each comes with how often it was the fault in the
workshop's records and the minutes of a check. Checked one by one, the fault is found soonest on
average when parts are taken by falling frequency over minutes (`diagnosis.check_order`). One
part is ruled out by the complaint: its chance is 0, whatever the records say. Figures of an
option: `times`, `minutes`, `average` (minutes of the whole search that begins with it; not for
the part that is ruled out).
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from quizgen.base.errors import UnprovableError
from quizgen.circuit.components import Part
from quizgen.diagnosis.check_order import check_order, expected_cost
from quizgen.diagnosis.checks import MINUTES
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults import describe
from quizgen.items.complaint import complaints, telling, told
from quizgen.items.evidence import Evidence
from quizgen.items.item import Figure, Item, Option, Proof, Refutation
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.refute import Refuter
from quizgen.items.sentences import Sentences, capital, load_words, the
from quizgen.items.standing import Standing
from quizgen.items.stem import write_stem

NAME = "first-suspect"
CLEARLY = 1.3  # times as many finds a minute as the next
MOST_FAULTS, MOST_DRAWS = 10, 40
USUAL_TIMES = 20  # of the likeliest part in the records
LUCK = (0.6, 1.6)  # records of one workshop differ from the usual by about so much
LONGEST_RATIO = 1.7
OFTEN, EASY, NEITHER, OUT = (
    "most-often-first", "easiest-first", "first-that-comes-to-mind", "tests-what-is-ruled-out",
)  # fmt: skip
SENTENCE = {OFTEN: "often", EASY: "easy", NEITHER: "neither", OUT: "out"}


@dataclass(frozen=True)
class Suspect:
    """A part, its record, the minutes of a check; `out` is what rules it out."""

    part: Part
    times: int
    minutes: float
    out: Refutation | None = None

    @property
    def rate(self) -> float:
        """Finds for each minute of checking, as the records have it."""
        return self.times / self.minutes


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about a fault of the material's dictionary.

    Raises UnprovableError when no complaint tried leaves enough parts with a clear order.
    """
    d = material.dictionary
    order = request.response == "order" or (request.response is None and rng.random() < 0.5)
    for row in complaints(d, request.used, rng, MOST_FAULTS):
        able, ruled_out = _able(d, row), _ruled_out(d, row)
        if len(able) < 3 or not ruled_out:
            continue
        for _ in range(MOST_DRAWS):
            chosen = _draw(d, able, ruled_out, request.options, rng)
            if _clear(chosen, order) and _alike_in_length(chosen):
                return _write(d, row, chosen, order, material, rng)
    raise UnprovableError(
        f"{material.template}: no complaint tried leaves parts with a clear order of checks with "
        f"{dict(material.moves)}; try other positions or parameters"
    )


def _able(d: FaultDictionary, row: int) -> list[Part]:
    """Parts that may be at fault; of wires and the like a few are enough."""
    return [d.circuit.by_id[part] for part in Standing(d, row).sure]


def _ruled_out(d: FaultDictionary, row: int) -> dict[Part, Refutation]:
    """Parts cleared by something seen or heard, if possible such as explain a part of it."""
    evidence, told_of = Evidence(d, row), telling(d, row)
    left = {d.claims[n].part for n in evidence.claims_left([], told_of) if n >= 0}
    refuter = Refuter(evidence, [], told_of)
    pairs = enumerate(zip(d.seen[row], d.seen[0], strict=True))
    wrong = [i for i, (now, sound) in pairs if now.level != sound.level]
    found: dict[Part, Refutation] = {}
    others: dict[Part, Refutation] = {}
    for number in sorted(range(len(d.claims)), key=lambda n: -d.claims[n].weight):
        claim = d.claims[number]
        if claim.part in left or claim.graded:
            continue
        seen = d.seen[d.row(claim.usual)]
        explains = any(seen[i].level == d.seen[row][i].level for i in wrong)
        refutation = refuter.refute(number)
        if refutation is not None and refutation.reading == -1:
            part = d.circuit.by_id[claim.part]
            (found if explains else others).setdefault(part, refutation)
    return found or others


def _draw(
    d: FaultDictionary, able: Sequence[Part], ruled_out: dict[Part, Refutation], count: int,
    rng: random.Random,
) -> list[Suspect]:  # fmt: skip
    """Some parts and a record for each, one of them ruled out."""
    most = max(_weight(d, part) for part in (*able, *ruled_out))
    pool = list(able)
    rng.shuffle(pool)
    parts: list[Part] = []
    while pool and len(parts) < count - 1:
        had = [p.kind for p in parts]
        pool.sort(key=lambda p: had.count(p.kind) + (p.kind == "wire"))
        parts.append(pool.pop(0))
    parts.append(rng.choice(list(ruled_out)))
    found = []
    for part in parts:
        usual = USUAL_TIMES * _weight(d, part) / most
        times = max(round(usual * rng.uniform(*LUCK)), 2)
        minutes = round(part.access_minutes + MINUTES["voltmeter"], 2)
        found.append(Suspect(part, times, minutes, ruled_out.get(part)))
    return found


def _weight(d: FaultDictionary, part: Part) -> float:
    return sum(claim.weight for claim in d.claims if claim.part == part.id)


def _order(suspects: Sequence[Suspect]) -> list[int]:
    """Indices, the part to begin with first, what is ruled out last."""
    order = check_order(
        [0.0 if s.out else s.times for s in suspects], [s.minutes for s in suspects]
    )
    return list(order)


def _clear(suspects: Sequence[Suspect], order: bool) -> bool:
    """The first is clearly first, but neither most frequent nor easiest; if asked, so on down.

    The part that is ruled out is tempting: as good as the best by the figures alone.
    """
    ranked = [suspects[i] for i in _order(suspects)]
    first, *others, out = ranked
    pairs = zip(ranked, others, strict=False) if order else ((first, o) for o in others)
    if any(a.rate < CLEARLY * b.rate for a, b in pairs) or out.rate < first.rate:
        return False
    return any(s.times > first.times or s.minutes < first.minutes for s in others)


def _text(s: Suspect) -> str:
    return f"{capital(the(s.part))}: {s.times} times, {s.minutes:.1f} min"


def _alike_in_length(suspects: Sequence[Suspect]) -> bool:
    lengths = [len(_text(s)) for s in suspects]
    return max(lengths) <= LONGEST_RATIO * min(lengths)


def average(suspects: Sequence[Suspect], first: int) -> float:
    """Minutes until the fault is found on average, beginning with one and then by the rule."""
    able = [i for i, s in enumerate(suspects) if s.out is None]
    total = sum(suspects[i].times for i in able)
    shares = [0.0 if s.out else s.times / total for s in suspects]
    rest = [i for i in _order(suspects) if i in able and i != first]
    return expected_cost([first, *rest], shares, [s.minutes for s in suspects])


# --- words ----------------------------------------------------------------------------


def _write(
    d: FaultDictionary, row: int, suspects: list[Suspect], order: bool, material: Material,
    rng: random.Random,
) -> Item:  # fmt: skip
    rng.shuffle(suspects)
    sentences = Sentences("first_suspect", rng)
    stem = write_stem(d, row, material.complain, Sentences("fault_from_readings", rng))
    first = suspects[_order(suspects)[0]].part
    fault = Standing(d, row).sure[first.id]  # looks as told, and is among the parts listed
    return Item(
        **KIND.label(material, rng),
        key_kind=first.kind,
        stem=(*stem, sentences.say("assumed")),
        readings=(),
        question=sentences.say("question_order" if order else "question_one"),
        options=_options(d, suspects, order, rng),
        origin=material.origin(str(fault)),
        proof=Proof(observed=told(d, row)),
        response="order" if order else "one",
        order=tuple(_order(suspects)) if order else (),
        solution=(_solution(d, suspects, sentences),) if order else (),
    )


def _options(
    d: FaultDictionary, suspects: Sequence[Suspect], order: bool, rng: random.Random
) -> tuple[Option, ...]:
    sentences, why = Sentences("first_suspect", rng), Sentences("misconceptions", rng, "sentences")
    best = suspects[_order(suspects)[0]]
    found = []
    for number, s in enumerate(suspects):
        words = _words(d, suspects, number)
        sort = "" if s is best else _sort(s, best)
        rationale: tuple[str, ...]
        if s is best:
            rationale = (sentences.say("first", **words), sentences.say("next", **words))
        elif order and not s.out:
            rationale = (sentences.say("place", **words),)
        else:
            rationale = (sentences.say(SENTENCE[sort], **words),)
        if sort and not order:
            rationale += why.once(sort)
        found.append(
            Option(
                claim=s.part.id, text=_text(s), is_key=s is best, rationale=rationale,
                misconception=sort, refuted_by=s.out, figures=_figures(suspects, number),
            )
        )  # fmt: skip
    return tuple(found)


def _sort(s: Suspect, best: Suspect) -> str:
    if s.out:
        return OUT
    return OFTEN if s.times > best.times else EASY if s.minutes < best.minutes else NEITHER


def _figures(suspects: Sequence[Suspect], number: int) -> tuple[Figure, ...]:
    s = suspects[number]
    figures = (
        Figure(name="times", value=s.times),
        Figure(name="minutes", value=s.minutes, unit="min"),
    )
    if s.out:
        return figures
    mean = round(average(suspects, number), 3)
    return (*figures, Figure(name="average", value=mean, unit="min"))


def _words(d: FaultDictionary, suspects: Sequence[Suspect], number: int) -> dict[str, str]:
    s, ranked = suspects[number], _order(suspects)
    best, second = suspects[ranked[0]], suspects[ranked[1]]
    words = {
        "part": the(s.part), "times": f"{s.times} times", "minutes": f"{s.minutes:.1f} min",
        "rate": f"{s.rate:.1f}", "average": f"{average(suspects, number):.1f} min",
        "best": the(best.part), "best_rate": f"{best.rate:.1f}",
        "best_average": f"{average(suspects, ranked[0]):.1f} min",
        "next": the(second.part), "next_rate": f"{second.rate:.1f}",
    }  # fmt: skip
    if s.out:
        told_of = d.circuit.by_id[s.out.part]
        claim = next(c for c in d.claims if c.key == s.out.claim)
        words["fault"] = describe(d.circuit, claim.usual, severity=False, names=False)
        words["would"] = load_words(told_of, s.out.instead)
        words["found"] = load_words(told_of, s.out.found)
    return words


def _solution(d: FaultDictionary, suspects: Sequence[Suspect], sentences: Sentences) -> str:
    ranked = _order(suspects)
    *able, out = [suspects[i] for i in ranked]
    rates = ", ".join(f"{the(s.part)} {s.rate:.1f}" for s in able)
    words = _words(d, suspects, ranked[-1])
    mean = f"{average(suspects, ranked[0]):.1f} min"
    said = sentences.say("out", **words)
    assert out.out is not None  # the last is the one that is ruled out
    return sentences.say("solution", rates=rates, average=mean, out=said)


KIND = Kind(
    name=NAME,
    about="which suspect to check first",
    level="choose",
    responses=("one", "order"),
    make=make,
)
