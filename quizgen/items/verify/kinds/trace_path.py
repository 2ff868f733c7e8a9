"""Verifies "which way does the current take".

1. the load works as told, nothing is in doubt, and its current has one way (`verify.routes`)
2. every step of the key is on that way, in that order; a list leaves out nothing
3. opening any of them stops the load
4. stated currents are right, those in sentences are stated, and texts name the steps
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from quizgen.base.errors import QuizgenError
from quizgen.circuit import components as c
from quizgen.items.item import Figure, Item, Option
from quizgen.items.verify.bench import Bench, Benches
from quizgen.items.verify.routes import NOTICEABLE, Edge, Routes, amounts, check_label

NEAR_AMPS = 1e-4
LEAST_AMPS = 0.001
FIGURE = re.compile(r"current through (\S+?)(?: with (\S+) open)?")
IDLE = {"dark", "stopped", "silent", "cold", "released", "at the lower stop"}


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    bench = benches.at(item.origin.positions)
    if item.origin.fault or item.told or item.readings:
        yield "such a question is about a sound circuit, without readings"
    if item.response not in ("order", "one"):
        yield f"such a question is not answered by {item.response}"
        return
    if len(item.proof.observed) != 1:
        yield f"{len(item.proof.observed)} loads are said to be seen; there must be one"
        return
    routes = Routes(bench.sound[0].point, item.proof.observed[0].part)
    yield from _check_load(item, bench, routes)
    if not routes.way:
        yield f"the current through {routes.load} does not have one way of its own"
        return
    yield from _check_order(item, routes) if item.response == "order" else _check_list(item, routes)
    yield from _check_series(item, routes)
    yield from _check_figures(item, routes)
    yield from _check_words(item, bench, routes)


def _check_load(item: Item, bench: Bench, routes: Routes) -> Iterator[str]:
    """It is at work, as told, and nobody could see it otherwise."""
    point, observed = routes.point, item.proof.observed[0]
    if point.behaviour != "steady":
        yield f"the circuit does not come to rest: {point.behaviour}"
    yield from (f"the circuit is in doubt: {reason}" for reason in point.ambiguous)
    if observed.moves not in (None, item.origin.positions):
        yield f"{observed.part} is seen in another state"
    kind = routes.own.part.kind
    if item.key_kind != kind:
        yield f"the question is about a {item.key_kind}; {observed.part} is a {kind}"
    seen = bench.sound[0].seen(observed.part)
    if seen.level != observed.level or seen.level in IDLE or seen.doubtful:
        yield f"{observed.part} is said to be {observed.level!r}; it is {seen.level!r}"
    if observed.part in point.circuit.unobserved:
        yield f"nobody can see {observed.part}"
    if routes.own.amps < LEAST_AMPS:
        yield f"{observed.part} takes no current worth speaking of"


def _check_order(item: Item, routes: Routes) -> Iterator[str]:
    way = [edge.label for edge in routes.way]
    for option in item.options:
        if option.claim not in way:
            yield f"option {option.claim} is not on the way of the current"
    places = [way.index(claim) for claim in item.key_claims if claim in way]
    if places != sorted(places):
        yield f"the current passes {' > '.join(way[i] for i in sorted(places))}, in this order"


def _check_list(item: Item, routes: Routes) -> Iterator[str]:
    right = [edge.label for edge in _devices(routes.way)]
    for option in item.options:
        load, _, steps = option.claim.partition(":")
        if load != routes.load:
            yield f"option {option.claim} is about {load}; the question is about {routes.load}"
        for label in steps.split(">"):
            check_label(routes.point.circuit, label)
        if option.is_key != (steps.split(">") == right):
            yield f"option {option.claim} is marked wrongly; the way is {' > '.join(right)}"
        if not option.is_key and not option.misconception:
            yield f"option {option.claim}: no misconception stands behind it"


def _devices(way: Sequence[Edge]) -> list[Edge]:
    return [edge for edge in way if not isinstance(edge.part, c.Wire | c.Splice | c.Bridge)]


def _steps(item: Item) -> list[str]:
    """What the right answer names."""
    if item.response == "order":
        return list(item.key_claims)
    return item.key.claim.partition(":")[2].split(">")


def _check_series(item: Item, routes: Routes) -> Iterator[str]:
    stated = {f.name for f in item.proof.figures}
    for label in _steps(item):
        left = routes.amps_without(label)
        if left > NOTICEABLE * routes.own.amps:
            yield f"with {label} open {routes.load} still has {left:.3g} A"
        if f"current through {routes.own.label} with {label} open" not in stated:
            yield f"the proof does not say what is left with {label} open"


def _check_figures(item: Item, routes: Routes) -> Iterator[str]:
    for where, figures in (
        ("the proof", item.proof.figures),
        *((f"option {o.claim}", o.figures) for o in item.options),
    ):
        for figure in figures:
            yield from (f"{where}: {line}" for line in _check_figure(figure, routes))
    for option in item.options:
        yield from _check_amounts(option.rationale, option.figures, f"option {option.claim}")
    yield from _check_amounts(item.solution, item.proof.figures, "the solution")
    if item.response == "order" and not any(item.solution):
        yield "there is no worked solution"


def _check_figure(figure: Figure, routes: Routes) -> Iterator[str]:
    match = FIGURE.fullmatch(figure.name)
    if match is None or figure.unit != "A":
        yield f"nobody can check {figure.name!r} in {figure.unit!r}"
        return
    label, opened = match.groups()
    try:
        found = routes.amps_without(opened) if opened else routes.amps(label)
    except QuizgenError as error:
        yield str(error)
        return
    if opened and label != routes.own.label:
        yield f"{figure.name!r} is not about the load"
    if not abs(figure.value - found) <= NEAR_AMPS + 1e-3 * found:
        yield f"{figure.name} is {found:.4g} A, not {figure.value:g} A"


def _check_amounts(lines: Sequence[str], figures: Sequence[Figure], where: str) -> Iterator[str]:
    """Every current in a sentence is one of the figures, rounded."""
    for value, unit, half in amounts(" ".join(lines)):
        if (value, unit) == (0.0, "V"):  # "reads 0 V as long as": a rule, not a figure
            continue
        if unit != "A" or not any(abs(value - f.value) <= half + NEAR_AMPS for f in figures):
            yield f"{where}: {value:g} {unit} is none of its figures"


def _check_words(item: Item, bench: Bench, routes: Routes) -> Iterator[str]:
    """Texts name the steps in order; stem and question name the state, the load, the battery."""
    stem, question = " ".join(item.stem), item.question
    for control, position in bench.moves:
        label = bench.circuit.by_control[control].label
        if not (_said(control, stem) or (label and _said(label, stem))) or not _said(
            position, stem
        ):
            yield f"the stem does not say {control}={position}"
    for what, text, where in (
        (routes.load, stem, "stem"),
        (routes.load, question, "question"),
        (routes.supply, question, "question"),
    ):
        if not _said(what, text):
            yield f"the {where} does not name {what}"
    for option in item.options:
        yield from _check_text(option, item.response, bench)


def _check_text(option: Option, response: str, bench: Bench) -> Iterator[str]:
    steps = option.claim
    if response == "one":
        steps = steps.partition(":")[2]
    labels = steps.split(">")
    named = [w for w in re.findall(r"[A-Z]+\d+", option.text) if w in bench.circuit.by_id]
    if named != [label.partition(":")[0] for label in labels]:
        yield f"option {option.claim} reads {option.text!r}, which names {' '.join(named)}"
    for label in labels:
        branch = label.partition(":")[2]
        pins = branch.split("-") if branch not in ("pull-in", "hold-in") else [branch]
        spoken = {"exciter": ["31"], "output": ["31"], "sense": ["31"], "electronics": ["31"]}
        for pin in spoken.get(branch, pins):
            if pin and not _said(pin, option.text):
                yield f"option {option.claim} reads {option.text!r}, which does not name {pin}"


def _said(word: str, text: str) -> bool:
    pattern = rf"(?<![\w]){re.escape(word.casefold())}(?![\w])"
    return re.search(pattern, text.casefold()) is not None
