"""What is recorded stays, once; what changes leaves a trail; two graders lose nothing."""

from __future__ import annotations

import hashlib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given as given_by
from hypothesis import strategies as st

from quizgen.base.errors import InputError, OutsideError
from quizgen.grading.keys import Amendment
from quizgen.grading.responses import Response, StudentResponses
from quizgen.grading.score import Mark, Rules
from quizgen.store.contents import (
    amendments,
    graded,
    rules_of,
    stored_set,
    stored_sets,
    trail,
)
from quizgen.store.database import Store, open_store
from quizgen.store.gradebook import amend, record, set_rules
from quizgen.store.notation import answers_of, answers_text, marks_of, marks_text
from tests.grading import graded as made

SET = made.the_set()
RIGHT = ("B", "AC", "CABD", "11.9")
BATCH = [
    made.answered(*RIGHT, student="S-001"),
    made.answered("A", "A", "", "0", student="S-002", form="B"),
]


def points(store: Store) -> dict[str, float]:
    """Student → points, as the store has them."""
    return {g.result.student: g.result.points for g in graded(store, SET.token)}


def amendment(change: str = "key", *texts: str, number: int = 1) -> Amendment:
    """A change of form A's question."""
    return Amendment(form="A", number=number, change=change, texts=texts, why="two fit", who="ml")  # type: ignore[arg-type]


def test_what_goes_in_comes_out(store: Store) -> None:
    """Answers, sources and marks of a batch, unchanged."""
    batch = record(store, SET, BATCH, "ml")
    assert [r.what for r in batch.recorded] == ["new", "new"]
    found = graded(store, SET.token)
    assert [g.given for g in found] == BATCH
    assert points(store) == {"S-001": 4.0, "S-002": 0.5}
    assert [e.what for e in trail(store, SET.token)] == ["graded", "graded"]


def test_the_same_batch_twice_changes_nothing(store: Store) -> None:
    """No new row of any kind, also from a copy of the file under another name."""
    record(store, SET, BATCH, "ml")
    before = trail(store, SET.token), graded(store, SET.token)
    copy = [replace(g, source=replace(g.source, file="copy.csv", digest="11")) for g in BATCH]
    for again in (BATCH, copy, list(reversed(BATCH))):
        assert {r.what for r in record(store, SET, again, "xy").recorded} == {"same"}
    assert (trail(store, SET.token), graded(store, SET.token)) == before


def test_a_file_that_is_graded_twice_keeps_its_bytes(tmp_path: Path) -> None:
    """Of a SQLite store not a byte changes."""
    path = tmp_path / "grades.sqlite"
    digests = []
    for _ in range(2):
        store = open_store(str(path))
        record(store, SET, BATCH, "ml")
        store.close()
        digests.append(hashlib.sha256(path.read_bytes()).hexdigest())
    assert digests[0] == digests[1]


def test_other_answers_are_refused_until_asked_for(store: Store) -> None:
    """The first ones count; both places are named; `replace` takes the new ones and says so."""
    record(store, SET, BATCH, "ml")
    other = made.answered("C", "", "", "", student="S-001", file="scan.pdf", digest="22")
    (refused,) = record(store, SET, [other], "ml").recorded
    assert refused.what == "refused"
    assert "answers.csv" in refused.note
    assert points(store)["S-001"] == 4.0
    (taken,) = record(store, SET, [other], "xy", replace=True).recorded
    assert taken.what == "replaced"
    assert points(store)["S-001"] == 0.0
    last = trail(store, SET.token)[-1]
    assert (last.what, last.who, last.before, last.after) == (
        "replaced", "xy", "4 of 4", "0 of 4",
    )  # fmt: skip


