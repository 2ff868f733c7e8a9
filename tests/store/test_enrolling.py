"""A school's lists in the store: nobody twice, nobody lost, known again under another name."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select
from sqlalchemy.event import listen

from quizgen.base.errors import FileError, InputError, Place
from quizgen.forms.roster import Student
from quizgen.forms.school_list import ListedClass, ListedStudent, Session
from quizgen.store import tables as t
from quizgen.store.classes import SchoolClass, Taught, assign, taught
from quizgen.store.database import Store, open_store
from quizgen.store.enrolling import Change, Enrolled, enrol
from quizgen.store.gradebook import record
from quizgen.store.merging import merge
from quizgen.store.same_people import Confirmed
from quizgen.store.school_ids import meant_class, school_ids, teacher
from tests.reports.terms import Week, a_set, answers

NOTHING = Change()
SPRING = Session(id="t-2", start="2027-02-01", end="2027-06-30")
AUTUMN = Session(id="t-1", start="2026-08-15", end="2027-01-31")


def fresh_store(folder: str, name: str) -> Store:
    """A store that does not have to outlive a power cut."""
    store = open_store(str(Path(folder) / f"{name}.sqlite"))
    listen(store.engine, "connect", lambda c, _: c.execute("PRAGMA synchronous=OFF"))
    store.engine.dispose()
    return store


@pytest.fixture
def quick(tmp_path: Path) -> Iterator[Store]:
    """A store in SQLite; what depends on the database is tested in both, with `store`."""
    made = fresh_store(str(tmp_path), "grades")
    yield made
    made.close()


def person(id_: str, name: str, number: str = "", *, left: bool = False) -> ListedStudent:
    """A student of the lists."""
    return ListedStudent(
        sourced_id=id_, number=number, name=name, left=left, where=Place("users.csv", 2)
    )


ADA, BO = person("u-1", "Ada Krol", "S-001"), person("u-2", "Bo Lind", "S-002")


def listed(*students: ListedStudent, id_: str = "cl-1", name: str = "Evening A") -> ListedClass:
    """A class of the lists."""
    return ListedClass(
        sourced_id=id_, name=name, course="Machine electrics", term="2026-autumn", school="org-1",
        sessions=(AUTUMN,), teacher="Rosa Adeyemi", gone=False, students=students,
    )  # fmt: skip


def take(
    store: Store, *classes: ListedClass, same: str = "", apart: str = "", today: str = "2026-11-28"
) -> Enrolled:
    """Take lists in."""
    confirmed = Confirmed(same=frozenset(same.split()), apart=frozenset(apart.split()))
    return enrol(store, classes, today=today, confirmed=confirmed)


def changes(done: Enrolled) -> tuple[Change, Change, Change]:
    """What happened."""
    return done.classes, done.students, done.places


def stored(store: Store) -> dict[str, dict[str, str]]:
    """Class → its students."""
    return {found.school_class.name: found.students for found in taught(store)}


def the(store: Store, name: str = "Evening A") -> Taught:
    """One class."""
    return next(found for found in taught(store) if found.school_class.name == name)


def graded_before(store: Store, id_: str, name: str, token: int = 1) -> None:
    """A set that somebody of this id and name handed in, of no class."""
    week = Week(0, ((0, 2),), (0,), seed=3)
    the_set = a_set(token, week, (Student(id=id_, name=name, form="A"),))
    record(store, the_set, answers(week, the_set), "M. L.")


def test_lists_twice_change_nothing(store: Store) -> None:
    """In both databases: the first time all is new, the second time nothing is."""
    first = take(store, listed(ADA, BO))
    assert changes(first) == (Change(added=1), Change(added=2), Change(added=2))
    assert first.rosters[0][1] == {"S-001": "Ada Krol", "S-002": "Bo Lind"}
    again = take(store, listed(ADA, BO), today="2026-12-24")
    assert changes(again) == (NOTHING, NOTHING, NOTHING)
    assert again.rosters == first.rosters
    assert stored(store) == {"Evening A": {"S-001": "Ada Krol", "S-002": "Bo Lind"}}


def test_an_id_that_was_mistyped_is_told(quick: Store) -> None:
    """Who is confirmed has to be on the lists, and is one person or two; nothing is taken in."""
    with pytest.raises(InputError, match=r"--same 'S-0011': nobody on the lists .* S-001"):
        take(quick, listed(ADA), same="S-0011")
    with pytest.raises(InputError, match="not both"):
        take(quick, listed(ADA), same="S-001", apart="S-001")
    assert stored(quick) == {}


def test_another_name_is_the_same_class_and_the_same_student(store: Store) -> None:
    """Sets, places and results stay where they are; the old name is free for another class."""
    take(store, listed(ADA, BO))
    week = Week(0, ((0, 2),), (0,), seed=3)
    the_set = a_set(1, week, (Student(id="S-001", name="Ada Krol", form="A"),))
    held = SchoolClass(name="Evening A", course="Machine electrics", term="2026-autumn")
    assign(store, the_set, held, instructor="Rosa Adeyemi", day="2026-11-02")
    done = take(store, listed(replace(ADA, name="Ada Vale"), BO, name="Late A"))
    assert changes(done) == (Change(changed=1), Change(changed=1), NOTHING)
    assert the(store, "Late A").students["S-001"] == "Ada Vale"
    assert [lesson.name for lesson in the(store, "Late A").lessons] == ["set-1"]
    assign(store, a_set(2, week, ()), held, instructor="", day="2026-11-09")
    assert {n: len(the(store, n).lessons) for n in ("Late A", "Evening A")} == {
        "Late A": 1, "Evening A": 1}  # fmt: skip


def test_who_leaves_keeps_their_results_and_may_come_back(store: Store) -> None:
    """Off the list is left; one without answers is counted no more, one with answers is."""
    take(store, listed(ADA, BO, person("u-3", "Cleo Marsh", "S-003")))
    week = Week(0, ((0, 2),), (0,), seed=3)
    the_set = a_set(1, week, (Student(id="S-001", name="Ada Krol", form="A"),))
    assign(store, the_set, the(store).school_class, instructor="", day="2026-11-02")
    record(store, the_set, answers(week, the_set), "M. L.")
    done = take(store, listed(replace(ADA, left=True), BO))
    assert changes(done)[2] == Change(ended=2)
    assert changes(take(store, listed(replace(ADA, left=True), BO)))[2] == NOTHING
    assert set(the(store).students) == {"S-001", "S-002"}
    assert the(store).left == {"S-001", "S-003"}
    assert the(store).lessons[0].tally.students == ("S-001",)
    assert changes(take(store, listed(ADA, BO)))[2] == Change(added=1)
    assert the(store).left == {"S-003"}


def test_a_class_that_the_school_takes_off_ends(quick: Store) -> None:
    """All have left it; one that had gone before it ever came is none of ours."""
    take(quick, listed(ADA, BO))
    gone = replace(listed(ADA, BO), gone=True)
    done = take(quick, gone, replace(gone, sourced_id="cl-9", name="Morning"))
    assert changes(done) == (Change(ended=1), NOTHING, Change(ended=2))
    assert stored(quick) == {"Evening A": {}}
    assert changes(take(quick, gone)) == (NOTHING, NOTHING, NOTHING)


def test_who_has_left_before_they_came_is_not_taken_in(quick: Store) -> None:
    """An ended enrolment of a stranger adds nobody."""
    done = take(quick, listed(ADA, replace(BO, left=True)))
    assert changes(done)[1:] == (Change(added=1), Change(added=1))
    assert stored(quick) == {"Evening A": {"S-001": "Ada Krol"}}


def test_who_did_not_come_from_the_lists_does_not_leave_with_them(quick: Store) -> None:
    """A guest whom a set brought into the class stays in it."""
    take(quick, listed(ADA))
    guest = a_set(1, Week(0, ((0, 2),), ()), (Student(id="G-1", name="Guest", form="A"),))
    assign(quick, guest, the(quick).school_class, instructor="", day="2026-11-02")
    assert changes(take(quick, listed(ADA)))[2] == NOTHING
    assert the(quick).students["G-1"] == "Guest"


@pytest.mark.parametrize("known_as", ["u-1", "S-001"], ids=["sourcedId", "identifier"])
def test_a_student_of_earlier_results_stays_the_same_student(quick: Store, known_as: str) -> None:
    """Under the lists' id or the school's number, also where the family name is another one."""
    graded_before(quick, known_as, "Krol, ada")
    done = take(quick, listed(replace(ADA, name="Ada Vale")))
    assert done.known == 1
    assert the(quick).students == {known_as: "Ada Vale"}
    taken = take(quick, listed(replace(ADA, name="X Y", number="S-9")))
    assert changes(taken) == (NOTHING, Change(changed=1), NOTHING)


def test_one_id_and_two_names_is_asked_about(quick: Store) -> None:
    """Nobody gets another's results unasked; --same and --apart decide, once and for all."""
    graded_before(quick, "S-001", "Quin Ferro")
    with pytest.raises(FileError) as caught:
        take(quick, listed(ADA, BO))
    assert str(caught.value) == (
        "users.csv, line 2: S-001 is Quin Ferro in the store and Ada Krol here; say --same S-001 "
        "if they are one person, --apart S-001 if they are two"
    )
    assert stored(quick).keys() == {""}  # nothing was taken in
    take(quick, listed(ADA, BO), apart="S-001")
    assert set(the(quick).students) == {"u-1", "S-002"}
    assert changes(take(quick, listed(ADA, BO))) == (NOTHING, NOTHING, NOTHING)


