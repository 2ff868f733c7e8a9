"""Coverage: counts that an independent recount confirms, and what odd stores give."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy.event import listen

from quizgen.base.errors import FileError, InputError
from quizgen.grading.keys import Amendment
from quizgen.items import topics
from quizgen.reports.competencies import read_competencies, shipped_mapping
from quizgen.reports.coverage import Coverage, Wanted, coverage
from quizgen.store.classes import SchoolClass, assign
from quizgen.store.contents import stored_set
from quizgen.store.database import Store, open_store
from quizgen.store.gradebook import amend, record
from tests.reports.terms import Week, a_set, answers, keep, people, recount

TODAY = date(2026, 11, 28)
SIZE = 5

weeks = st.builds(
    Week,
    school_class=st.integers(0, 2),
    questions=st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=1, max_size=5).map(
        tuple
    ),
    handed_in=st.sets(st.integers(0, SIZE - 1)).map(lambda s: tuple(sorted(s))),
    day=st.dates(date(2026, 9, 1), date(2026, 11, 27)).map(date.isoformat),
    seed=st.integers(0, 1000),
)


@contextmanager
def a_store() -> Iterator[Store]:
    """A store in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(str(Path(folder) / "grades.sqlite"))
        # nothing here has to outlive a power cut
        listen(store.engine, "connect", lambda c, _: c.execute("PRAGMA synchronous=OFF"))
        store.engine.dispose()
        yield store
        store.close()


def counted(report: Coverage) -> dict[tuple[str, str], dict[str, int]]:
    """The report's counts in the form of the recount."""
    names = ("planned", "delivered", "asked", "answered", "right")
    return {
        (c.topic, c.level): {name: getattr(c.figures, name) for name in names} for c in report.cells
    }


@settings(max_examples=15, deadline=None)
@given(st.lists(weeks, min_size=1, max_size=5))
def test_counts_equal_a_recount_from_the_raw_sets(term: list[Week]) -> None:
    """Other code, going through documents and results question by question, finds the same."""
    with a_store() as store:
        keep(store, term, SIZE)
        report = coverage(store, Wanted(day=TODAY))
        assert counted(report) == recount(store)
        for found in report.classes:
            days = [w.day for w in term if f"Class {w.school_class}" == found.name and w.handed_in]
            assert max((c.figures.last for c in found.cells), default="") == max(days, default="")
            assert all(c.figures.students == found.students for c in found.cells)
        last = report.classes[-1]  # counted together with the others, and alone
        alone = coverage(store, Wanted(day=TODAY, school_class=last.name))
        assert alone.classes == (last,)


def test_a_withdrawn_question_is_counted_no_more() -> None:
    """An amendment changes the tally together with the results."""
    with a_store() as store:
        keep(store, [Week(0, ((0, 2), (1, 3)), (0, 1, 2), seed=3)], SIZE)
        the_set = stored_set(store, "set00000")
        change = Amendment(form="A", number=1, change="withdraw", why="misprint", who="M. L.")
        amend(store, the_set, change)
        report = coverage(store, Wanted(day=TODAY))
        assert counted(report) == recount(store)
        assert [(r.form, r.number, r.why) for r in report.classes[0].replace] == [
            ("A", 1, "withdrawn after it was printed")
        ]


def test_a_store_of_an_older_program_is_worked_out() -> None:
    """Sets without a tally give the same report, and sets without a class stand last."""
    with a_store() as store:
        week = Week(0, ((0, 2), (1, 3)), (0, 1, 2), seed=3)
        record(store, the_set := a_set(0, week, people(0, SIZE)), answers(week, the_set), "x")
        with store.writing() as connection:
            connection.exec_driver_sql("DELETE FROM tally")
        report = coverage(store, Wanted(day=TODAY))
        assert [c.name for c in report.classes] == [""]
        assert counted(report) == recount(store)


def test_a_set_moves_to_another_class_and_filters_choose() -> None:
    """A set belongs to the class named last; class, term and instructor choose what is shown."""
    with a_store() as store:
        keep(store, [Week(0, ((0, 2),), (0,)), Week(1, ((1, 2),), (1,))], SIZE)
        one = coverage(store, Wanted(day=TODAY, school_class="Class 1"))
        assert [c.name for c in one.classes] == ["Class 1"]
        mine = coverage(store, Wanted(day=TODAY, instructor="R. Adeyemi"))
        assert [c.name for c in mine.classes] == ["Class 0"]
        there = SchoolClass(name="Class 0", course="Faults", term="autumn")
        moved = stored_set(store, "set00001")
        assert assign(store, moved, there, instructor="R. Adeyemi", day="2026-10-01")
        assert not assign(store, moved, there, instructor="R. Adeyemi", day="2026-10-01")
        report = coverage(store, Wanted(day=TODAY))
        assert [(c.name, len(c.sets)) for c in report.classes] == [("Class 0", 2), ("Class 1", 0)]
        with pytest.raises(InputError, match="no term 'atumn'; did you mean autumn"):
            coverage(store, Wanted(day=TODAY, term="atumn"))


