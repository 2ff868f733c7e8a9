"""Decisions about doubtful marks stay, and the last one counts."""

from __future__ import annotations

from quizgen.store.contents import trail
from quizgen.store.database import Store
from quizgen.store.decisions import Decided, decide, decisions


def said(subject: str, verdict: str, who: str = "ml") -> Decided:
    """A decision."""
    return Decided(subject=subject, verdict=verdict, why="pencil", who=who)


def test_the_last_decision_about_a_subject_counts(store: Store) -> None:
    """Earlier ones stay in the trail; the same again is not kept twice; other sets have none."""
    assert decide(store, "T", [said("p1/3", "B"), said("p2/1", "")]) == 2
    assert decide(store, "T", [said("p1/3", "B")]) == 0
    assert decide(store, "T", [said("p1/3", "C")]) == 1
    found = decisions(store, "T")
    assert {s: d.verdict for s, d in found.items()} == {"p1/3": "C", "p2/1": ""}
    assert found["p1/3"].at.endswith("Z")
    assert [(e.what, e.after) for e in trail(store, "T")] == [
        ("decided", "B"), ("decided", ""), ("decided", "C"),
    ]  # fmt: skip
    assert decisions(store, "U") == {}
