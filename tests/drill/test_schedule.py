"""When a skill is due again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from fsrs import Rating
from hypothesis import given
from hypothesis import strategies as st

from quizgen.drill.schedule import Answered, Skill, cards_of, due, rating_of, recall, reviewed

LAMPS = Skill("lamps", "read")
START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)


def answered(at: datetime, right: bool = True, hints: int = 0, skill: Skill = LAMPS) -> Answered:
    """An answer at a time."""
    return Answered(skill=skill, at=at, right=right, hints=hints)


def test_intervals_of_the_published_model() -> None:
    """All right and each on the day it is due: 10 min, then 2, 11, 46, 163, 498 days.

    Intervals and stabilities of fsrs 6.3.2 with its default parameters (open-source package on
    PyPI), worked out with the package alone; after a lapse the stability is 6.8904.
    """
    at, card = START, None
    intervals, stabilities = [], []
    for _ in range(6):
        card = reviewed(card, answered(at))
        intervals.append(card.due - at)
        stabilities.append(card.stability)
        at = card.due
    assert intervals == [timedelta(minutes=10)] + [timedelta(days=d) for d in (2, 11, 46, 163, 498)]
    expected = (2.3065, 2.3065, 10.9710, 46.3169, 162.9998, 497.8766)
    assert stabilities == pytest.approx(expected, abs=5e-5)
    assert reviewed(card, answered(at, right=False)).stability == pytest.approx(6.8904, abs=5e-5)


def test_the_chance_of_remembering_is_nine_tenths_after_the_stability() -> None:
    """By the definition of stability in the model: days until recall falls to 90 %."""
    card = cards_of([answered(START), answered(START + timedelta(minutes=10))])[LAMPS]
    assert card.stability is not None
    # the package counts whole days
    low, high = (recall(card, card.last_review + timedelta(days=d)) for d in (3, 2))
    assert low < 0.9 < high


def test_ratings() -> None:
    """Wrong is Again whatever the hints, right is Good, right with a hint is Hard."""
    assert rating_of(answered(START, right=False)) is Rating.Again
    assert rating_of(answered(START, right=False, hints=1)) is Rating.Again
    assert rating_of(answered(START)) is Rating.Good
    assert rating_of(answered(START, hints=1)) is Rating.Hard


def test_the_one_that_has_waited_longest_is_due_first() -> None:
    """After ten minutes both are due, in the order in which they fell due."""
    fuses = Skill("fuses", "read")
    cards = cards_of([answered(START, skill=fuses), answered(START + timedelta(minutes=2))])
    assert due(cards, START + timedelta(minutes=11)) == [fuses]
    assert due(cards, START + timedelta(minutes=12)) == [fuses, LAMPS]


def test_a_clock_that_was_set_back_does_no_harm() -> None:
    """An answer dated before the one it follows counts as given at the same time."""
    cards = cards_of([answered(START), answered(START - timedelta(days=400))])
    assert cards[LAMPS].last_review == START


@given(st.lists(st.tuples(st.booleans(), st.integers(0, 2), st.integers(1, 10**7)), max_size=30))
def test_the_same_answers_give_the_same_dates(answers: list[tuple[bool, int, int]]) -> None:
    """Worked out at once or one by one, today or tomorrow; and no due date lies in the past."""
    at, given_answers, card = START, [], None
    for right, hints, seconds in answers:
        at += timedelta(seconds=seconds)
        given_answers.append(answered(at, right, hints))
        card = reviewed(card, given_answers[-1])
        assert card.due > at
    assert cards_of(given_answers).get(LAMPS) == card
