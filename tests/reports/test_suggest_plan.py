"""The suggested plan: the largest holes first, a reason for each, and it can be assembled."""

from __future__ import annotations

from collections import Counter
from datetime import date
from pathlib import Path

import pytest

from quizgen.base.seeds import Seed
from quizgen.forms.blueprint import allot
from quizgen.forms.plan import load_plan
from quizgen.reports.coverage import Coverage, Wanted, coverage
from quizgen.reports.suggest_plan import Hole, chosen_holes, families_of, holes, plan_text
from quizgen.scenario.scenario import find_scenario
from quizgen.store.database import open_store
from tests.reports.terms import Week, keep

SCENARIO = find_scenario("brindlemere")
FAMILIES = families_of(SCENARIO)


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Coverage:
    """Lamps long ago, motors last week, a set on flashers still to come."""
    store = open_store(str(tmp_path_factory.mktemp("store") / "grades.sqlite"))
    everybody = tuple(range(6))
    keep(store, [
        Week(0, ((0, 2),) * 6, everybody, "2026-09-01", 1),
        Week(0, ((1, 2),) * 6, everybody, "2026-10-26", 2),
        Week(0, ((3, 2),) * 6, (), "2026-11-09", 3),
    ], 6)  # fmt: skip
    found = coverage(store, Wanted(day=date(2026, 11, 2)))
    store.close()
    return found


def test_each_hole_has_its_reason(report: Coverage) -> None:
    """Never met, long ago; what waits for its day is no hole, and every cell can be filled."""
    found = {(h.topic, h.level): h for h in holes(report, FAMILIES)}
    assert found["shared-feed", "predict"].why == "never met"
    assert "8 weeks ago" in found["lamps", "interpret"].why
    assert ("flasher", "interpret") not in found
    assert found["lamps", "interpret"].weight < found["shared-feed", "predict"].weight


def hole(topic: str, level: str, weight: float, why: str, count: int = 1) -> Hole:
    """A hole."""
    return Hole(topic=topic, level=level, weight=weight, count=count, why=why)


def test_old_and_new_take_turns_and_topics_are_spread() -> None:
    """Not all of a week is new, and no topic comes twice while another waits."""
    every = [
        hole("lamps", "read", 3.0, "never met"), hole("lamps", "predict", 3.0, "never met"),
        hole("fuses", "read", 3.0, "never met"), hole("motors", "choose", 2.3, "weak", 2),
    ]  # fmt: skip
    taken = chosen_holes(every, 4)
    assert [(h.topic, h.level) for h in taken] == [
        ("lamps", "read"), ("motors", "choose"), ("fuses", "read")
    ]  # fmt: skip
    assert sum(h.count for h in chosen_holes(every, 3)) == 3


def test_the_plan_is_one_that_the_program_can_meet(report: Coverage, tmp_path: Path) -> None:
    """Read back as any plan, and every cell gets its count of slots from the integer program."""
    chosen = chosen_holes(holes(report, FAMILIES), 10)
    path = tmp_path / "week-09.yaml"
    text = plan_text(report, SCENARIO, "week-09", "Week 9", chosen)
    path.write_text(text, encoding="utf-8")
    plan = load_plan(path)
    slots = allot(plan, Seed(b"a secret of sixteen letters"))
    asked = Counter({(h.topic, h.level): h.count for h in chosen})
    assert Counter((s.topic, s.level) for s in slots) == asked
    assert 8 <= plan.items <= 10
    assert all(f"# {h.why}" in text for h in chosen)
