"""The course of a hunt: to the minute what somebody who follows it needs, and better than none."""

from __future__ import annotations

import random
from functools import cache

import pytest

from quizgen.drill.hunt.course import Course, plan_course
from quizgen.drill.hunt.debrief import Looking, look_back
from quizgen.drill.hunt.debrief_page import debrief_page
from quizgen.drill.hunt.engine import REPAIR, Act, act, begin
from quizgen.drill.page import Style, lines_of
from tests.drill.hunt.players import at_random, drawn, follow, suspects_of

CASES = (("fuel-gauge", "course"), ("push-button-relay", "course 4"))  # circuit, label


@cache
def planned(name: str, label: str) -> Course:
    case = drawn(label, name, "easy")
    return plan_course(case, suspects_of(case))


@pytest.mark.parametrize(("name", "label"), CASES)
def test_who_follows_the_course_finds_the_fault_in_the_expected_minutes(
    name: str, label: str
) -> None:
    """Whatever is hidden is found; minutes weighted by likelihood are those expected, exactly."""
    course = planned(name, label)
    total = 0.0
    for truth, share in enumerate(course.shares):
        played = follow(course, truth)
        assert played.claims <= course.answers[truth]
        assert abs(played.hunt.standing.minutes - course.minutes[truth]) < 1e-9
        total += share * played.hunt.standing.minutes
    assert abs(total - course.expected_minutes) < 1e-9


@pytest.mark.parametrize(("name", "label"), CASES)
def test_who_tests_at_random_needs_longer(name: str, label: str) -> None:
    """The same tests in any order take clearly more minutes for the same faults."""
    course = planned(name, label)
    rng = random.Random(name)
    truths = rng.choices(range(len(course.shares)), course.shares, k=100)
    used = sum(at_random(course, t, rng) for t in truths)
    assert used > 1.2 * sum(course.minutes[t] for t in truths)


def test_a_right_answer_is_one_that_no_test_of_the_course_tells_from_the_truth() -> None:
    """Of a right answer that is mended elsewhere every test could show what the truth shows."""
    course = planned(*CASES[0])
    for truth, answers in enumerate(course.answers):
        assert truth in answers
        for trial in course.trials:
            cells = trial.leaves[truth]
            assert cells & course.field.mask_of[truth]


# --- the debrief ----------------------------------------------------------------------


def told(name: str, label: str, acts: tuple[Act, ...]) -> tuple[str, tuple[float, float, float]]:
    """The debrief as one text, and the points."""
    course = planned(name, label)
    hunt = begin(course.case)
    for done in acts:
        hunt, _ = act(hunt, done)
    back = look_back(hunt, Looking(course))
    text = " ".join(" ".join(lines_of(debrief_page(back), Style(plain=True))).split())
    return text, back.points


def test_a_guess_is_told_what_it_left_open() -> None:
    """Right without a reading is worth no more than how likely it was."""
    case = planned(*CASES[0]).case
    text, points = told(*CASES[0], (Act(REPAIR, _place(case.fault.part, case.fault.detail)),))
    assert "You measured nothing" in text
    assert "was a guess" in text
    assert "One more test would have told most" in text
    assert 0.0 < points[0] < 50.0


def test_a_wrong_part_leaves_the_complaint_and_earns_only_safety() -> None:
    """The battery is not it: the machine still fails, and the fault is told."""
    text, points = told(*CASES[0], (Act(REPAIR, ("GB1",)),))
    assert "the complaint is still there" in text
    assert "The fault was:" in text
    assert points == (0.0, 0.0, 20.0)


def test_the_course_itself_earns_all_for_the_diagnosis() -> None:
    """Who does what the course says is sure, and is told after which step."""
    course = planned(*CASES[0])
    truth = course.field.number(course.case.fault)
    played = follow(course, truth)
    acts = tuple(t.act for t in played.hunt.taken)
    name = _place(course.case.fault.part, course.case.fault.detail)
    text, points = told(*CASES[0], (*acts, Act(REPAIR, name)))
    assert "everything works again" in text
    assert "there was enough to decide" in text
    assert points[0] == 50.0
    assert points[2] == 20.0


def test_an_unsafe_act_costs_points_and_is_what_to_think_of_next() -> None:
    """A jumper across the battery shows nothing, takes ten points, and is the advice."""
    short = Act("jumper", ("GB1.+", "GB1.-"))
    text, points = told(*CASES[0], (short, Act(REPAIR, ("GB1",))))
    assert points[2] == 10.0
    assert "stopped: 1" in text
    assert "Before each reading ask what the lead joins" in text


def _place(part: str, detail: str) -> tuple[str, ...]:
    return (part, detail.partition("=")[0]) if part.startswith("X") else (part,)
