"""Sentences about an unwanted contact that readings at a fuse holder locate."""

from __future__ import annotations

from quizgen.circuit.components import Ground
from quizgen.faults import inject
from quizgen.items.fuse_holder import Holder, contacts_in
from quizgen.items.hunt import Draft
from quizgen.items.item import Figure, Option, Refutation
from quizgen.items.sections import Section, section_words
from quizgen.items.sentences import Sentences, capital, listed, state_words, the
from quizgen.items.tell_hunt import Manner, rest_words
from quizgen.solver import solve_cases

LAMP = Manner("lamp", "next", joined="what-is-off-blamed", parted="clearing-forgotten")
OHM = Manner("ohm", "next", joined="what-is-off-blamed", parted="clearing-forgotten")


def manner_of(draft: Draft[Holder]) -> Manner:
    """Lamp or ohmmeter."""
    return LAMP if draft.hunt.acts[0].instrument == "test-lamp" else OHM


def stem(draft: Draft[Holder], sentences: Sentences) -> tuple[str, ...]:
    """The complaint, then what is taken off and where the instrument goes."""
    holder = draft.hunt
    moves = holder.acts[0].positions
    state = state_words(holder.circuit, dict(moves))
    loads = [the(holder.circuit.part(load)) for load in holder.loads]
    relays = [the(holder.circuit.part(relay)) for relay in holder.relays]
    batteries = [p for p in holder.acts[0].unplugged if p not in holder.loads]
    words = {
        "fuse": the(holder.fuse),
        "state": state,
        "amps": f"{holder.fuse.amps:g}",
        "first": _set_up(loads, relays, sentences),
        "battery": f"the {'battery' if len(batteries) == 1 else 'batteries'} {listed(batteries)}",
        "rest": rest_words(holder.circuit, sentences),
    }
    blows = sentences.say("blows" if state else "blows_at_rest", **words)
    return (blows, sentences.say(f"{manner_of(draft).name}_set_up", **words))


def _set_up(loads: list[str], relays: list[str], sentences: Sentences) -> str:
    """What has been taken off before the first reading."""
    words = {"loads": listed(loads), "relays": listed(relays)}
    if loads and relays:
        return sentences.say("off_both", **words)
    return sentences.say("off_loads" if loads else "off_relays" if relays else "off_none", **words)


def by_the_fuse(draft: Draft[Holder], section: Section, sentences: Sentences) -> Option:
    """A wrong option: a contact there would not open this fuse."""
    holder = draft.hunt
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
