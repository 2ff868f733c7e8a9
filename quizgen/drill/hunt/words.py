"""The sentences of the hunt, from `templates/wording/hunt.yaml`, and the names in them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from quizgen.circuit.netlist import Circuit
from quizgen.drill.hunt import engine as e
from quizgen.drill.hunt.engine import Act, Taken
from quizgen.drill.hunt.field import Field
from quizgen.drill.hunt.standing import Standing
from quizgen.drill.hunt.typed import SHORT
from quizgen.drill.words import listing
from quizgen.faults import describe
from quizgen.faults.wording import part_name
from quizgen.items.sentences import capital, wording

FILE = "hunt"


def say(key: str, /, **words: object) -> str:
    """The sentence called `key`, with `words` filled in, also with a capital."""
    filled = {k.capitalize(): capital(str(v)) for k, v in words.items()} | words
    return str(wording(FILE)[key]).format_map(filled)


def entry(key: str) -> Any:
    """A list or table of the wording as it is."""
    return wording(FILE)[key]


def minutes(value: float) -> str:
    """Minutes to one decimal.

    >>> minutes(2.0), minutes(0.25)
    ('2.0', '0.2')
    """
    return f"{value:.1f}"


def point_words(circuit: Circuit, text: str) -> str:
    """A point as it is typed, the reference by its name."""
    return "frame" if text == circuit.reference == "chassis" else text


def act_words(circuit: Circuit, done: Act, standing: Standing) -> str:
    """An act in a few words, with how the controls stand where that matters."""
    if done.do == e.MEASURE:
        points = [point_words(circuit, p) for p in done.args[1:] if p]
        tool = SHORT.get(done.args[0], done.args[0])
        return f"{tool} {' to '.join(points)}"
    if done.do == e.TURN:
        return f"turn {turned_words(done.args)}"
    if done.do == e.WATCH:
        stands = dict(standing.moves)
        told = [
            f"{c.name} {stands[c.name]}"
            for c in circuit.controls
            if stands.get(c.name, c.rest) != c.rest
        ]
        return f"watch, {', '.join(told) or 'all at rest'}"
    if done.do == e.JUMP and len(done.args) == 2:
        return f"jumper {' to '.join(point_words(circuit, p) for p in done.args)}"
    return " ".join((done.do, *done.args))


def place_words(circuit: Circuit, part: str, cavity: str) -> str:
    """Where something is mended: a part, and of a connector the cavity."""
    name = part_name(circuit.part(part))
    return f"{name} cavity {cavity}" if cavity else name


def turned_words(pairs: tuple[str, ...]) -> str:
    """`S1 on, S2 pressed`."""
    return ", ".join(f"{a} {b}" for a, b in zip(pairs[::2], pairs[1::2], strict=True))


def shown_words(taken: Taken) -> str:
    """What an act showed, in a few words."""
    outcome = taken.outcome
    if outcome.refused:
        return str(entry("stopped_mark"))
    if outcome.reading is not None:
        return outcome.reading.shown.replace("-", "−")
    seen = [f"{o.load} {o.level}" for o in outcome.seen]
    heard = entry("clicks")
    return ", ".join([*seen, *(f"{relay} {heard[said]}" for relay, said in outcome.heard if said)])


def claim_words(field: Field, number: int) -> str:
    """A claim as a clause, how bad it is left open."""
    return describe(field.sound, field.claimed[number].usual, severity=False)


def short_claims(field: Field, numbers: Iterable[int], most: int = 8) -> str:
    """Claims in short: part, cavity, way of failing; of many the first and how many more."""
    claims = (field.claimed[n].suspect.cause.claims[0] for n in numbers)
    names = [f"{c.part} {c.mode.replace('-', ' ')} {c.place}".rstrip() for c in claims]
    return listing(names, most)


def long_claims(field: Field, numbers: Iterable[int], most: int = 4) -> str:
    """Claims as clauses; of many the first and how many more."""
    names = [claim_words(field, n) for n in numbers]
    more = f"; and {len(names) - most} more" if len(names) > most else ""
    return "; ".join(names[:most]) + more
