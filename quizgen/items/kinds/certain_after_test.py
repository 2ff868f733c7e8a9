"""Question kind: what is certain after this test?

A complaint leaves some parts under suspicion, a test clears some of them: a voltmeter reading or
two as everything stands, or one act with a test lamp, an ohmmeter, a fused jumper, or a meter with
something apart. Options are statements, with one fault assumed: `not:F1` says that F1 is good,
`in:F1,S1,W3` that the fault is in one of these parts. What is certain holds under every fault, of
any severity, that agrees with all that is told. Each wrong statement is contradicted by one such
fault, that of a right one is a fault it rules out: the figure `FAULT@NODE` says what a voltmeter
to the frame shows with it, `FAULT -> TEXT` what any other test does. With a jumper `shown` is
what loads and relays do, as "M1 turns, K1 clicks".
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, islice

from quizgen.base.errors import UnprovableError
from quizgen.faults import Fault, describe, universe
from quizgen.faults.wording import point_name
from quizgen.items.act import Act
from quizgen.items.act_choice import SORTS, acts_for
from quizgen.items.certainty import TakenTest, Volts, one_would_do
from quizgen.items.complaint import complaints, told
from quizgen.items.evidence import Evidence
from quizgen.items.item import Item, Option, Proof
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.sentences import Sentences, capital, listed, the
from quizgen.items.standing import Classes, Standing, reading_minutes, told_apart
from quizgen.items.stem import write_stem
from quizgen.items.taken_act import Bench, bench_of, take_act
from quizgen.items.trials import SHAKE, either

NAME = "certain-after-test"
MOST_FAULTS = 10
MOST_TRIED, MOST_TESTS = 50, 12  # of one sort: looked at, and made into statements
MOST_ACTS = 30  # worked out for one item
SORTS_OF_TEST = ("volts", *SORTS)
FEWEST_LEFT, FEWEST_CLEARED = 2, 1
MOST_NAMED = 5  # parts in a set
SEVERAL_SHARE = 0.25  # of items that ask for all that is certain
LONGEST_RATIO = 1.7
UNLOADED = ("off", "out", "apart")  # tests in which no current flows
CLEARED_FIRST, BACKWARDS, TOO_SOON, GROUND = (
    "clears-too-much", "reads-it-backwards", "convicts-too-soon", "ground-side-forgotten",
)  # fmt: skip


@dataclass(frozen=True)
class Statement:
    """What an option says, and what it rests on: a fault that it rules out or overlooks."""

    claim: str
    holds: bool
    fault: Fault
    misconception: str = ""


Form = Callable[[TakenTest, int, random.Random], list[Statement]]


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about a fault of the material's dictionary.

    Raises UnprovableError when no fault and test tried leave enough to choose from.
    """
    d = material.dictionary
    budget, cases = iter(range(MOST_ACTS)), universe(d.circuit)
    for row in complaints(d, request.used, rng, MOST_FAULTS):
        for test in _tests(Evidence(d, row), Standing(d, row, pool=cases), budget, rng):
            for form in _forms(request, rng):
                statements = form(test, request.options, rng)
                if statements and _alike_in_length(test, statements):
                    return _write(test, statements, form is _several, material, rng)
    raise UnprovableError(
        f"{material.template}: no test tried clears some parts and leaves others with "
        f"{dict(material.moves)}; try other positions or parameters"
    )


def _tests(
    evidence: Evidence, before: Standing, budget: Iterator[int], rng: random.Random
) -> Iterator[TakenTest]:
    """Tests that clear something and leave something, of one sort after the other.

    `budget` is how many acts may still be worked out.
    """
    bench: Bench | None = None
    for sort in rng.sample(SORTS_OF_TEST, len(SORTS_OF_TEST)):
        tests: Iterator[TakenTest]
        if sort == "volts":
            tests = _volts(evidence, before, rng)
        else:
            bench = bench or bench_of(evidence, before)
            tests = _acts(bench, acts_for(evidence.dictionary, evidence.row, sort, rng), budget)
        yield from islice((t for t in tests if _is_worth_asking(t)), MOST_TESTS)


def _is_worth_asking(test: TakenTest) -> bool:
    return (
        len(test.suspected) >= FEWEST_LEFT
        and -1 not in test.claims_left
        and len(test.cleared) >= FEWEST_CLEARED
    )


def _acts(bench: Bench, acts: Sequence[Act], budget: Iterator[int]) -> Iterator[TakenTest]:
    for act, _ in zip(acts, budget, strict=False):
        test = take_act(bench, act)
        if test is not None:
            yield test