def test_an_empty_store_and_a_class_without_answers_are_reports() -> None:
    """Nothing there is no error, and nothing is mastered by nobody."""
    with a_store() as store:
        assert coverage(store, Wanted(day=TODAY)).classes == ()
        keep(store, [Week(0, ((0, 2),), ())], SIZE)
        report = coverage(store, Wanted(day=TODAY))
        assert {(c.figures.planned, c.figures.delivered, c.weeks) for c in report.cells} == {
            (1, 0, None)
        }
        assert {c.figures.too_little for c in report.cells} == {SIZE}
        assert report.classes[0].at_risk == ()


def test_a_renamed_topic_is_one_topic(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Sets of before and after are counted together; an id that nobody knows keeps its name."""
    folder = tmp_path / "coverage"
    folder.mkdir()
    text = (topics.data_folder("templates") / "coverage" / topics.FILE).read_text("utf-8")
    (folder / topics.FILE).write_text(text + "\nrenamed: {lamps: motors}\n", encoding="utf-8")
    with a_store() as store:
        keep(store, [Week(0, ((0, 2),), (0,)), Week(0, ((1, 2),), (0,))], SIZE)
        monkeypatch.setattr(topics, "data_folder", lambda _: tmp_path)
        topics.topic_id.cache_clear()
        try:
            report = coverage(store, Wanted(day=TODAY))
        finally:
            topics.topic_id.cache_clear()
    cells = {c.topic: c.figures.planned for c in report.cells}
    assert "lamps" not in cells
    assert cells["motors"] == 2


def test_who_hands_nothing_in_is_at_risk_with_the_evidence() -> None:
    """Two sets in a row, or answers surely below the cut."""
    term = [Week(0, ((0, 2),) * 5, hands, f"2026-09-0{n}", n)
            for n, hands in enumerate([(0, 1, 2), (0, 1), (0, 1)], 1)]  # fmt: skip
    with a_store() as store:
        keep(store, term, 3)
        found = {
            a.student: a.evidence for a in coverage(store, Wanted(day=TODAY)).classes[0].at_risk
        }
    assert "Handed in none of the last 2 sets." in found["C0-002"]


def test_the_shipped_mapping_is_read_and_says_what_paper_cannot_show() -> None:
    """Both units and the occupation are there; repair belongs to the workshop."""
    elements = {e.code: e for e in read_competencies(shipped_mapping())}
    assert {code.split("/")[0] for code in elements} == {"AURETR112", "AURETR132", "49-3023.00"}
    assert elements["AURETR112/repair"].cells == ()
    assert all(e.label for e in elements.values())


@pytest.mark.parametrize(
    ("text", "error", "expected"),
    [
        ("", InputError, "is empty"),
        ("framework,code,label,topic\n", FileError, r"1: expected one column level"),
        ("framework,code,label,topic,level\nF,1,x,lmaps,\n", FileError, "2: no topic 'lmaps'; did"),
        ("# ours\nframework,code,label,topic,level\nF,1,x,lamps,reed\n", FileError,
         "3: no level 'reed'; did you mean read"),
        ("framework,code,label,topic,level\nF,1,x,,read\n", FileError, "no topic beside it"),
        ("framework,code,label,topic,level\nF,,x,lamps,\n", FileError, "a framework and a code"),
        ('framework,code,label,topic,level\nF,1,"x,lamps,\n' + "x" * 200_000, FileError,
         "line 2: is no row of a table"),
    ],
)  # fmt: skip
def test_a_wrong_mapping_is_one_line(
    tmp_path: Path, text: str, error: type[Exception], expected: str
) -> None:
    """File, line, what is wrong, what was meant."""
    path = tmp_path / "ours.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(error, match=expected) as caught:
        read_competencies(path)
    assert "\n" not in str(caught.value)


def test_a_competency_counts_a_question_once() -> None:
    """A code with two topics that one question has both of is met once by it."""
    with a_store() as store:
        keep(store, [replace(Week(0, ((0, 2),), (0, 1, 2)), seed=5)], SIZE)
        mapping = read_competencies(shipped_mapping())
        report = coverage(store, Wanted(day=TODAY), mapping)
        met = {e.element.code: e.figures for e in report.elements}
        assert met["AURETR112/open-after"].planned == 1
        assert met["49-3023.00/find-cause"].planned == 1
        assert met["AURETR112/open-before"].planned == 0