def test_a_sheet_read_anew_replaces_its_own_reading(store: Store) -> None:
    """A decided mark changes the answers of the same page of the same file, with an event."""
    doubt = Response(item=1, value=("B",), state="doubtful", doubt="faint")
    sheet = made.answered(*RIGHT, student="S-001", file="scan.pdf", digest="33")
    unclear = replace(sheet, responses=(doubt, *sheet.responses[1:]))
    record(store, SET, [unclear], "ml")
    assert graded(store, SET.token)[0].result.pending == 1
    (again,) = record(store, SET, [sheet], "ml").recorded
    assert (again.what, again.result.points) == ("replaced", 4.0)
    assert trail(store, SET.token)[-1].before == "3 of 4, 1 pending"
    assert [r.what for r in record(store, SET, [sheet], "ml").recorded] == ["same"]


def test_a_changed_key_scores_everybody_anew_with_a_trail(store: Store) -> None:
    """Who, why, before and after; once; and only whom it concerns."""
    record(store, SET, BATCH, "ml")
    (changed,) = amend(store, SET, amendment("key", "A"))
    assert (changed.student, changed.before.points, changed.after.points) == ("S-001", 4.0, 3.0)
    assert points(store) == {"S-001": 3.0, "S-002": 0.5}
    *_, key, result = trail(store, SET.token)
    assert (key.what, key.question, key.before, key.after) == ("amended", "A/1", "printed", "key A")
    assert (result.what, result.student, result.why) == ("scored anew", "S-001", "A/1: two fit")
    assert amend(store, SET, amendment("key", "A")) == ()
    assert len(amendments(store, SET.token)) == 1
    amend(store, SET, amendment("withdraw"))
    assert graded(store, SET.token)[0].result.out_of == 3
    amend(store, SET, amendment("restore"))
    assert points(store)["S-001"] == 4.0
    late = made.answered("A", "", "", "", student="S-003", digest="44")
    amend(store, SET, amendment("key", "A"))
    assert record(store, SET, [late], "ml").recorded[0].result.points == 1.0


def test_rules_change_for_everybody_and_leave_a_trail(store: Store) -> None:
    """Half a point for half an answer goes, and comes back."""
    record(store, SET, BATCH, "ml")
    (changed,) = set_rules(store, SET, Rules(part_credit=False), "exam", "ml")
    assert (changed.before.points, changed.after.points) == (0.5, 0.0)
    assert rules_of(store, SET.token) == Rules(part_credit=False)
    assert set_rules(store, SET, Rules(part_credit=False), "again", "ml") == ()
    with pytest.raises(InputError, match="--why"):
        set_rules(store, SET, Rules(), "", "ml")


def test_a_set_can_be_had_back_from_the_store(store: Store) -> None:
    """Reports over many weeks need no files: the set comes back as it went in."""
    record(store, SET, BATCH, "ml")
    other = replace(SET, token="ffff", name="week-02")
    record(store, other, BATCH, "ml")
    assert stored_sets(store) == ("ffff", SET.token)
    assert stored_set(store, SET.token) == SET
    with pytest.raises(InputError, match="no set gone"):
        stored_set(store, "gone")


def test_a_record_that_cannot_be_read_is_told_as_damage(store: Store) -> None:
    """A lost page of the file gives one line that says what to do, not a mistake of ours."""
    record(store, SET, BATCH, "ml")
    with store.writing() as connection:
        connection.exec_driver_sql("UPDATE problem_set SET document = '{'")
    with pytest.raises(OutsideError, match="go back to a copy"):
        stored_set(store, SET.token)


def test_another_version_of_the_set_is_refused(store: Store) -> None:
    """Answers to other questions under the same name would be scored by the wrong key."""
    record(store, SET, BATCH, "ml")
    other = made.the_set([made.several(), made.one(), made.order(), made.number()])
    with pytest.raises(InputError, match="another version of this set"):
        record(store, other, BATCH, "ml")


def test_a_changed_key_in_the_file_is_another_version(store: Store) -> None:
    """Keys change by an amendment with a reason, never by a file that was built again."""
    record(store, SET, BATCH, "ml")
    turned = made.item(
        "one", "one",
        (made.option("the fuse", is_key=True), made.option("the ground"), made.option("the lamp")),
    )  # fmt: skip
    other = made.the_set([turned, made.several(), made.order(), made.number()])
    with pytest.raises(InputError, match="another version of this set"):
        record(store, other, BATCH, "ml")


