"""Question kind: which test tells most for the time it takes?

Options are acts in the notation of `quizgen.items.act`. The key tells most bits a minute about
which part is at fault, clearly more than any other option, and that whether parts are weighed
by how often they fail or all alike. Figures of an option: `bits`, `even bits` (all parts
alike), `minutes`, `largest` (share of its likeliest outcome).
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from statistics import mean

from quizgen.base.errors import UnprovableError
from quizgen.circuit import components as c
from quizgen.items.complaint import complaints, told
from quizgen.items.item import Figure, Item, Option, Proof
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.sentences import Sentences, capital, the
from quizgen.items.standing import Standing
from quizgen.items.stem import write_stem
from quizgen.items.trials import Trial, act_words, either, trials

NAME = "best-next-test"
CLEARLY = 1.3  # times as many bits a minute as any other option
LARGEST = 0.8  # share of the key's likeliest outcome: a test in the middle
NEAR_BEST = 0.6  # of the best test of all; a key need not be the very best, but good
AS_GOOD = 0.75  # of the key's bits: tells about as much
LITTLE = 0.6
MOST_FAULTS, FEWEST_PARTS = 12, 4
LONGEST_RATIO, LONGEST_KEY = 1.7, 1.5  # of the shortest option, of the mean of the others
NOTHING = 1e-6

ZERO, LONG, LOAD, ONE = (
    "tests-what-is-ruled-out", "long-way-round", "load-blamed", "one-suspect-at-a-time",
)  # fmt: skip
SENTENCE = {ZERO: "zero", LONG: "long", LOAD: "load", ONE: "one"}


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about a fault of the material's dictionary.

    Raises UnprovableError when no fault tried gives a test that is clearly the best.
    """
    for row in complaints(material.dictionary, request.used, rng, MOST_FAULTS):
        standing = Standing(material.dictionary, row)
        if len(standing.parts) < FEWEST_PARTS:
            continue
        found = trials(standing, material.states)
        for key in _keys(standing, found, rng):
            wrong = _wrong(standing, found, key, request.options - 1, rng)
            lengths = [len(_text(standing, t)) for t, _ in wrong]
            if len(wrong) < min(request.options - 1, 2):
                continue
            if len(_text(standing, key)) <= LONGEST_KEY * mean(lengths):
                return _write(standing, key, wrong, material, rng)
    raise UnprovableError(
        f"{material.template}: no test is clearly the best one next with {dict(material.moves)}; "
        "try other positions or parameters"
    )


def _keys(standing: Standing, found: Sequence[Trial], rng: random.Random) -> list[Trial]:
    """Good tests, one of each way to sort the suspects, in a random order."""
    best = max((t.rate for t in found), default=0.0)
    even = max((t.even_rate for t in found), default=0.0)
    good: dict[tuple[int, ...], Trial] = {}
    for t in sorted(found, key=lambda t: -t.rate):
        if max(standing.shares(t.classes)) <= LARGEST and t.rate >= NEAR_BEST * best:
            good.setdefault(t.classes, t)
    keys = [t for t in good.values() if t.even_rate >= NEAR_BEST * even]
    rng.shuffle(keys)
    return keys


def _wrong(
    standing: Standing, found: Sequence[Trial], key: Trial, count: int, rng: random.Random
) -> list[tuple[Trial, str]]:
    """Tests that are clearly worse, of as many sorts as there are."""
    pools: dict[str, list[Trial]] = {}
    for t in found:
        sort = _sort(standing, key, t)
        if sort and key.rate >= CLEARLY * t.rate and key.even_rate >= CLEARLY * t.even_rate:
            pools.setdefault(sort, []).append(t)
    for sort, pool in pools.items():
        rng.shuffle(pool)
        pool.sort(key=lambda t: t.minutes if sort == ZERO else 0.0)
    chosen: list[tuple[Trial, str]] = []
    sorts = list(pools)
    rng.shuffle(sorts)
    for sort in sorts * count:
        able = [t for t in pools[sort] if _fits(standing, key, chosen, t)]
        if able and len(chosen) < count:
            chosen.append((able[0], sort))
    return chosen


def _sort(standing: Standing, key: Trial, t: Trial) -> str:
    """Why a test is worse than the key; "" where that is not plain to see."""
    circuit = standing.dictionary.circuit
    load = t.act.unplugged and isinstance(circuit.part(t.act.unplugged[0]), c.LOADS)
    if t.bits < NOTHING:
        return ZERO if max(t.classes) == 0 else ""
    if load and t.bits < LITTLE * key.bits:
        return LOAD
    if t.bits >= AS_GOOD * key.bits and t.minutes > CLEARLY * key.minutes:
        return LONG
    return ONE if t.bits < LITTLE * key.bits else ""