def test_they_are_one_person_if_somebody_says_so(quick: Store) -> None:
    """--same takes the student over, with the name that the lists have."""
    graded_before(quick, "S-001", "Quin Ferro")
    take(quick, listed(ADA), same="S-001")
    assert the(quick).students == {"S-001": "Ada Krol"}


def test_two_people_never_share_an_id(quick: Store) -> None:
    """One's number is the other's id: both get an id of their own, whatever the order."""
    first, second = person("7", "Ada Krol"), person("u-2", "Bo Lind", "7")
    take(quick, listed(second, first))
    assert sorted(the(quick).students.values()) == ["Ada Krol", "Bo Lind"]
    assert len(the(quick).students) == 2


def test_two_people_never_share_a_student_of_before(quick: Store) -> None:
    """Two Adas claim the student 7 of earlier results: it is one of them alone."""
    graded_before(quick, "7", "Ada Krol")
    take(quick, listed(person("u-1", "Ada Krol", "7"), person("7", "Ada Vale")))
    assert len(the(quick).students) == 2
    assert "7" in the(quick).students


def test_a_class_that_had_sets_before_the_lists_came_is_known(quick: Store) -> None:
    """Same name and no other course or term; one of another term is another class."""
    week, term = Week(0, ((0, 2),), (0,), seed=3), "2026-autumn"
    for number, held in enumerate((SchoolClass(name="Evening A", term=term),
                                   SchoolClass(name="Evening A", term="2025-autumn"))):  # fmt: skip
        assign(quick, a_set(number, week, ()), held, instructor="", day="2026-11-02")
    take(quick, listed(ADA))
    found = {f.school_class: len(f.lessons) for f in taught(quick)}
    assert found == {
        SchoolClass(name="Evening A", course="Machine electrics", term=term): 1,
        SchoolClass(name="Evening A", term="2025-autumn"): 1,
    }


