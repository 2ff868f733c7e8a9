"""Verifies "which test tells most for the time it takes".

1. the hidden fault looks as the stem tells, without doubt
2. suspects, bits and minutes of every option are as stated
3. the key tells clearly more a minute than any other option, weighed and unweighed
4. the words give the figures
"""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.items.act import LOOK, Act, parse_act
from quizgen.items.item import Item, Option
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.left import Left, check_told, left_by, numbers, point_words
from quizgen.items.verify.meter import HALF_DIGIT
from quizgen.items.verify.words import told_of

CLEARLY = 1.3
LARGEST = 0.8
NEAR_BITS, NEAR_MINUTES = 0.01, 0.001
NEAR_SHARE = 0.002


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    left = left_by(item, benches)
    yield from check_told(item, left)
    if not left.suspects:
        yield "no fault looks as told"
        return
    stated = {f.name: f.value for f in item.proof.figures}
    for name, found in (("suspects", len(left.suspects)), ("parts", len(left.parts))):
        if stated.get(name) != found:
            yield f"the proof counts {stated.get(name)} {name}; there are {found}"
    figures = {o.claim: _figures(left, parse_act(o.claim)) for o in item.options}
    for option in item.options:
        yield from _check_figures(option, figures[option.claim])
        yield from _check_text(left, option, figures[option.claim])
        yield from _check_rationale(left, item, option)
    yield from _check_key(item, figures)


def _figures(left: Left, act: Act) -> dict[str, float]:
    labels = left.sorted_by(act)
    return {
        "bits": left.bits(labels),
        "even bits": left.bits(labels, even=True),
        "minutes": left.minutes(act),
        "largest": left.largest(labels),
    }


def _check_figures(option: Option, found: dict[str, float]) -> Iterator[str]:
    stated = {f.name: f.value for f in option.figures}
    for name, value in found.items():
        near = {"minutes": NEAR_MINUTES, "largest": NEAR_SHARE}.get(name, NEAR_BITS)
        if name not in stated or not abs(stated[name] - value) <= near:
            yield f"option {option.claim}: its {name}: stated {stated.get(name)}, found {value:.4f}"


def _check_key(item: Item, figures: dict[str, dict[str, float]]) -> Iterator[str]:
    key = figures[item.key.claim]
    if key["largest"] > LARGEST + NEAR_SHARE:
        yield f"the key most likely comes out one way, {key['largest']:.0%} of the time"
    for option in item.options:
        if option.is_key:
            continue
        if not option.misconception:
            yield f"option {option.claim}: no misconception stands behind it"
        for name in ("bits", "even bits"):
            best = key[name] / key["minutes"]
            other = figures[option.claim][name] / figures[option.claim]["minutes"]
            if best < (CLEARLY - 0.01) * other:
                yield (
                    f"option {option.claim} tells {other:.2f} {name} a minute; "
                    f"the key only {best:.2f}"
                )


def _check_text(left: Left, option: Option, found: dict[str, float]) -> Iterator[str]:
    act, text = parse_act(option.claim), option.text
    if numbers(text, " min") != [round(found["minutes"], 1)]:
        yield f"option {option.claim}: {text!r} does not give its {found['minutes']:.1f} minutes"
    words = [act.instrument]
    if act.instrument == "voltmeter":
        words.append(point_words(left, left.bench.circuit.point(act.red)))
    elif act.instrument == "ohmmeter":
        words.append(left.taken_out(act).id)
    elif act.instrument == LOOK:
        for name, position in act.moves[len(left.bench.moves) :]:
            control = left.bench.circuit.by_control[name]
            label = control.label if control.by == "condition" and control.label else name
            words += [label, position]
    for word in words:
        if not told_of(word, text):
            yield f"option {option.claim}: {text!r} does not say {word}"


def _check_rationale(left: Left, item: Item, option: Option) -> Iterator[str]:
    """Each figure in it is one of the option's own, or the minutes of the key."""
    text = " ".join(option.rationale)
    own = {f.name: f.value for f in option.figures}
    best = {f.name: f.value for f in item.key.figures}
    allowed = {
        " min": [own.get("minutes", -1.0), best.get("minutes", -1.0)],
        " cases of 100": [100.0 * own.get("largest", -1.0)],
        " parts": [float(len(left.parts))],
        " suspects": [float(len(left.parts))],
    }
    for unit, values in allowed.items():
        for figure in numbers(text, unit):
            if not any(abs(figure - v) <= (0.051 if unit == " min" else 0.7) for v in values):
                yield f"option {option.claim}: {figure:g}{unit} is none of its figures"
    act = parse_act(option.claim)
    volts = numbers(text, " V")
    if volts and act.instrument != "voltmeter":
        yield f"option {option.claim}: volts of a test without a voltmeter"
        return
    spans = left.spans(left.bench.circuit.point(act.red)) if volts else ()
    ends = [end for span in spans for end in span]
    for figure in volts:
        if not any(abs(figure - end) <= HALF_DIGIT for end in ends):
            yield f"option {option.claim}: no suspect gives {figure:g} V there"