def test_a_student_who_comes_later_changes_nothing_else(store: Store) -> None:
    """The same questions with one more on the roster are the same set; the roster is kept."""
    record(store, SET, BATCH, "ml")
    late = made.Student(id="S-099", name="Late Comer", form="A")
    longer = replace(SET, students=(*SET.students, late))
    (new,) = record(store, longer, [made.answered(*RIGHT, student="S-099")], "ml").recorded
    assert new.what == "new"
    assert stored_set(store, SET.token).students[-1] == late


def test_a_batch_that_breaks_off_leaves_nothing(store: Store) -> None:
    """All of a batch or none of it, also when the last answer of it fails."""

    class PowerCut(Exception):
        pass

    def batch() -> object:
        yield from BATCH
        raise PowerCut

    with pytest.raises(PowerCut):
        record(store, SET, batch(), "ml")  # type: ignore[arg-type]
    assert graded(store, SET.token) == ()
    assert trail(store, SET.token) == ()
    record(store, SET, BATCH, "ml")
    assert len(graded(store, SET.token)) == 2


def test_two_graders_at_once_lose_nothing(where: str) -> None:
    """Two open the new store and record interleaved halves: all is there once, like in turn."""
    students = [made.Student(id=f"S-{n:03}", name=f"N {n}", form="A") for n in range(24)]
    big = made.the_set(students=students)
    batches = [
        [made.answered("B", "A", "", "", student=s.id, digest=f"{k}") for s in students[k::2]]
        for k in range(2)
    ]

    def grade(batch: list[StudentResponses]) -> None:
        store = open_store(where)
        for start in range(0, len(batch), 2):
            record(store, big, batch[start : start + 2], "ml")
        store.close()

    with ThreadPoolExecutor(4) as pool:
        for done in [pool.submit(grade, batch) for batch in batches * 2]:
            done.result()
    store = open_store(where)
    found = graded(store, big.token)
    assert [g.given.student for g in found] == [s.id for s in students]
    assert len(trail(store, big.token)) == len(students)
    store.close()


LETTERS = st.lists(st.sampled_from("ABCDEFGH"), min_size=1, unique=True).map(tuple)
ORDERS = st.tuples(LETTERS, st.lists(st.just(""), max_size=2)).map(lambda p: (*p[0], *p[1]))
FIGURES = st.decimals(-999, 999, places=2).map(lambda d: f"{d:f}")
VALUES = st.one_of(LETTERS, ORDERS, FIGURES)
ANSWERS = st.one_of(
    st.just({"value": "", "state": "blank"}),
    st.fixed_dictionaries({"value": VALUES, "state": st.just("answered")}),
    st.fixed_dictionaries(
        {"value": st.one_of(VALUES, st.just("")), "state": st.just("doubtful"), "doubt": st.text()}
    ),
)


@given_by(st.lists(ANSWERS, max_size=8))
def test_answers_survive_their_notation(answers: list[dict[str, object]]) -> None:
    """Any responses, doubts in any words, come back as they were."""
    responses = tuple(Response(item=n, **a) for n, a in enumerate(answers, 1))  # type: ignore[arg-type]
    assert answers_of(answers_text(responses)) == responses


@given_by(st.lists(st.floats(0.000001, 0.999999).map(lambda p: round(p, 6)), max_size=5))
def test_marks_survive_their_notation(points_: list[float]) -> None:
    """Points of partly right answers keep all their decimals."""
    marks = tuple(Mark(item=n, verdict="partly", points=p) for n, p in enumerate(points_, 1))
    assert marks_of(marks_text(marks)) == marks


def test_a_file_name_of_any_bytes_is_kept_as_text(store: Store) -> None:
    """A name that is no text, with a path or a line end in it, stops nothing."""
    name = "../\udcffé\n;DROP TABLE result.csv"
    record(store, SET, [made.answered(*RIGHT, file=name)], "ml")
    assert graded(store, SET.token)[0].given.source.file == name.replace("\udcff", "?")
    (same,) = record(store, SET, [made.answered(*RIGHT, file=name)], "ml").recorded
    assert same.what == "same"
