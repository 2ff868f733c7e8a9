"""The desk: questions ready before they are wanted, nothing asked twice, nothing lost."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from quizgen.base.errors import OutsideError, UnprovableError
from quizgen.cli.drill_desk import Desk
from quizgen.cli.drill_messages import Wanted
from quizgen.drill.marking import Verdict
from quizgen.drill.question import Question
from quizgen.drill.record import open_record
from quizgen.drill.schedule import Skill
from tests.drill.making import QuickMaking, made

NOW = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)


class Clock:
    """Half a minute passes between two looks at it."""

    def __init__(self) -> None:
        self.at = NOW

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=30)
        return self.at


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Callable[..., Desk]]:
    """desk(): another sitting of the same student."""
    records = []

    def sit(making: QuickMaking | None = None) -> Desk:
        records.append(open_record(tmp_path))
        return Desk(records[-1], making or QuickMaking(), now=Clock())

    yield sit
    for record in records:
        record.close()


def answer(desk: Desk, right: bool = True) -> Question:
    """Take the next question and answer it."""
    question = desk.next_question()
    desk.make_ahead()
    assert desk.keep(question, "B", Verdict(right=right), 3.0)
    return question


def test_every_question_is_a_new_one(desk: Callable[..., Desk]) -> None:
    """Over two sittings numbers only rise, and neighbours are of different skills."""
    numbers, skills = [], []
    for sitting in (desk(), desk()):
        for _ in range(12):
            question = answer(sitting)
            numbers.append(question.shown.number)
            skills.append(Skill(question.topic, question.level))
    assert len(set(numbers)) == 24
    assert all(a != b for a, b in itertools.pairwise(skills))


def test_the_next_question_is_made_while_the_first_is_answered(desk: Callable[..., Desk]) -> None:
    """When the answer is in, the next one is ready and nobody has to ask for it."""
    making = QuickMaking()
    here = desk(making)
    here.next_question()
    here.make_ahead()
    here.look_in()
    assert here.record.ready()
    asked = len(making.seen)
    here.record.skip(here.current()[0].shown.number, NOW)  # type: ignore[index]
    here.next_question()
    assert len(making.seen) == asked


def test_on_one_circuit_what_waits_about_others_waits_on(desk: Callable[..., Desk]) -> None:
    """Only questions about it are put; the topics of all circuits are not forgotten for it."""
    here = desk()
    answer(here)
    here.look_in()
    waiting = set(here.record.ready().values())
    note = here.record.note("catalogue")
    assert waiting
    assert note

    def about_mine(wanted: Wanted) -> Question:
        return dataclasses.replace(made(wanted), circuit="mine")

    there = Desk(here.record, QuickMaking(about_mine), now=Clock(), circuit="mine")
    for _ in range(3):
        assert answer(there).circuit == "mine"
    assert waiting <= set(here.record.ready().values())
    assert here.record.note("catalogue") == note


def test_the_open_question_comes_back_with_its_hints(desk: Callable[..., Desk]) -> None:
    """After the window was closed, the same question, and the hints still count."""
    first = desk()
    question = first.next_question()
    first.record.hint(question.shown.number)
    again = desk()
    assert again.current() == (question, 1)
    again.keep(question, "B", Verdict(right=True), 1.0)
    assert again.lines[-1].hints == 1


def test_what_says_the_same_is_not_shown_again(desk: Callable[..., Desk]) -> None:
    """A maker without ideas: what it has said once is not shown twice; then others have a turn."""

    def poor(wanted: Wanted) -> Question:
        return dataclasses.replace(made(wanted), sum=f"{wanted.topic} {wanted.level}")

    here = desk(QuickMaking(poor))
    shown = [answer(here) for _ in range(15)]  # 3 topics at 5 levels
    assert len({(q.topic, q.level) for q in shown}) == 15
    with pytest.raises(UnprovableError, match="pick others"):
        answer(here)


def test_a_skill_without_questions_is_left_out(desk: Callable[..., Desk]) -> None:
    """No circuit gives a question on one of the topics: the others are asked."""
    making = QuickMaking(lambda wanted: None if wanted.topic == "lamps" else made(wanted))
    here = desk(making)
    assert {answer(here).topic for _ in range(8)} == {"shared-feed", "switches"}
    assert sum(wanted.topic == "lamps" for wanted in making.seen) == 1


def test_a_mistake_in_the_maker_does_not_stop_the_student(desk: Callable[..., Desk]) -> None:
    """One question that fails is passed over; when all fail the student is told."""

    def fail(wanted: Wanted) -> Question:
        raise ZeroDivisionError("a mistake")

    def fail_once(wanted: Wanted) -> Question:
        return fail(wanted) if wanted.number == 2 else made(wanted)

    here = desk(QuickMaking(fail_once))
    assert [answer(here).shown.number for _ in range(4)] == [1, 3, 4, 5]
    broken = desk(QuickMaking(fail))
    for _ in broken.record.ready():
        answer(broken)  # what was made before
    with pytest.raises(OutsideError, match=r"a mistake.*report"):
        answer(broken)


def test_topics_are_kept_for_the_next_time(desk: Callable[..., Desk]) -> None:
    """Until they are changed, also for questions that were made before the choice."""
    first = desk()
    answer(first)
    first.pick(("switches",))
    assert {answer(first).topic for _ in range(4)} == {"switches"}
    again = desk()
    assert again.picked == ("switches",)
    assert answer(again).topic == "switches"


def test_two_windows_share_a_record(desk: Callable[..., Desk]) -> None:
    """What one answers the other learns with its own next answer."""
    one, two = desk(), desk()
    answer(one)
    two.next_question()
    question = two.current()[0]  # type: ignore[index]
    two.keep(question, "B", Verdict(right=True), 1.0)
    assert len(two.lines) == 2
    assert not one.keep(question, "C", Verdict(right=False), 1.0)


def test_the_catalogue_is_asked_for_once(desk: Callable[..., Desk]) -> None:
    """It stays in the record until the program or its circuits change."""
    desk().catalogue()
    making = QuickMaking()
    assert set(desk(making).catalogue()) == {"lamps", "shared-feed", "switches"}
    assert making.seen == []
