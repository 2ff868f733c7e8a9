"""Tallies are what a recount from the results gives, whatever was done in whatever order."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule
from sqlalchemy import select
from sqlalchemy.event import listen

from quizgen.grading.keys import Amendment
from quizgen.grading.score import Rules
from quizgen.items.item import Item
from quizgen.store import tables
from quizgen.store.classes import SchoolClass, assign
from quizgen.store.contents import Graded, graded, set_in
from quizgen.store.database import Store, open_store
from quizgen.store.gradebook import amend, record, set_rules
from quizgen.store.merging import merge
from quizgen.store.tallies import (
    Tally,
    level_and_subjects,
    matter_of,
    read_tally,
    ways_of,
)
from tests.grading import graded as made

SET = made.the_set()
STORES = st.integers(0, 1)
LETTERS = {"right": "1", "partly": "p", "wrong": "0", "blank": "-", "doubtful": "?",
           "withdrawn": "x"}  # fmt: skip


def slips(item: Item, value: object) -> set[str]:
    """The mistaken ideas of a wrong choice of one letter."""
    return {item.options["ABC".index(letter)].misconception for letter in str(value[0])}  # type: ignore[index]


def recount(results: tuple[Graded, ...]) -> dict[str, object]:
    """Marks, and how often each student showed an idea of question 1, by other code."""
    shown = {}
    for g in results:
        mark, first = g.result.marks[0], g.given.responses[0]
        if mark.verdict == "wrong" and first.value:
            item = next(f for f in SET.forms if f.code == g.given.form).items[0]
            shown[g.given.student] = slips(item, first.value) - {""}
    return {
        "students": tuple(g.given.student for g in results),
        "taken": tuple(g.given.form for g in results),
        "marks": tuple("".join(LETTERS[m.verdict] for m in g.result.marks) for g in results),
        "shown": {student: ideas for student, ideas in shown.items() if ideas},
    }


def told(tally: Tally) -> dict[str, object]:
    """The same of a tally. Ideas of question 1 are no other question's."""
    first = {o.misconception for o in SET.forms[0].items[0].options} - {""}
    shown = {student: set(mine) & first for student, mine in tally.slips.items()}
    return {
        "students": tally.students, "taken": tally.taken, "marks": tally.marks,
        "shown": {student: ideas for student, ideas in shown.items() if ideas},
    }  # fmt: skip


class TwoStores(RuleBasedStateMachine):
    """A department's store and a laptop's."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = TemporaryDirectory()
        self.stores: list[Store] = []
        for name in ("mine", "other"):
            store = open_store(str(Path(self.folder.name) / f"{name}.sqlite"))
            listen(store.engine, "connect", lambda c, _: c.execute("PRAGMA synchronous=OFF"))
            store.engine.dispose()
            self.stores.append(store)

    def teardown(self) -> None:
        """Both go."""
        for store in self.stores:
            store.close()
        self.folder.cleanup()

    @rule(
        which=STORES, student=st.sampled_from([s.id for s in SET.students]),
        form=st.sampled_from("AB"), first=st.sampled_from(["", "A", "B", "C"]),
        several=st.sampled_from(["", "A", "AC"]), number=st.sampled_from(["", "11.9", "0"]),
    )  # fmt: skip
    def grade(
        self, which: int, student: str, form: str, first: str, several: str, number: str
    ) -> None:
        """New answers, or others in their place."""
        given = made.answered(first, several, "CABD", number, student=student, form=form,
                              digest=first + several + number)  # fmt: skip
        record(self.stores[which], SET, [given], "Ana", replace=True)

    @rule(which=STORES, form=st.sampled_from("AB"), letter=st.sampled_from("ABC"),
          change=st.sampled_from(["key", "withdraw", "restore"]))  # fmt: skip
    def change(self, which: int, form: str, letter: str, change: str) -> None:
        """Another key, or none."""
        texts = (letter,) if change == "key" else ()
        amend(self.stores[which], SET, Amendment(form=form, number=1, change=change, texts=texts,  # type: ignore[arg-type]
                                                 why="seen", who="Ana"))  # fmt: skip

    @rule(which=STORES, part=st.booleans())
    def score_otherwise(self, which: int, part: bool) -> None:
        """Half points or none."""
        set_rules(self.stores[which], SET, Rules(part_credit=part), "exam", "Ana")

    @rule(which=STORES, name=st.sampled_from("PQ"))
    def give(self, which: int, name: str) -> None:
        """The set goes to a class."""
        assign(self.stores[which], SET, SchoolClass(name=name), instructor="", day="2026-09-01")

    @rule(which=STORES)
    def take_in(self, which: int) -> None:
        """One store takes in the other."""
        merge(self.stores[which], self.stores[1 - which])

    @invariant()
    def tallies_are_a_recount(self) -> None:
        """Of every set that has results, and of every one that was given to a class."""
        for store in self.stores:
            with store.reading() as connection:
                content = connection.scalar(select(tables.tally.c.content))
                lessons = connection.scalars(select(tables.lesson.c.token)).all()
                held = set_in(connection, SET.token)
            results = graded(store, SET.token)
            if content is None:
                assert not results
                assert not lessons
                continue
            assert held is not None
            tally = read_tally(content)
            assert told(tally) == recount(results)
            items = [item for form in held.forms for item in form.items]
            assert tally.forms == Counter(f.code for f in held.forms for _ in f.items)
            assert [level_and_subjects(m) for m in tally.about] == [(i.level, i.topics)
                                                                     for i in items]  # fmt: skip


TestTallies = TwoStores.TestCase
TestTallies.settings = settings(max_examples=12, stateful_step_count=10, deadline=None)


@pytest.mark.parametrize(
    ("item", "ways"),
    [(made.one(), 3), (made.several(), 15), (made.order(), 24), (made.number(), 20)],
)
def test_who_knows_nothing_is_right_once_in_so_many(item: Item, ways: int) -> None:
    """Of 3 options; of the sets of 4 but the empty one; of the orders of 4; of 20 for a figure."""
    assert ways_of(item) == ways
    assert matter_of(item.level, item.topics) == "interpret|lamps"
