"""Which skill is practised next."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from quizgen.drill.choosing import CLIMBED, ranked
from quizgen.drill.schedule import Answered, Skill, cards_of, due

NOW = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
ALL = ("read", "predict", "interpret", "choose", "justify")
CATALOGUE = dict.fromkeys(("feeds", "grounds", "lamps", "relays", "motors"), ALL)


def practise(count: int, right: Sequence[bool] = (True,)) -> list[Answered]:
    """The answers of somebody who always takes the first suggestion, one each 30 seconds."""
    answers: list[Answered] = []
    for n in range(count):
        now = NOW + timedelta(seconds=30 * n)
        skill = first(answers, now)
        answers.append(Answered(skill=skill, at=now, right=right[n % len(right)]))
    return answers


def first(answers: Sequence[Answered], now: datetime, catalogue: object = CATALOGUE) -> Skill:
    """What is suggested after some answers."""
    last = {answer.skill: answer for answer in answers}
    lately = [answer.skill for answer in answers[-2:]]
    return ranked(catalogue, cards_of(answers), last, now, lately)[0]  # type: ignore[arg-type]


def test_a_beginner_starts_by_reading_diagrams_of_the_first_topics() -> None:
    """Three topics are opened at the lowest level, then each is climbed in turn."""
    asked = [answer.skill for answer in practise(9)]
    assert asked[:3] == [Skill(t, "read") for t in ("feeds", "grounds", "lamps")]
    assert asked[3:6] == [Skill(t, "predict") for t in ("feeds", "grounds", "lamps")]
    assert {skill.topic for skill in asked} == {"feeds", "grounds", "lamps"}


def test_a_level_opens_when_the_one_below_was_right() -> None:
    """Who gets the first question wrong is not sent up; the same skill comes back when due."""
    answers = [Answered(skill=Skill("feeds", "read"), at=NOW, right=False)]
    later = NOW + timedelta(minutes=2)
    last = {answers[0].skill: answers[0]}
    order = ranked(CATALOGUE, cards_of(answers), last, later)
    assert order[0] == Skill("feeds", "read")
    assert Skill("feeds", "predict") not in order


def test_the_same_skill_is_not_asked_three_times_running() -> None:
    """A skill that is due again at once waits until another has been asked."""
    asked = [answer.skill for answer in practise(40, right=[False])]
    assert all(a != b for a, b in itertools.pairwise(asked))


def test_what_was_asked_lately_waits_for_others() -> None:
    """Even when it is due again; alone it is asked all the same."""
    answers = [Answered(skill=Skill("feeds", "read"), at=NOW, right=False)]
    later = NOW + timedelta(minutes=5)
    assert first(answers, later) == Skill("grounds", "read")
    assert first(answers, later, {"feeds": ("read",)}) == Skill("feeds", "read")


def test_only_the_topics_picked_are_asked() -> None:
    """With one topic picked, others stay out even when they are due."""
    answers = practise(6)
    later = NOW + timedelta(days=30)
    for _ in range(5):
        skill = first(answers, later, {"motors": ALL})
        assert skill.topic == "motors"
        answers.append(Answered(skill=skill, at=later, right=True))


@given(st.lists(st.booleans(), min_size=1, max_size=8), st.integers(1, 60))
def test_there_is_a_next_question_whatever_was_answered(right: list[bool], count: int) -> None:
    """Never stuck, never more new topics on the way than agreed while one can be climbed."""
    answers = practise(count, right)
    begun = {answer.skill.topic for answer in answers}
    if all(right):
        done = [
            t for t in begun if {a.skill.level for a in answers if a.skill.topic == t} == {*ALL}
        ]
        assert len(begun) - len(done) <= CLIMBED
    now = NOW + timedelta(seconds=30 * count)
    waiting = due(cards_of(answers), now)
    lately = {answer.skill for answer in answers[-2:]}
    if set(waiting) - lately:
        assert first(answers, now) in waiting