def _fits(standing: Standing, key: Trial, chosen: Sequence[tuple[Trial, str]], t: Trial) -> bool:
    """Another act than those chosen, no second one of three that sort alike, of like length."""
    others = [key, *(x for x, _ in chosen)]
    if any(x.act == t.act for x in others):
        return False
    if any(_about(x) == _about(t) for x in others):
        return False
    lengths = [len(_text(standing, x)) for x in (*others, t)]
    return max(lengths) <= LONGEST_RATIO * min(lengths)


def _about(t: Trial) -> str:
    """The part that a test is about: two tests of one part, or two looks, are hardly two."""
    return t.act.red.partition(".")[0].partition("/")[0]


def _text(standing: Standing, t: Trial) -> str:
    return capital(f"{act_words(standing, t.act)} ({t.minutes:.1f} min)")


# --- words ----------------------------------------------------------------------------


def _write(
    standing: Standing, key: Trial, wrong: Sequence[tuple[Trial, str]], material: Material,
    rng: random.Random,
) -> Item:  # fmt: skip
    d = standing.dictionary
    sentences, why = Sentences("best_next_test", rng), Sentences("misconceptions", rng, "sentences")
    options = [_option(standing, key, sentences)]
    for t, sort in wrong:
        option = _wrong_option(standing, key, t, sort, sentences)
        options.append(replace(option, rationale=(*option.rationale, *why.once(sort))))
    rng.shuffle(options)
    stem = write_stem(d, standing.row, material.complain, Sentences("fault_from_readings", rng))
    fault = d.members[standing.row].fault
    assert fault is not None  # a complaint has a fault behind it
    return Item(
        **KIND.label(material, rng),
        key_kind=d.circuit.by_id[fault.part].kind,
        stem=(*stem, sentences.say("assumed")),
        readings=(),
        question=sentences.say("question"),
        options=tuple(options),
        origin=material.origin(str(fault)),
        proof=Proof(
            observed=told(d, standing.row),
            figures=(
                Figure(name="suspects", value=len(standing.suspects)),
                Figure(name="parts", value=len(standing.parts)),
            ),
        ),
    )


def _option(standing: Standing, key: Trial, sentences: Sentences) -> Option:
    words = _words(standing, key) | {"minutes": f"{key.minutes:.1f} min"}
    many = "key_two" if max(key.classes) == 1 else "key_more"
    rationale = (
        sentences.say(many, **words),
        sentences.say("odds", **words),
        sentences.say("next_halve"),
    )
    return Option(
        claim=str(key.act), text=_text(standing, key), is_key=True, rationale=rationale,
        figures=_figures(standing, key),
    )  # fmt: skip


def _wrong_option(
    standing: Standing, key: Trial, t: Trial, sort: str, sentences: Sentences
) -> Option:
    words = _words(standing, t) | {"best": f"{key.minutes:.1f} min"}
    return Option(
        claim=str(t.act), text=_text(standing, t), is_key=False,
        rationale=(sentences.say(SENTENCE[sort], **words),), misconception=sort,
        figures=_figures(standing, t),
    )  # fmt: skip


def _words(standing: Standing, t: Trial) -> dict[str, str]:
    """What the two likeliest outcomes are, and which parts they point to."""
    shares = standing.shares(t.classes)
    order = sorted(range(len(shares)), key=lambda number: -shares[number])
    words = {
        "n": str(len(standing.parts)),
        "minutes": f"{t.minutes:.1f} min",
        "percent": f"{100 * shares[order[0]]:.0f}",
    }
    for name, number in zip("ab", (order * 2)[:2], strict=True):
        words[name] = t.shows[number]
        words[f"parts_{name}"] = either(standing.parts_of(t.classes, number))
    if t.act.unplugged:
        words["part"] = the(standing.dictionary.circuit.part(t.act.unplugged[0]))
    return words


def _figures(standing: Standing, t: Trial) -> tuple[Figure, ...]:
    return (
        Figure(name="bits", value=round(t.bits, 4), unit="bit"),
        Figure(name="even bits", value=round(t.even_bits, 4), unit="bit"),
        Figure(name="minutes", value=t.minutes, unit="min"),
        Figure(name="largest", value=round(max(standing.shares(t.classes)), 4)),
    )


KIND = Kind(
    name=NAME,
    about="the test that tells most for the time it takes",
    level="choose",
    responses=("one",),
    make=make,
)
