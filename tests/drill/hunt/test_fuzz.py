"""Hunts in which anything is done: no contradiction, and readings as the command shows them.

A few for every run of the tests; `tests/bench/bench_hunt.py` does a thousand on all circuits.
"""

from __future__ import annotations

import random

import pytest

from quizgen.base.errors import QuizgenError
from quizgen.drill.hunt import engine as e
from quizgen.drill.hunt.engine import act, begin, replay
from quizgen.drill.hunt.field import field_of
from tests.drill.hunt.players import anything, as_commanded, drawn

ACTS = 10
FAMILIES = ("push-button-relay", "fuel-gauge", "intake-heater", "two-source-lamp")


@pytest.mark.parametrize("number", range(4))
def test_whatever_is_done_the_hunt_goes_on(number: int) -> None:
    """Acts are done or refused in one line, minutes never run back, and a replay is the same."""
    rng = random.Random(number)
    case = drawn(f"fuzz {number}", FAMILIES[number % len(FAMILIES)])
    hunt = begin(case)
    for _ in range(ACTS):
        before = hunt
        try:
            hunt, outcome = act(hunt, anything(hunt, rng))
        except QuizgenError as problem:
            refused = str(problem)
        else:
            refused = ""
        assert "\n" not in refused
        if refused:
            assert hunt is before
            continue
        assert outcome.minutes >= 0.0
        assert hunt.standing.minutes >= before.standing.minutes
        assert not outcome.refused or hunt.standing.unsafe == before.standing.unsafe + 1
    assert replay(case, tuple(t.act for t in hunt.taken)) == hunt


@pytest.mark.parametrize("number", range(2))
def test_readings_are_those_of_the_command_and_never_rule_out_the_truth(number: int) -> None:
    """Each equals `quizgen circuit measure`; the fault agrees with all that was found."""
    rng = random.Random(1000 + number)
    case = drawn(f"truth {number}", FAMILIES[number % len(FAMILIES)])
    hunt, field = begin(case), field_of(case)
    truth, left, opened = field.number(case.fault), field.everything, field.opened
    for _ in range(ACTS):
        try:
            hunt, outcome = act(hunt, anything(hunt, rng))
        except QuizgenError:
            continue
        taken = hunt.taken[-1]
        left, opened, _ = field.after(taken, opened, left)
        assert truth in field.claims_in(left), taken
        if taken.act.do == e.MEASURE:
            shown = as_commanded(hunt, taken)
            assert shown in (None, outcome.reading.shown if outcome.reading else "")
