"""Simulated students: what they answer is an answer, and ability and mistaken ideas tell in it."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from quizgen.demo.learners import Sitting, learners, right_answer
from quizgen.forms.problem_set import Form
from quizgen.grading.answer_text import read_answer
from quizgen.grading.keys import printed_key
from quizgen.grading.score import worth
from quizgen.items.item import Item
from tests.grading.graded import number, one, order, several

WAYS = (one(), several(), order(), number())
FORM = Form(code="A", items=WAYS)


@pytest.fixture(autouse=True)
def _equally_hard(monkeypatch: pytest.MonkeyPatch) -> None:
    """These questions are about no circuit, so nothing predicts how hard they are."""
    monkeypatch.setattr("quizgen.demo.learners.predicted_share", lambda item: 0.7)


def points(item: Item, text: str) -> float:
    """What grading gives for an answer as it is typed."""
    return worth(read_answer(text, item, 1).value, printed_key("A", 1, item))


@pytest.mark.parametrize("item", WAYS, ids=lambda item: item.id)
def test_right_is_right_and_wrong_is_wrong(item: Item) -> None:
    """The key as text gets the point; a mistake is an answer that grading takes, without it."""
    assert points(item, right_answer(item)) == 1.0
    hopeless = Sitting(random.Random(1), -60.0, frozenset())
    for text in filter(None, (hopeless.answer(item) for _ in range(60))):
        # who knows nothing still guesses one question of so many right
        assert points(item, text) < 1.0 or item.response == "one"


def test_who_holds_an_idea_falls_for_it() -> None:
    """The option that shows the idea is taken far more often than the other wrong one."""
    held = Sitting(random.Random(2), -2.0, frozenset({"load-blamed"}))
    found = Counter(held.answer(one()) for _ in range(400))
    assert found["C"] > 3 * found["A"]


def test_who_is_able_is_right() -> None:
    """A share of right answers that rises with ability, from guessing to nearly all."""
    shares = []
    for ability in (-60.0, -1.0, 1.0, 60.0):
        sitting = Sitting(random.Random(3), ability, frozenset())
        shares.append(sum(sitting.answer(one()) == "B" for _ in range(600)) / 600)
    assert shares == sorted(shares)
    assert shares[0] == pytest.approx(1 / 3, abs=0.07)
    assert shares[-1] > 0.95


def test_a_week_is_the_same_whatever_was_asked_before() -> None:
    """Lessons may be held in any order by several processes."""
    ids = [f"S-{n:03}" for n in range(40)]
    here = learners(ids, "seed", level=0.0, spread=1.0, weeks=12)
    there = learners(ids, "seed", level=0.0, spread=1.0, weeks=12)
    forwards = [[p.week(w, FORM) for p in here] for w in range(1, 13)]
    backwards = [[p.week(w, FORM) for p in there] for w in range(12, 0, -1)]
    assert forwards == backwards[::-1]
    assert any(week[0] != forwards[0][0] for week in forwards)
    away = sum(answers is None for week in forwards for answers in week)
    assert 0 < away < 40 * 12 / 3
