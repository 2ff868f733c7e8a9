"""The stem: what the driver says, then how the machine stands and what a look at it tells.

Everything the proof rests on is said: each load that is not as it should be, those that work,
each relay that is heard or ought to be, and that nothing else is out of order.
"""

from __future__ import annotations

from quizgen.circuit.components import Part
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.clicks import BUZZES, CLICKS, NO_CLICK
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.items.material import IDLE, Complain
from quizgen.items.sentences import Sentences, capital, listed, predicate, state_words, the

SENTENCES = {CLICKS: "clicks", NO_CLICK: "no_click", BUZZES: "buzzes"}


def write_stem(
    dictionary: FaultDictionary, row: int, complain: Complain, sentences: Sentences
) -> tuple[str, ...]:
    """Paragraphs of the stem for the fault in `row` of the dictionary."""
    circuit = dictionary.circuit
    wrong, fine, idle = [], [], 0
    for now, sound in zip(dictionary.seen[row], dictionary.seen[0], strict=True):
        part = circuit.part(now.load)
        if now.level != sound.level:
            wrong.append((part, now.level, sound.level))
        elif now.level in IDLE:
            idle += 1
        else:
            fine.append(the(part))
    part, level, should = wrong[0]
    said = complain(part.id, part.name or part.id, level, should, dictionary.moves)
    state = state_words(circuit, dict(dictionary.moves))
    found = [f"{capital(state)}." if state else sentences.say("all_at_rest")]
    found += _by_level(circuit, [(p, now) for p, now, _ in wrong])
    if fine:
        many = "works_as_it_should_many" if len(fine) > 1 else "works_as_it_should_one"
        found.append(sentences.say(many, loads=listed(fine)))
    found += _relays(dictionary, row, sentences)
    if idle:
        found.append(sentences.say("nothing_else"))
    return (*((said,) if said else ()), " ".join(found))


def _by_level(circuit: Circuit, wrong: list[tuple[Part, str]]) -> list[str]:
    """One sentence for all loads of a kind that do the same."""
    groups: dict[tuple[str, str], list[Part]] = {}
    for part, level in wrong:
        groups.setdefault((part.kind, level), []).append(part)
    return [
        f"{capital(listed([the(p) for p in parts]))} {predicate(parts, level)}."
        for (_, level), parts in groups.items()
    ]


def _relays(dictionary: FaultDictionary, row: int, sentences: Sentences) -> list[str]:
    """Clicks that are heard, and those that are missed."""
    said = []
    for name, heard in zip(dictionary.clickers, dictionary.heard, strict=True):
        relay = the(dictionary.circuit.part(name))
        if heard[row] in SENTENCES and (heard[row] != NO_CLICK or heard[0] == CLICKS):
            said.append(sentences.say(SENTENCES[heard[row]], relay=relay))
    return said
