"""Sentences about an unwanted contact that several readings locate, whatever the complaint."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from quizgen.circuit.netlist import Circuit
from quizgen.faults.wording import part_name, point_name
from quizgen.instruments import Measurement, Shown
from quizgen.items.act_words import display
from quizgen.items.hunt import BY_THE_COMPLAINT, Draft, H
from quizgen.items.item import Figure, Option, Reading, Refutation
from quizgen.items.outcome import figure_of
from quizgen.items.sections import Section, section_words
from quizgen.items.sentences import (
    Sentences,
    capital,
    listed,
    state_words,
    tenths,
    volts_words,
)

LAMP_VOLTS = (13.5, 28.0)  # rated, of the test lamp for 12 V and 24 V machines
FEW_OHM = 2.0
OFF = frozenset(("off", "released", "free", "rest"))  # positions of what a hand moves

ByComplaint = Callable[[Draft[H], Section, Sentences], Option]


@dataclass(frozen=True)
class Manner:
    """How one sort of hunt is told: the middle of its sentences' names, words of its own.

    `joined` and `parted` are why one falls for a section that a lit or a dark reading rules out;
    `following` is the name of the sentences about the next move.
    """

    name: str
    following: str
    joined: str
    parted: str
    words: Mapping[str, str] = field(default_factory=dict)


def reading_of(draft: Draft[H], act: int, sentences: Sentences) -> Reading:
    """A row of the table."""
    hunt = draft.hunt
    measurement, shown = hunt.acts[act], hunt.shown[act][draft.hidden]
    circuit = hunt.circuit
    state = state_words(circuit, dict(measurement.positions)) or rest_words(circuit, sentences)
    black = sentences.say("black")
    if measurement.black != circuit.reference:
        black = point_name(circuit, measurement.black, names=False)
    return Reading(
        instrument=measurement.instrument,
        red_node=measurement.red,
        black_node=measurement.black,
        red=point_name(circuit, measurement.red, names=False),
        black=black,
        state=capital(", ".join([state, *_taken(circuit, measurement, hunt.acts[0], sentences)])),
        shown=display(shown),
        volts=figure_of(shown),
        moves=measurement.positions,
        apart=measurement.apart,
        removed=measurement.removed,
        unplugged=measurement.unplugged,
    )


def rest_words(circuit: Circuit, sentences: Sentences) -> str:
    """How a machine stands of which no control is moved; not all are off at rest."""
    off = all(control.by != "hand" or control.rest in OFF for control in circuit.controls)
    return sentences.say("at_rest" if off else "at_rest_drawn")


def _taken(
    circuit: Circuit, act: Measurement, first: Measurement, sentences: Sentences
) -> Iterator[str]:
    """What is off in this act and was not in the first."""
    for name, before, now in (
        ("row_apart", first.apart, act.apart),
        ("row_out", first.removed, act.removed),
        ("row_unplugged", first.unplugged, act.unplugged),
    ):
        for part in now:
            if part not in before:
                bare = replace(circuit.part(part), name="")
                yield sentences.say(name, part=part_name(bare))


def _value(circuit: Circuit, shown: Shown) -> float:
    """Volts across the lamp or the meter, or ohm."""
    if shown.instrument != "test-lamp":
        return figure_of(shown)
    return tenths((shown.raw or 0.0) * LAMP_VOLTS[circuit.system_volts > 18.0])


def _figures(draft: Draft[H], faults: Sequence[int], number: int) -> tuple[Figure, ...]:
    hunt = draft.hunt
    act = draft.acts[number]
    return tuple(
        Figure(
            name=f"{hunt.faults[f]} {number + 1}",
            value=_value(hunt.circuit, hunt.shown[act][f]),
            unit="ohm" if hunt.acts[act].instrument == "ohmmeter" else "V",
        )
        for f in dict.fromkeys(faults)
    )


def _told(draft: Draft[H], fault: int, number: int) -> str:
    """`12.1 V`, or what the ohmmeter displays."""
    shown = draft.hunt.shown[draft.acts[number]][fault]
    if shown.instrument == "ohmmeter":
        return shown.shown
    return volts_words(_value(draft.hunt.circuit, shown))


def lit(shown: Shown) -> bool:
    """The contact is still joined to where the reading is taken."""
    if shown.instrument == "test-lamp":
        return shown.shown == "lit bright"
    if shown.instrument == "voltmeter":
        return abs(shown.raw or 0.0) > 1.0
    return shown.raw is not None and shown.raw < FEW_OHM


def _rows(numbers: Sequence[int], sentences: Sentences) -> str:
    words = [str(n + 1) for n in numbers]
    return f"{sentences.say('row' if len(words) == 1 else 'rows')} {listed(words)}"


# --- options --------------------------------------------------------------------------


def options_of(
    draft: Draft[H], readings: Sequence[Reading], manner: Manner, by_complaint: ByComplaint[H],
    sentences: Sentences, rng: random.Random,
) -> tuple[Option, ...]:  # fmt: skip
    """The key and the wrong options, shuffled; each wrong idea is told once."""
    why = Sentences("misconceptions", rng, "sentences")
    options = [_key(draft, manner, sentences)]
    for section, number in draft.wrong:
        if number == BY_THE_COMPLAINT:
            made = by_complaint(draft, section, sentences)
        else:
            made = _by_reading(draft, section, number, readings, manner, sentences)
        options.append(replace(made, rationale=(*made.rationale, *why.once(made.misconception))))
    rng.shuffle(options)
    return tuple(options)


def _key(draft: Draft[H], manner: Manner, sentences: Sentences) -> Option:
    hunt = draft.hunt
    shown = [hunt.shown[a][draft.hidden] for a in draft.acts]
    joined = [n for n, s in enumerate(shown) if lit(s)]
    parted = [n for n, s in enumerate(shown) if not lit(s)]
    text = section_words(hunt.circuit, draft.key)
    words = {
        "section": text,
        "joined": _rows(joined, sentences),
        "volts": _told(draft, draft.hidden, joined[0]) if joined else "",
        "parted": _rows(parted, sentences),
        "dark": _told(draft, draft.hidden, parted[0]) if parted else "",
        **manner.words,
    }
    both = "both" if joined and parted else "joined" if joined else "parted"
    if both == "both" and joined == [0] and hunt.complaint_comes_first:
        both = "cut"
    said = sentences.say(f"key_{manner.name}_{both}", **words)
    return Option(
        claim=draft.key.claim,
        text=capital(text),
        is_key=True,
        rationale=(said, sentences.say(manner.following, **words)),
        figures=tuple(
            f for n in (*joined[:1], *parted[:1]) for f in _figures(draft, [draft.hidden], n)
        ),
    )


def _by_reading(
    draft: Draft[H], section: Section, number: int, readings: Sequence[Reading], manner: Manner,
    sentences: Sentences,
) -> Option:  # fmt: skip
    hunt, act = draft.hunt, draft.acts[number]
    mine = hunt.inside(section)
    values = [figure_of(hunt.shown[act][f]) for f in mine]
    joined = lit(hunt.shown[act][draft.hidden])
    text = section_words(hunt.circuit, section)
    state = readings[number].state
    words = {
        "section": text,
        "row": _rows([number], sentences),
        "state": state[:1].lower() + state[1:],
        "shows": _told(draft, draft.hidden, number),
        "would": _told(draft, mine[0], number),
        **manner.words,
    }
    said = sentences.say(f"wrong_{manner.name}_{'joined' if joined else 'parted'}", **words)
    return Option(
        claim=section.claim,
        text=capital(text),
        is_key=False,
        rationale=(said,),
        misconception=manner.joined if joined else manner.parted,
        refuted_by=Refutation(
            claim=section.claim,
            reading=number,
            low=min(values),
            high=max(values),
            found=readings[number].shown,
            instead=display(hunt.shown[act][mine[0]]),
        ),
        figures=_figures(draft, [draft.hidden, mine[0]], number),
    )