def _volts(evidence: Evidence, before: Standing, rng: random.Random) -> Iterator[Volts]:
    """Readings at one or two points."""
    d, row = evidence.dictionary, evidence.row
    able = [n for n in d.points if reading_minutes(d.circuit, [n]) is not None]
    able = [n for n in able if d.low[d.points.index(n), row] == d.high[d.points.index(n), row]]
    rng.shuffle(able)
    pairs = list(combinations(able, 2))
    rng.shuffle(pairs)
    mixed: list[tuple[str, ...]] = [*((n,) for n in able), *pairs[: len(able) // 2]]
    rng.shuffle(mixed)
    for nodes in mixed[:MOST_TRIED]:
        test = Volts(evidence, before, tuple(sorted(nodes, key=d.points.index)))
        if not one_would_do(test):
            yield test


# --- statements -----------------------------------------------------------------------


def _forms(request: Request, rng: random.Random) -> list[Form]:
    """The ways to ask that are wanted, in the order in which they are tried."""
    if request.response == "several":
        return [_several]
    forms: list[Form] = [_good, _where]
    rng.shuffle(forms)
    if request.response is None and rng.random() < SEVERAL_SHARE:
        forms.insert(0, _several)
    return forms


def _good(test: TakenTest, count: int, rng: random.Random) -> list[Statement]:
    """One part that is good, others that may be bad."""
    return _parts(test, 1, count, rng)


def _several(test: TakenTest, count: int, rng: random.Random) -> list[Statement]:
    """Two parts that are good, or more."""
    return _parts(test, rng.randint(2, max(2, count - 2)), count, rng)


def _parts(test: TakenTest, right: int, count: int, rng: random.Random) -> list[Statement]:
    breaks = [p for p, fault in test.cleared.items() if fault.mode != "resistance"]
    good = breaks if len(breaks) >= right else list(test.cleared)
    bad = [p for p in test.standing.sure if p in test.suspected]
    if len(good) < right or len(bad) < count - right:
        return []
    chosen = [(p, True) for p in _varied(test, good, right, rng)]
    chosen += [(p, False) for p in _varied(test, bad, count - right, rng)]
    rng.shuffle(chosen)
    return [_about(test, part, holds) for part, holds in chosen]


def _varied(test: TakenTest, parts: Sequence[str], count: int, rng: random.Random) -> list[str]:
    """Parts of many kinds rather than all of them wires."""
    pool = list(parts)
    rng.shuffle(pool)
    chosen: list[str] = []
    kind = {p: test.dictionary.circuit.by_id[p].kind for p in pool}
    while pool and len(chosen) < count:
        had = [kind[p] for p in chosen]
        pool.sort(key=lambda p: had.count(kind[p]) + (kind[p] == "wire"))
        chosen.append(pool.pop(0))
    return chosen


def _about(test: TakenTest, part: str, holds: bool) -> Statement:
    if holds:
        return Statement(f"not:{part}", True, test.cleared[part])
    fault = test.standing.sure[part]
    sort = GROUND if test.ground_side(part) else CLEARED_FIRST
    if test.name in UNLOADED and fault.mode == "resistance":
        sort = "unloaded-is-loaded"
    return Statement(f"not:{part}", False, fault, sort)


def _where(test: TakenTest, count: int, rng: random.Random) -> list[Statement]:
    """The set of all parts that are left, and sets that miss one of them."""
    d = test.dictionary
    order = [p.id for p in d.circuit.parts]
    left = sorted(test.suspected, key=order.index)
    if not 1 < len(left) <= MOST_NAMED or not set(left) <= set(test.standing.sure):
        return []
    key = _set(left, order)
    found = {key: Statement(key, True, next(iter(test.cleared.values())))}
    for chosen, sort in _wrong_sets(test, left, rng):
        missing = [p for p in left if p not in chosen]
        claim = _set(chosen, order)
        if missing and claim not in found and len(found) < count:
            fault = test.standing.sure[rng.choice(missing)]
            found[claim] = Statement(claim, False, fault, sort)
    if len(found) < max(count - 1, 3):
        return []
    statements = list(found.values())
    rng.shuffle(statements)
    return statements


def _set(parts: Sequence[str], order: Sequence[str]) -> str:
    return "in:" + ",".join(sorted(parts, key=order.index))


def _wrong_sets(
    test: TakenTest, left: Sequence[str], rng: random.Random
) -> Iterator[tuple[list[str], str]]:
    """Sets of about the size of what is left, by what goes wrong in somebody's mind."""
    cleared = list(test.cleared)
    rng.shuffle(cleared)
    feed = [p for p in left if not test.ground_side(p)]
    size = len(left)
    if 0 < len(feed) < size:
        yield feed + cleared[: size - len(feed)], GROUND
    if len(cleared) > 1:
        yield cleared[: rng.randint(min(2, size), size)], BACKWARDS
    for part in rng.sample(list(left), size):
        rest = [p for p in left if p != part]
        yield rest + cleared[:1], TOO_SOON
        if size > 2:
            yield rest, TOO_SOON
        yield [part, *cleared[1:size]], BACKWARDS


# --- words ----------------------------------------------------------------------------


def _text(test: TakenTest, statement: Statement) -> str:
    word, _, parts = statement.claim.partition(":")
    if word == "in":
        return either(parts.split(","), MOST_NAMED)
    return f"{capital(the(test.dictionary.circuit.part(parts)))} is good"


def _alike_in_length(test: TakenTest, statements: Sequence[Statement]) -> bool:
    lengths = [len(_text(test, s)) for s in statements]
    return max(lengths) <= LONGEST_RATIO * min(lengths)


def _write(
    test: TakenTest, statements: Sequence[Statement], several: bool, material: Material,
    rng: random.Random,
) -> Item:  # fmt: skip
    d, circuit = test.dictionary, test.dictionary.circuit
    sentences, why = (
        Sentences("certain_after_test", rng),
        Sentences("misconceptions", rng, "sentences"),
    )
    where = statements[0].claim.startswith("in:")
    options = _options(test, statements, sentences, why)
    stem = write_stem(d, test.row, material.complain, Sentences("fault_from_readings", rng))
    question = "question_where" if where else "question_several" if several else "question_good"
    fault = d.members[test.row].fault
    assert fault is not None  # a complaint has a fault behind it
    return Item(
        **KIND.label(material, rng),
        key_kind=circuit.by_id[fault.part].kind,
        stem=(*stem, f"{sentences.say('assumed')} {_measured(test, sentences)}"),
        readings=test.readings(sentences),
        question=sentences.say(question),
        options=tuple(options),
        origin=material.origin(str(fault)),
        proof=Proof(observed=told(d, test.row)),
        response="several" if several else "one",
    )


def _options(
    test: TakenTest, statements: Sequence[Statement], sentences: Sentences, why: Sentences
) -> list[Option]:
    """The statements with their reasons; the next test and each wrong idea are told once."""
    first = next(s for s in statements if s.holds)
    options = []
    for s in statements:
        rationale = _right(test, s, sentences) if s.holds else _wrong(test, s, sentences)
        if s is first:
            rationale += (_next(test, sentences),)
        if not s.holds:
            rationale += why.once(s.misconception)
        options.append(
            Option(
                claim=s.claim, text=_text(test, s), is_key=s.holds, rationale=rationale,
                misconception=s.misconception, figures=test.figures(s.fault),
            )
        )  # fmt: skip
    return options


def _measured(test: TakenTest, sentences: Sentences) -> str:
    """What is done, in the stem."""
    words = test.words(next(iter(test.cleared.values())), sentences)
    return sentences.say(f"measured_{test.name}", off=words.get("off", ""))


def _words(test: TakenTest, s: Statement, sentences: Sentences) -> dict[str, str]:
    circuit = test.dictionary.circuit
    return {
        "part": the(circuit.part(s.fault.part)),
        "fault": describe(circuit, s.fault, names=False),
        "cleared": _some(list(test.cleared)),
        **test.words(s.fault, sentences),
    }


def _some(parts: Sequence[str]) -> str:
    """All parts, or some and how many more."""
    more = len(parts) - MOST_NAMED
    return listed([*parts[:MOST_NAMED], f"{more} more"] if more > 1 else list(parts))


def _named(test: TakenTest, name: str) -> str:
    """A reading of volts is told in words of its own, every other test in clauses."""
    return name if isinstance(test, Volts) else f"{name}_act"


def _right(test: TakenTest, s: Statement, sentences: Sentences) -> tuple[str, ...]:
    words = _words(test, s, sentences)
    if s.claim.startswith("in:"):
        several = len(test.cleared) > 1
        name = "located" if several else "located_one"
        said = [sentences.say(_named(test, name), **words)]
    else:
        said = [sentences.say(_named(test, "cleared"), **words)]
        mine = [f for f in test.before.suspects if f.part == s.fault.part]
        said += [sentences.say(_named(test, "cleared_more"))] if len(mine) > 1 else []
    return tuple(said)


def _wrong(test: TakenTest, s: Statement, sentences: Sentences) -> tuple[str, ...]:
    name = "left_out" if s.claim.startswith("in:") else "still"
    return (sentences.say(_named(test, name), **_words(test, s, sentences)),)


def _next(test: TakenTest, sentences: Sentences) -> str:
    """The reading that tells most for the time about what is left."""
    d, standing = test.dictionary, test.standing
    best, rate = "", 0.05
    classes: Classes = ()
    for node in d.points:
        minutes = reading_minutes(d.circuit, [node])
        low, high = standing.volts(node)
        found = told_apart(low, high)
        if minutes is None or any(told_apart(low, high, x) != found for x in SHAKE):
            continue
        if standing.bits(found) / minutes > rate:
            best, rate, classes = node, standing.bits(found) / minutes, found
    if not best:
        return sentences.say("next_look")
    parts = min((standing.parts_of(classes, n) for n in set(classes)), key=len)
    return sentences.say(
        "next", point=point_name(d.circuit, best, names=False), parts=listed(parts[:MOST_NAMED])
    )


KIND = Kind(
    name=NAME,
    about="what a test makes certain",
    level="justify",
    responses=("one", "several"),
    make=make,
    retried=0.4,
)
