"""The debrief that another process works out while the student hunts: the same, or none."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from quizgen.cli.drill_reviewer import review
from quizgen.cli.drill_reviewing import Reviewing
from quizgen.drill.hunt.case import Wish, draw_case
from quizgen.drill.hunt.debrief import look_back
from quizgen.drill.hunt.debrief_page import debrief_page
from quizgen.drill.hunt.engine import Act, replay
from quizgen.drill.hunt.sitting import Sitting
from quizgen.drill.page import Page
from quizgen.scenario.scenario import find_scenario

SCENARIO = "brindlemere"
CIRCUIT = str(Path(__file__).parents[2] / "cases" / "items" / "open-lamp.yaml")
ACTS = (
    Act("watch"),
    Act("measure", ("voltmeter", "E1.1", "chassis")),
    Act("jumper", ("GB1.+", "GB1.-")),
    Act("repair", ("E1",)),
)


WISH = Wish(label="review", circuit=CIRCUIT)


@pytest.fixture
def sitting(tmp_path: Path) -> Sitting:
    return Sitting.start(tmp_path / "a.jsonl", WISH, find_scenario(SCENARIO), SCENARIO)


@pytest.fixture(scope="module")
def alone() -> Page:
    """The debrief after all of `ACTS`, without anybody's help."""
    hunt = replay(draw_case(WISH, find_scenario(SCENARIO)), ACTS)
    return debrief_page(look_back(hunt))


def test_looking_along_gives_the_debrief_of_looking_back(sitting: Sitting, alone: Page) -> None:
    """Acts done before it looked, one by one, and two at a time: the same page in the end."""
    sitting.do(ACTS[0])

    def news() -> Iterator[None]:
        sitting.do(ACTS[1])
        yield
        sitting.do(ACTS[2])
        sitting.do(ACTS[3])
        yield

    assert review(sitting.log, news()) == alone


def test_a_hunt_that_is_left_has_no_debrief(sitting: Sitting) -> None:
    """The news end before the hunt does."""
    sitting.do(ACTS[0])
    assert review(sitting.log, [None, None]) is None


def test_the_process_gives_the_same_and_ends(sitting: Sitting, alone: Page) -> None:
    """What it hands over is what would have been worked out here; nothing runs on."""
    reviewing = Reviewing(sitting.log)
    process = reviewing._process
    assert process is not None
    try:
        for done in ACTS:
            sitting.do(done)
            reviewing.news()
        assert reviewing.debrief() == alone
        assert process.poll() == 0
    finally:
        reviewing.close()


def test_a_process_that_is_gone_is_no_error(sitting: Sitting) -> None:
    """Killed from outside or ended in the middle: no debrief from it, and no process is left."""
    reviewing = Reviewing(sitting.log)
    process = reviewing._process
    assert process is not None
    process.kill()
    process.wait()
    reviewing.news()
    assert reviewing.debrief() is None
    reviewing.close()
    reviewing.close()
    assert reviewing.debrief() is None
    other = Reviewing(sitting.log)
    process = other._process
    assert process is not None
    other.close()
    assert process.poll() is not None
