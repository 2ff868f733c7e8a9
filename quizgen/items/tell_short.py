"""Sentences about an unwanted contact that readings at a fuse holder locate."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import isinf

from quizgen.circuit.components import Ground
from quizgen.circuit.netlist import Circuit
from quizgen.faults import inject
from quizgen.faults.wording import point_name
from quizgen.instruments import Shown
from quizgen.items.fuse_holder import LAMP_VOLTS, Holder, contacts_in
from quizgen.items.item import Figure, Option, Reading, Refutation
from quizgen.items.sections import Section, section_words
from quizgen.items.sentences import Sentences, capital, listed, state_words, tenths, the
from quizgen.solver import solve_cases

BY_THE_FUSE = -1  # instead of the number of a reading


@dataclass(frozen=True)
class Draft:
    """The decisions behind an item, before any sentence is written."""

    holder: Holder
    hidden: int
    key: Section
    acts: tuple[int, ...]
    wrong: tuple[tuple[Section, int], ...]  # section, number of the reading that rules it out


def stem(draft: Draft, sentences: Sentences) -> tuple[str, ...]:
    holder = draft.holder
    moves = holder.acts[0].positions
    state = state_words(holder.circuit, dict(moves))
    lamp = holder.acts[0].instrument == "test-lamp"
    loads = [the(holder.circuit.part(load)) for load in holder.loads]
    relays = [the(holder.circuit.part(relay)) for relay in holder.relays]
    batteries = [p for p in holder.acts[0].unplugged if p not in holder.loads]
    words = {
        "fuse": the(holder.fuse),
        "state": state,
        "amps": f"{holder.fuse.amps:g}",
        "first": _set_up(loads, relays, sentences),
        "battery": listed(batteries),
    }
    blows = sentences.say("blows" if state else "blows_at_rest", **words)
    return (blows, sentences.say("lamp_set_up" if lamp else "ohm_set_up", **words))


def _set_up(loads: list[str], relays: list[str], sentences: Sentences) -> str:
    """What has been taken off before the first reading."""
    words = {"loads": listed(loads), "relays": listed(relays)}
    if loads and relays:
        return sentences.say("off_both", **words)
    return sentences.say("off_loads" if loads else "off_relays" if relays else "off_none", **words)


def reading(draft: Draft, act: int, sentences: Sentences) -> Reading:
    holder = draft.holder
    measurement, shown = holder.acts[act], holder.shown[act][draft.hidden]
    circuit = holder.circuit
    lamp = measurement.instrument == "test-lamp"
    state = state_words(circuit, dict(measurement.positions)) or sentences.say("at_rest")
    taken = [f"{circuit.part(p).kind} {p} apart" for p in measurement.apart]
    out = [p for p in measurement.removed if p != holder.fuse.id and p not in holder.relays]
    taken += [f"relay {p} out" for p in out]
    return Reading(
        instrument=measurement.instrument,
        red_node=measurement.red,
        black_node=measurement.black,
        red=point_name(circuit, measurement.red, names=False),
        black=point_name(circuit, measurement.black, names=False)
        if lamp
        else sentences.say("black"),
        state=capital(", ".join([state, *taken])),
        shown=shown.shown,
        volts=_figure(shown),
        moves=measurement.positions,
        apart=measurement.apart,
        removed=measurement.removed,
        unplugged=measurement.unplugged,
    )


def _figure(shown: Shown) -> float:
    """As a record holds it: share of the lamp, or ohm as rounded on the display, −1 for OL."""
    if shown.shown == "OL" or shown.raw is None or isinf(shown.raw):
        return -1.0
    if shown.instrument == "test-lamp":
        return round(shown.raw, 3) + 0.0
    return round(round(shown.raw / shown.resolution) * shown.resolution, 3) + 0.0


def _volts(circuit: Circuit, shown: Shown) -> float:
    """Volts across the lamp, or ohm."""
    if shown.instrument != "test-lamp":
        return _figure(shown)
    return tenths((shown.raw or 0.0) * LAMP_VOLTS[circuit.system_volts > 18.0])


def _figures(draft: Draft, faults: Sequence[int], number: int) -> tuple[Figure, ...]:
    holder = draft.holder
    act = draft.acts[number]
    unit = "V" if holder.acts[act].instrument == "test-lamp" else "ohm"
    return tuple(
        Figure(
            name=f"{holder.faults[f]} {number + 1}",
            value=_volts(holder.circuit, holder.shown[act][f]),
            unit=unit,
        )
        for f in faults
    )


def _told(draft: Draft, fault: int, number: int) -> str:
    """`12.1 V`, or what the ohmmeter displays."""
    act = draft.acts[number]
    shown = draft.holder.shown[act][fault]
    if shown.instrument != "test-lamp":
        return shown.shown
    return f"{_volts(draft.holder.circuit, shown):.1f} V"


def _lit(shown: Shown) -> bool:
    """The contact is still joined to the fuse."""
    if shown.instrument == "test-lamp":
        return shown.shown == "lit bright"
    return shown.raw is not None and shown.raw < 2.0


def _rows(numbers: Sequence[int], sentences: Sentences) -> str:
    words = [str(n + 1) for n in numbers]
    return f"{sentences.say('row' if len(words) == 1 else 'rows')} {listed(words)}"


def key_option(draft: Draft, sentences: Sentences) -> Option:
    holder = draft.holder
    shown = [holder.shown[a][draft.hidden] for a in draft.acts]
    joined = [n for n, s in enumerate(shown) if _lit(s)]
    parted = [n for n, s in enumerate(shown) if not _lit(s)]
    text = section_words(holder.circuit, draft.key)
    words = {
        "section": text,
        "joined": _rows(joined, sentences),
        "volts": _told(draft, draft.hidden, joined[0]) if joined else "",
        "parted": _rows(parted, sentences),
        "dark": _told(draft, draft.hidden, parted[0]) if parted else "",
    }
    both = "both" if joined and parted else "joined" if joined else "parted"
    kind = "lamp" if holder.acts[0].instrument == "test-lamp" else "ohm"
    numbers = [*joined[:1], *parted[:1]]
    return Option(
        claim=draft.key.claim,
        text=capital(text),
        is_key=True,
        rationale=(sentences.say(f"key_{kind}_{both}", **words), sentences.say("next", **words)),
        figures=tuple(f for n in numbers for f in _figures(draft, [draft.hidden], n)),
    )


def wrong_options(
    draft: Draft, readings: Sequence[Reading], sentences: Sentences, rng: random.Random
) -> Iterator[Option]:
    why = Sentences("misconceptions", rng, "sentences")
    for section, number in draft.wrong:
        by_fuse = number == BY_THE_FUSE
        made = (
            _by_fuse(draft, section, sentences)
            if by_fuse
            else _by_reading(draft, section, number, readings, sentences)
        )
        yield replace(made, rationale=(*made.rationale, *why.once(made.misconception)))


def _by_reading(
    draft: Draft,
    section: Section,
    number: int,
    readings: Sequence[Reading],
    sentences: Sentences,
) -> Option:
    holder, act = draft.holder, draft.acts[number]
    mine = [f for f in range(len(holder.faults)) if section in holder.where(f)]
    values = [_figure(holder.shown[act][f]) for f in mine]
    lit = _lit(holder.shown[act][draft.hidden])
    kind = "lamp" if holder.acts[act].instrument == "test-lamp" else "ohm"
    text = section_words(holder.circuit, section)
    words = {
        "section": text,
        "row": _rows([number], sentences),
        "state": readings[number].state[:1].lower() + readings[number].state[1:],
        "shows": _told(draft, draft.hidden, number),
        "would": _told(draft, mine[0], number),
    }
    return Option(
        claim=section.claim,
        text=capital(text),
        is_key=False,
        rationale=(sentences.say(f"wrong_{kind}_{'joined' if lit else 'parted'}", **words),),
        misconception="what-is-off-blamed" if lit else "clearing-forgotten",
        refuted_by=Refutation(
            claim=section.claim,
            reading=number,
            low=min(values),
            high=max(values),
            found=readings[number].shown,
            instead=holder.shown[act][mine[0]].shown,
        ),
        figures=_figures(draft, [draft.hidden, mine[0]], number),
    )


def _by_fuse(draft: Draft, section: Section, sentences: Sentences) -> Option:
    """A contact there would not open this fuse."""
    holder = draft.holder
    circuit = holder.circuit
    contact = contacts_in(circuit, section)[0]
    moves = holder.acts[0].positions
    point = solve_cases([inject(holder.circuit, contact)], [(0, moves)]).point(0)
    opened = [e.part for e in point.events if e.change == "opens"]
    amps = round(abs(point.flows(point.circuit.part(holder.fuse.id))[0].amps), 1) + 0.0
    text = section_words(holder.circuit, section)
    words = {
        "section": text,
        "fuse": the(holder.fuse),
        "rating": f"{holder.fuse.amps:g} A",
        "amps": f"{amps:.1f} A",
        "other": the(holder.circuit.part(opened[0])) if opened else "",
    }
    grounded = any(
        isinstance(circuit.by_id[p], Ground)
        for n in section.ends
        for p, _ in circuit.terminals_at[n]
    )
    name = "wrong_ground" if grounded else "wrong_fuse" if opened else "wrong_no_fuse"
    return Option(
        claim=section.claim,
        text=capital(text),
        is_key=False,
        rationale=(sentences.say(name, **words),),
        misconception="ground-side-shorted" if grounded else "wrong-branch",
        refuted_by=Refutation(
            claim=section.claim, reading=-1, low=0.0, high=0.0, part=holder.fuse.id,
            found="blows", instead="holds",
        ),
        figures=(Figure(name=f"{contact} {holder.fuse.id}", value=amps, unit="A"),),
    )  # fmt: skip
