"""Why a fault explains what was seen and heard, and why another does not, with volts."""

from __future__ import annotations

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim
from quizgen.diagnosis.clicks import BUZZES, CLICKERS, CLICKS
from quizgen.faults.wording import point_name
from quizgen.items.item import Figure, Moves, Refutation
from quizgen.items.material import IDLE
from quizgen.items.places import WINDINGS, ends, nature
from quizgen.items.rationale import CONTACTORS, claim_text
from quizgen.items.sentences import (
    Sentences,
    listed,
    load_words,
    predicate,
    state_words,
    tenths,
    the,
    volts_words,
)
from quizgen.items.sightings import Place, Sighting, volts_across

NOTHING_WRONG = "sound"


def figures_of(one: Sighting, other: Sighting, place: Place) -> tuple[Figure, Figure]:
    """Volts at `place` with one fault and with the other."""
    found = [
        Figure(
            name=f"{place.part} {look.fault or NOTHING_WRONG}",
            value=tenths(volts_across(look.ways[0][place.state], place.part)),
            unit="V",
        )
        for look in (one, other)
    ]
    return found[0], found[1]


def explain_key(
    circuit: Circuit,
    claim: Claim,
    own: Place,
    look: Sighting,
    figures: tuple[Figure, Figure],
    when: str,
    sentences: Sentences,
) -> tuple[str, ...]:
    """What the fault does to the load complained of, and where to put the meter next."""
    part = circuit.part(own.part)
    volts, sound = (figure.value for figure in figures)
    words = {
        "claim": _clause(circuit, claim, look),
        "load": the(part),
        "does": load_words(part, look.word(own)),
        "verb": predicate([part], look.word(own)),
        "when": when,
        "volts": volts_words(volts),
        "sound": volts_words(sound),
    }
    same = abs(volts - sound) <= 0.1 * max(sound, volts)
    name = "key_same_volts" if same else "key_less" if volts < sound else "key_more"
    return (sentences.say(name, **words), _next(circuit, claim, sentences))


def explain_wrong(
    circuit: Circuit,
    claim: Claim,
    rival: Sighting,
    refutation: Refutation,
    figures: tuple[Figure, Figure],
    sound: str,
    when: str,
    sentences: Sentences,
) -> str:
    """What would be seen or heard with that fault, and what was."""
    part = circuit.part(refutation.part)
    would, found = (figure.value for figure in figures)
    words = {
        "claim": _clause(circuit, claim, rival),
        "load": the(part),
        "would": load_words(part, refutation.instead),
        "verb": predicate([part], refutation.instead),
        "does": predicate([part], refutation.found),
        "when": when,
        "volts": volts_words(would),
        "has": volts_words(found),
    }
    if isinstance(part, CLICKERS):
        heard = refutation.found
        name = {CLICKS: "wrong_clicks", BUZZES: "wrong_buzzes"}.get(heard, "wrong_silent")
    elif refutation.found == sound and refutation.found not in IDLE and would < found:
        name = "wrong_works"
    else:
        name = "wrong_less" if would < found else "wrong_more"
    telling = abs(would - found) > 0.1 * max(would, found) and claim.part != part.id
    return sentences.say(name if telling else f"{name}_plain", **words)


def _clause(circuit: Circuit, claim: Claim, look: Sighting) -> str:
    """What is wrong, and which protector that has opened for good: a short by itself does not
    explain what another state of the controls shows.
    """
    now = look.ways[0][0].circuit
    opened = [p for p in circuit.parts if _is_open(now.by_id[p.id]) and not _is_open(p)]
    text = claim_text(circuit, claim)
    if not opened or claim.mode in ("blown", "missing", "stuck-open"):
        return text
    it = [p.id for p in opened] == [claim.part]
    which = "it" if it else listed([the(p) for p in opened])
    if any(isinstance(p, c.Breaker) for p in opened):
        return f"{text}, which opens {which} until a hand resets it"
    return f"{text}, which blows {which}"


def _is_open(part: c.Part) -> bool:
    protects = isinstance(part, c.Fuse | c.FusibleLink | c.Breaker)
    return protects and getattr(part, "condition", "good") in ("blown", "open")


def with_state(circuit: Circuit, moves: Moves) -> str:
    """`with ignition switch S1 on`, or `with everything switched off`."""
    state = state_words(circuit, dict(moves))
    return f"with {state}" if state else "with everything at rest"


def misconception(circuit: Circuit, claim: Claim, refutation: Refutation, sound: str) -> str:
    """The way of thinking that lets a fault stand which an observation rules out."""
    if isinstance(circuit.part(refutation.part), CLICKERS):
        return "click-not-used"
    if refutation.found == sound and sound not in IDLE:
        return "shared-feed-forgotten"
    if isinstance(circuit.part(claim.part), c.LOADS):
        return "load-blamed"
    return "explains-half"


def _next(circuit: Circuit, claim: Claim, sentences: Sentences) -> str:
    part = circuit.part(claim.part)
    a, b = (point_name(circuit, node, names=False) for node in ends(circuit, claim))
    words = {"part": the(part), "a": a, "b": b}
    if isinstance(part, c.Wire) and nature(claim) in ("short", "other"):
        return sentences.say("next_isolate", **words)
    if isinstance(part, c.Battery):
        return sentences.say("next_battery", **words)
    if isinstance(part, c.Fuse | c.FusibleLink):
        return sentences.say("next_fuse" if claim.mode == "blown" else "next_fuse_look", **words)
    contactor = isinstance(part, CONTACTORS) and claim.mode not in WINDINGS
    if isinstance(part, c.Wire | c.Connector | c.Ground) or contactor:
        return sentences.say("next_across", **words)
    if isinstance(part, c.Switch | c.Breaker):
        return sentences.say("next_contact", **words)
    return sentences.say("next_ohm", **words)
