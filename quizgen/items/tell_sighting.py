"""Paragraphs of a stem: what is seen and heard in each state of the controls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.agreement import Words
from quizgen.items.item import Moves
from quizgen.items.material import IDLE
from quizgen.items.sentences import Sentences, capital, listed, predicate, state_words, the

Told = tuple[Moves, Mapping[str, str], Mapping[str, Words]]
"""A state, what is told of it by part, and what a sound machine does."""


def tell(circuit: Circuit, told: Sequence[Told], sentences: Sentences) -> tuple[str, ...]:
    """A paragraph for each state, the one of the complaint first."""
    return tuple(_paragraph(circuit, *one, sentences) for one in told)


def _paragraph(
    circuit: Circuit,
    moves: Moves,
    words: Mapping[str, str],
    sound: Mapping[str, Words],
    sentences: Sentences,
) -> str:
    state = capital(state_words(circuit, dict(moves))) or sentences.say("all_at_rest")
    loads = {p: w for p, w in words.items() if isinstance(circuit.part(p), c.LOADS)}
    wrong = {p: w for p, w in loads.items() if sound[p] != {w}}
    works = {p: w for p, w in loads.items() if p not in wrong and w not in IDLE}
    heard = {p: w for p, w in words.items() if p not in loads}
    clauses = _clauses(circuit, wrong) + _clauses(circuit, works) + _clauses(circuit, heard)
    if not clauses:
        return f"{state}: {sentences.say('all_idle')}."
    if len(wrong) + len(works) < len(loads):
        clauses.append(sentences.say("rest_idle"))
    return f"{state}: {'; '.join(clauses)}."


def _clauses(circuit: Circuit, words: Mapping[str, str]) -> list[str]:
    """One clause for all parts of a kind that do the same."""
    groups: dict[tuple[str, str], list[c.Part]] = {}
    for part_id, word in words.items():
        part = circuit.part(part_id)
        groups.setdefault((part.kind, word), []).append(part)
    return [
        f"{listed([the(p) for p in parts])} {predicate(parts, word)}"
        for (_, word), parts in groups.items()
    ]
