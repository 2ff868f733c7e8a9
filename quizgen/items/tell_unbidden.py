"""Sentences about an unwanted contact that sets a load to work."""

from __future__ import annotations

from collections.abc import Sequence

from quizgen.faults import Fault, inject
from quizgen.items.hunt import Draft
from quizgen.items.item import Figure, Observed, Option, Refutation
from quizgen.items.material import IDLE, Complain
from quizgen.items.sections import Section, section_words
from quizgen.items.sentences import (
    Sentences,
    capital,
    listed,
    predicate,
    state_words,
    tenths,
    the,
    volts_words,
)
from quizgen.items.tell_hunt import Manner, rest_words
from quizgen.items.unbidden import FULL, LIT, Unbidden, contacts_in
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import observe

KINDS = {"short-to-supply": "contact_supply", "short-to-ground": "contact_frame"}


def manner_of(draft: Draft[Unbidden], sentences: Sentences) -> Manner:
    """The words of a hunt for what sets a load to work."""
    kind = sentences.say(KINDS.get(draft.fault.mode, "contact_wire"))
    words = {"load": the(draft.hunt.load), "kind": kind}
    return Manner(
        "works", "next_works_lamp" if isinstance(draft.hunt.load, LIT) else "next_works",
        joined="cut-off-blamed", parted="wrong-side-of-the-cut", words=words,
    )  # fmt: skip


def observed(draft: Draft[Unbidden], started: Sequence[str]) -> tuple[Observed, ...]:
    """The loads that work unbidden, as records."""
    point = _solved(draft, draft.fault)
    seen = {o.load: o.level for o in observe(point)}
    return tuple(Observed(part=load, level=seen[load]) for load in started)


def stem(
    draft: Draft[Unbidden], seen: Sequence[Observed], complain: Complain, sentences: Sentences
) -> tuple[str, ...]:
    """The complaint, what is seen, then how it is looked into."""
    hunt = draft.hunt
    circuit, moves = hunt.circuit, hunt.acts[0].positions
    state = state_words(circuit, dict(moves))
    level = {o.part: o.level for o in seen}[hunt.load.id]
    name = hunt.load.name or hunt.load.id
    said = complain(hunt.load.id, name, level, hunt.idle, moves)
    words = {
        "works": _works(draft, seen),
        "state": state,
        "rest": rest_words(circuit, sentences),
        "load": the(hunt.load),
    }
    found = sentences.say("works" if state else "works_at_rest", **words)
    found = f"{found} {sentences.say('one_contact')}"
    name = "lamp_out_set_up" if isinstance(hunt.load, LIT) else "unplugged_set_up"
    if hunt.acts[0].instrument == "voltmeter":
        name = "connected_set_up"
    set_up = sentences.say(name, **words)
    return (*((said,) if said else ()), found, set_up)


def _works(draft: Draft[Unbidden], seen: Sequence[Observed]) -> str:
    """`the horn P1 sounds and the lamp E1 is bright`, loads that do alike together."""
    circuit = draft.hunt.circuit
    groups: dict[tuple[str, str], list[str]] = {}
    for o in seen:
        groups.setdefault((circuit.by_id[o.part].kind, o.level), []).append(o.part)
    said = []
    for (_, level), names in groups.items():
        parts = [circuit.part(name) for name in names]
        said.append(f"{listed([the(p) for p in parts])} {predicate(parts, level)}")
    return listed(said)


def _solved(draft: Draft[Unbidden], fault: Fault) -> OperatingPoint:
    moves = draft.hunt.acts[0].positions
    return solve_cases([inject(draft.hunt.circuit, fault)], [(0, moves)]).point(0)


def by_the_load(draft: Draft[Unbidden], section: Section, sentences: Sentences) -> Option:
    """A wrong option: a contact there would leave the load idle."""
    hunt, circuit = draft.hunt, draft.hunt.circuit
    contacts = contacts_in(circuit, section)
    contact = next((f for f in contacts if f.mode == draft.fault.mode), contacts[0])
    point = _solved(draft, contact)
    volts = tenths(abs(point.flows(point.circuit.part(hunt.load.id))[0].volts or 0.0))
    name, other = _outcome(draft, section, contact, point)
    state = state_words(circuit, dict(hunt.acts[0].positions)) or rest_words(circuit, sentences)
    text = section_words(circuit, section)
    words = {
        "section": text,
        "load": the(hunt.load),
        "volts": volts_words(volts),
        "state": state,
        "other": the(circuit.part(other)) if other else "",
        "kind": sentences.say(KINDS[contact.mode]),
    }
    level = next(o.level for o in observe(_solved(draft, draft.fault)) if o.load == hunt.load.id)
    sort = "already-joined" if name in ("wrong_live", "wrong_frame") else "other-branch"
    return Option(
        claim=section.claim,
        text=capital(text),
        is_key=False,
        rationale=(sentences.say(name, **words),),
        misconception=sort,
        refuted_by=Refutation(
            claim=section.claim, reading=-1, low=0.0, high=0.0, part=hunt.load.id,
            found=level, instead=hunt.idle,
        ),
        figures=(Figure(name=f"{contact} {hunt.load.id}", value=volts, unit="V"),),
    )  # fmt: skip


def _outcome(
    draft: Draft[Unbidden], section: Section, contact: Fault, point: OperatingPoint
) -> tuple[str, str]:
    """What a contact comes to: name of the sentence, and the part it tells of."""
    opened = [e.part for e in point.events if e.change == "opens"]
    if opened:
        return "wrong_opens", opened[0]
    circuit = draft.hunt.circuit
    sound = solve_cases([circuit], [(0, draft.hunt.acts[0].positions)]).point(0)
    before = {o.load: o.level for o in observe(sound) if o.load not in circuit.unobserved}
    now = {o.load: o.level for o in observe(point)}
    started = [k for k, old in before.items() if old in IDLE and now[k] in FULL]
    if started:
        return "wrong_other", started[0]
    at = sound.volts(section.ends[0])
    supply = sound.volts(circuit.supply)
    if at is not None and supply is not None:
        if contact.mode == "short-to-supply" and supply - at < 1.0:
            return "wrong_live", ""
        if contact.mode == "short-to-ground" and abs(at) < 0.3 and _grounded(draft, section):
            return "wrong_frame", ""
    return "wrong_nothing", ""


def _grounded(draft: Draft[Unbidden], section: Section) -> bool:
    circuit = draft.hunt.circuit
    kinds = (circuit.by_id[p].kind for n in section.nodes for p, _ in circuit.terminals_at[n])
    return "ground" in kinds