def test_new_ids_for_an_old_class_and_its_students(quick: Store) -> None:
    """A school that gives out new ids still has the same class, students and results."""
    take(quick, listed(ADA))
    done = take(quick, listed(person("n-1", "Ada Krol", "S-001"), id_="n-cl"))
    assert stored(quick) == {"Evening A": {"S-001": "Ada Krol"}}
    assert changes(done)[2] == NOTHING


def test_the_schools_ids_of_a_set(store: Store) -> None:
    """School, class, the term that the day falls into, and every student's id."""
    both = replace(listed(ADA, BO), sessions=(AUTUMN, SPRING))
    take(store, both)
    week = Week(0, ((0, 2),), (0,))
    for number, (day, session) in enumerate([
        ("2026-08-01", "t-1"), ("2027-01-31", "t-1"), ("2027-02-01", "t-2"), ("2027-09-01", "t-2"),
    ]):  # fmt: skip
        the_set = a_set(number, week, ())
        assign(store, the_set, the(store).school_class, instructor="", day=day)
        found = school_ids(store, the_set.token)
        assert found is not None
        assert (found.school, found.klass, found.session) == ("org-1", "cl-1", session)
        assert found.students == {"S-001": "u-1", "S-002": "u-2"}
    assign(store, a_set(9, week, ()), SchoolClass(name="ours"), instructor="", day="2026-11-02")
    assert school_ids(store, "set00009") is None
    assert teacher(store, the(store).school_class) == "Rosa Adeyemi"
    assert teacher(store, SchoolClass(name="ours")) == ""
    assert meant_class(store, SchoolClass(name="Evening A")) == the(store).school_class
    assert meant_class(store, SchoolClass(name="Evening A", term="2027-autumn")).course == ""


