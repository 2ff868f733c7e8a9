"""Two stores become one: nothing lost, nothing twice, the same answers whichever takes in which."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.event import listen

from quizgen.base.errors import InputError, OutsideError
from quizgen.grading.keys import Amendment
from quizgen.store import gradebook, tables
from quizgen.store.classes import SchoolClass, assign
from quizgen.store.contents import graded, trail
from quizgen.store.database import Store, open_store
from quizgen.store.decisions import Decided, decide
from quizgen.store.gradebook import amend, record
from quizgen.store.merging import Merged, merge
from tests.grading.graded import answered, option, the_set
from tests.grading.graded import item as an_item

IN_ORDER = ("amendment", "decision", "event")
LETTERS = st.sampled_from("ABC")
acts = st.lists(
    st.one_of(
        st.tuples(st.just("grade"), st.integers(1, 3), LETTERS),
        st.tuples(st.just("amend"), st.integers(1, 3), LETTERS),
        st.tuples(st.just("decide"), st.integers(1, 3), LETTERS),
        st.tuples(st.just("assign"), st.integers(1, 3), LETTERS),
    ),
    max_size=5,
)


@contextmanager
def two_stores() -> Iterator[tuple[Store, Store]]:
    """A store of the department and one of a laptop."""
    with TemporaryDirectory() as folder:
        stores = [open_store(str(Path(folder) / f"{name}.sqlite")) for name in ("mine", "other")]
        for store in stores:  # nothing here has to outlive a power cut
            listen(store.engine, "connect", lambda c, _: c.execute("PRAGMA synchronous=OFF"))
            store.engine.dispose()
        yield stores[0], stores[1]
        for store in stores:
            store.close()


def do(store: Store, what: str, number: int, letter: str) -> None:
    """One act of a grader."""
    week = the_set()
    if what == "grade":
        given = answered(letter, "AC", "CABD", "11.9", student=f"S-00{number}",
                         form="AB"[number % 2 == 0], digest=letter)  # fmt: skip
        record(store, week, [given], "Ana", replace=True)
    elif what == "amend":
        amend(store, week, Amendment(form="A", number=1, change="key", texts=(letter,),
                                     why=f"seen {number}", who="Ana"))  # fmt: skip
    elif what == "decide":
        decide(store, week.token, [Decided(subject=f"page {number}", verdict=letter, why="",
                                           who="Ana")])  # fmt: skip
    else:
        assign(store, week, SchoolClass(name=letter), instructor="Ana", day=f"2026-09-0{number}")


def contents(store: Store) -> dict[str, list[tuple[object, ...]]]:
    """Everything but the numbers that a database gives; what has an order, in it."""
    found = {}
    with store.reading() as connection:
        for name, table in tables.metadata.tables.items():
            columns = [c for c in table.columns if c.name not in ("id", "added_at")]
            if (
                name == "submission"
            ):  # who read a sheet first, and when, each store knows for itself
                columns = [c for c in table.columns if c.name not in ("who", "at")]
            if name == "school_class":
                columns = list(table.columns)
            rows = [tuple(row) for row in connection.execute(select(*columns))]
            found[name] = rows if name in IN_ORDER else sorted(rows)
    return found


@settings(max_examples=8, deadline=None)
@given(acts, acts, st.integers(0, 2))
def test_whichever_takes_in_which_the_same_is_there(
    here: list[tuple[str, int, str]], there: list[tuple[str, int, str]], gap: int
) -> None:
    """Merged both ways and again: equal contents, and the second time nothing changes."""
    clock = iter(range(100))
    with pytest.MonkeyPatch.context() as patch, two_stores() as (mine, other):
        for name in ("gradebook", "decisions", "classes"):
            # several acts in a second, as when files are graded by a script
            patch.setattr(f"quizgen.store.{name}.now",
                          lambda: f"2026-11-28T10:00:{next(clock) * gap // 4:02}Z")  # fmt: skip
        for act in here:
            do(mine, *act)
        for act in there:
            do(other, *act)
        before = [contents(mine), contents(other)]
        merge(mine, other)
        merge(other, mine)
        assert contents(mine) == contents(other)
        for table in ("submission", "amendment", "decision", "event", "enrolment"):
            for old in before:
                assert set(old[table]) <= set(contents(mine)[table])
        once = contents(mine)
        assert merge(mine, other) == Merged()
        assert contents(mine) == once


def test_the_later_answers_count_and_the_earlier_stay(monkeypatch: pytest.MonkeyPatch) -> None:
    """The student of the laptop's later sheet has its points; both sheets are in the store."""
    times = iter(["2026-11-28T10:00:00Z", "2026-11-28T09:00:00Z"])
    monkeypatch.setattr(gradebook, "now", lambda: next(times, "2026-11-28T11:00:00Z"))
    with two_stores() as (mine, other):
        record(mine, the_set(), [answered("A", "AC", "CABD", "11.9")], "Ana")
        found = merge(mine, other)
        assert found == Merged()
        record(other, the_set(), [answered("B", "AC", "CABD", "11.9", digest="1")], "Bo",
               replace=True)  # fmt: skip
        merge(mine, other)
        counting = graded(mine, the_set().token)
        with mine.reading() as connection:
            assert len(connection.execute(select(tables.submission.c.id)).all()) == 2
        assert [e.who for e in trail(mine, the_set().token)] in (["Ana", "Bo"], ["Bo", "Ana"])
        assert len(counting) == 1


def test_a_changed_key_of_the_laptop_scores_everybody_anew() -> None:
    """A is right by the laptop's amendment; the department's student gets the point."""
    with two_stores() as (mine, other):
        record(mine, the_set(), [answered("A", "AC", "CABD", "11.9")], "Ana")
        record(other, the_set(), [answered("B", "", "", "", student="S-003")], "Bo")
        amend(other, the_set(), Amendment(form="A", number=1, change="key", texts=("A", "B"),
                                          why="both fit", who="Bo"))  # fmt: skip
        assert graded(mine, the_set().token)[0].result.points == 3
        found = merge(mine, other)
        assert graded(mine, the_set().token)[0].result.points == 4
        assert (found.submissions, found.results) == (1, 2)


def test_a_damaged_store_is_named_and_nothing_is_taken() -> None:
    """A file that a stick or a copy cut short may still open; its records do not."""
    with two_stores() as (mine, other):
        record(mine, the_set(), [answered("A", "AC", "CABD", "11.9")], "Ana")
        record(other, replace(the_set(), token="aaaa", name="week-06"), [answered("A")], "Bo")
        with other.writing() as connection:
            connection.exec_driver_sql("UPDATE problem_set SET document = '{'")
        before = contents(mine)
        with pytest.raises(OutsideError, match=r"go back to a copy") as caught:
            merge(mine, other)
        assert other.where in str(caught.value)
        assert contents(mine) == before


def test_other_questions_under_one_name_are_refused_whole() -> None:
    """One line, and not even the sets before it come in."""
    strange = replace(
        the_set([an_item("x", "one", (option("a", is_key=True), option("b"), option("c")))]),
        name="week-08",
    )
    first = replace(the_set(), token="aaaa", name="week-06")
    with two_stores() as (mine, other):
        record(mine, the_set(), [answered("A", "AC", "CABD", "11.9")], "Ana")
        record(other, first, [answered("A", "AC", "CABD", "11.9")], "Bo")
        record(other, strange, [answered("A")], "Bo")
        before = contents(mine)
        with pytest.raises(InputError, match="different questions under this name; nothing was"):
            merge(mine, other)
        assert contents(mine) == before