people = st.dictionaries(
    st.integers(0, 5), st.tuples(st.booleans(), st.sampled_from(["", "N1", "N2", "N3"])), max_size=4
)
months = st.lists(st.lists(people, min_size=2, max_size=2), min_size=1, max_size=4)


@settings(max_examples=25, deadline=None)
@given(months, st.integers(0, 100))
def test_whatever_the_months_bring(
    year: list[list[dict[int, tuple[bool, str]]]], seed: int
) -> None:
    """After each month those are in a class whom its list has; each sourcedId is one student ever.

    The order of a list is no matter, and the same lists again change nothing.
    """
    with tempfile.TemporaryDirectory() as folder:
        store, ids = fresh_store(folder, "grades"), dict[str, str]()
        for month in year:
            classes = [
                listed(
                    *(person(f"u-{n}", f"Given Name{n}", f"{number}{n}" if number else "", left=out)
                      for n, (out, number) in of.items()),
                    id_=f"cl-{i}", name=f"Class {i}",
                )
                for i, of in enumerate(month)
            ]  # fmt: skip
            random.Random(seed).shuffle(classes)
            done = take(store, *classes)
            for listed_class, (_, roster) in zip(classes, done.rosters, strict=True):
                here = {s.sourced_id: s.name for s in listed_class.students if not s.left}
                assert sorted(roster.values()) == sorted(here.values())
                for id_, name in here.items():
                    (ours,) = (i for i, called in roster.items() if called == name)
                    assert ids.setdefault(id_, ours) == ours
                found = the(store, listed_class.name)
                assert set(found.students) - found.left == set(roster)
            assert changes(take(store, *classes)) == (NOTHING, NOTHING, NOTHING)
        store.close()


def test_merging_two_stores_that_took_in_the_same_lists(tmp_path: Path) -> None:
    """One had a class of the name before, one got the new name: afterwards it is one class."""
    mine, other = (fresh_store(str(tmp_path), name) for name in ("mine", "other"))
    week = Week(0, ((0, 2),), (0,), seed=3)
    for number, store in enumerate((mine, other)):
        if store is other:
            assign(store, a_set(number, week, ()), SchoolClass(name="Evening A"),
                   instructor="", day="2026-11-02")  # fmt: skip
        take(store, listed(ADA, BO))
        assign(store, a_set(5 + number, week, ()), the(store).school_class, instructor="",
               day="2026-11-09")  # fmt: skip
    with other.writing() as connection:  # an hour later
        connection.exec_driver_sql("UPDATE listed_class SET at = '2999-01-01T00:00:00Z'")
        connection.exec_driver_sql("UPDATE listed_place SET at = '2999-01-01T00:00:00Z', "
                                   "left_on = '2026-12-01' WHERE student = 'S-002'")  # fmt: skip
        connection.execute(t.school_class.update().values(name="Late A"))
    merge(mine, other)
    assert len(list(taught(mine))) == 1
    found = the(mine, "Late A")
    assert {lesson.name for lesson in found.lessons} == {"set-1", "set-5", "set-6"}
    assert found.left == {"S-002"}
    with mine.reading() as connection:
        before = connection.execute(select(t.enrolment)).all()
    assert merge(mine, other).classes == 0
    with mine.reading() as connection:
        assert connection.execute(select(t.enrolment)).all() == before
    merge(other, mine)
    assert [f.school_class for f in taught(other)] == [f.school_class for f in taught(mine)]
    assert the(other, "Late A").left == {"S-002"}
    mine.close()
    other.close()
