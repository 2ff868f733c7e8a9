"""`quizgen coverage`: lists in, sets assigned, and what every command says of an odd store."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from quizgen.forms.plan import load_plan
from quizgen.forms.problem_set import ProblemSet, write_problem_set
from quizgen.forms.roster import Student, read_roster
from quizgen.items import topics
from quizgen.store.database import open_store
from quizgen.store.gradebook import record
from tests.forms.listed import archive, folder, lists, place, texts, user
from tests.reports.terms import Week, a_set, answers, keep

Run = Callable[..., Any]
REPORTS = ("show", "write", "term", "suggest")
WEEK = Week(0, ((0, 2), (1, 3)), (0,), "2026-09-07", 1)


@pytest.fixture
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own, where the default store and outputs lie."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("QUIZGEN_STORE", raising=False)
    return tmp_path


def a_store(*weeks: Week, size: int = 1) -> None:
    """The default store with these weeks."""
    store = open_store("grades.sqlite")
    keep(store, weeks, size)
    store.close()


def one_line(text: str) -> bool:
    """Whether an error is one, in the program's form."""
    return text.startswith("quizgen: ") and text.count("\n") == 1


def call(quizgen: Run, command: str, *args: str) -> Any:
    """One of the reports, with a name where it needs one."""
    return quizgen("coverage", command, *(["next"] if command == "suggest" else []), *args)


def test_nothing_there_is_said_by_every_report(quizgen: Run, at_home: Path) -> None:
    """No file: one line, and none is made. An empty store: show says so, suggest begins anyway."""
    for command in REPORTS:
        done = call(quizgen, command)
        assert (done.code, one_line(done.err)) == (2, True)
        assert "there is no such store" in done.err
    assert list(at_home.iterdir()) == []
    a_store()
    assert "The store has no sets yet" in quizgen("coverage").out
    assert quizgen("coverage", "--json").data["classes"] == []
    for command in ("write", "term"):
        done = call(quizgen, command)
        assert (done.code, one_line(done.err)) == (2, True)
        assert "no sets yet; assign and grade some first" in done.err
    assert "never met" in call(quizgen, "suggest").out
    assert load_plan(at_home / "next.yaml").name == "next"


def test_a_class_without_answers_and_one_student(quizgen: Run, at_home: Path) -> None:
    """Each report of a class that nobody answered for and of one with a single student."""
    a_store(Week(0, ((0, 2),), ()), Week(1, ((1, 3),), (0,), seed=1))
    shown = quizgen("coverage", "--all", "--on", "2026-09-14")
    assert (shown.code, shown.err) == (0, "")
    assert "Class 0  autumn         1     1         0        0" in shown.out
    assert "Class 1  autumn         1     1         1        0" in shown.out
    assert " nan" not in shown.out
    written = quizgen("coverage", "write", "--on", "2026-09-14")
    assert written.out.split() == ["coverage.html", "coverage.pdf", "coverage.csv"]
    table = list(csv.DictReader(io.StringIO((at_home / "coverage.csv").read_text("utf-8"))))
    assert {row["class"]: row["answered"] for row in table if row["topic_or_code"] == "voltmeter"}
    signed = quizgen("coverage", "term", "--class", "Class 0")
    (report,) = signed.out.split()
    assert Path(report).read_bytes().startswith(b"%PDF")
    assert "never met" in quizgen("coverage", "suggest", "next").out
    again = quizgen("coverage", "suggest", "next")
    assert (again.code, "exists already" in again.err) == (2, True)


@pytest.fixture
def renamed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A topic map in which lamps are called motors by now."""
    there = tmp_path / "templates" / "coverage"
    there.mkdir(parents=True)
    text = (topics.data_folder("templates") / "coverage" / topics.FILE).read_text("utf-8")
    (there / topics.FILE).write_text(text + "\nrenamed: {lamps: motors}\n", encoding="utf-8")
    monkeypatch.setattr(topics, "data_folder", lambda name: tmp_path / name)
    topics.topic_id.cache_clear()
    yield
    topics.topic_id.cache_clear()


@pytest.mark.usefixtures("renamed")
def test_a_topic_that_was_renamed_between_weeks(quizgen: Run, at_home: Path) -> None:
    """The weeks before and after are one topic in the terminal and in the plan."""
    a_store(WEEK, Week(0, ((0, 3), (1, 2)), (0,), "2026-09-14", 2))
    out = quizgen("coverage", "--on", "2026-09-21").out
    assert "  lamps" not in out
    cells = quizgen("coverage", "--json").data["cells"]
    planned = {c["level"]: c["figures"]["planned"] for c in cells if c["topic"] == "motors"}
    assert planned == {"interpret": 4, "choose": 4}  # two places of each week
    # a circuit may still go by the old name; what was met under the new one is no hole
    assert "lamps x interpret: never met" not in quizgen("coverage", "suggest", "next").out


def test_a_mapping_of_ones_own(quizgen: Run, at_home: Path) -> None:
    """A code that nobody else knows is shown; a topic that is none is one line in every report."""
    a_store(WEEK)
    ours = at_home / "ours.csv"
    ours.write_text("framework,code,label,topic,level\nOurs,Z-99,Lamps,lamps,\n", encoding="utf-8")
    out = quizgen("coverage", "--competencies", str(ours)).out
    assert "  Z-99        2    2      1  100 %  0\n" in out
    assert "AURETR" not in out
    ours.write_text("framework,code,label,topic,level\nOurs,Z-99,x,lmaps,\n", encoding="utf-8")
    for command in REPORTS:
        done = call(quizgen, command, "--competencies", str(ours))
        assert (done.code, one_line(done.err)) == (2, True)
        assert "ours.csv, line 2: no topic 'lmaps'; did you mean lamps?" in done.err


def test_what_is_asked_for_and_not_there(quizgen: Run, at_home: Path) -> None:
    """Unknown names offer what was meant; names that exist and exclude each other say so."""
    a_store(WEEK, Week(1, ((0, 2),), (0,)))
    for option, word in (("class", "Clas 1"), ("term", "autum"), ("course", "Fault")):
        done = quizgen("coverage", f"--{option}", word)
        assert (done.code, one_line(done.err), "did you mean" in done.err) == (2, True, True)
    done = quizgen("coverage", "--class", "Class 0", "--instructor", "M. Lindqvist")
    assert done.out == "No class has all of this: class 'Class 0', instructor 'M. Lindqvist'.\n"
    day = quizgen("coverage", "--on", "14.9.2026")
    assert (day.code, "write it as 2026-09-14" in day.err) == (2, True)


def test_no_line_is_wider_than_a_terminal(
    quizgen: Run, at_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """80 columns, long names and topics included, nothing cut off and no colour codes."""
    monkeypatch.setenv("NO_COLOR", "1")
    weeks = [Week(c, tuple((n % 5, (n + c) % 5) for n in range(10)), (0, 1, 2, 3), f"2026-09-0{c}")
             for c in (1, 2, 3)]  # fmt: skip
    a_store(*weeks, size=4)
    long = "Evening class for the people of the ice rink and the orchard"
    week = write_problem_set(a_set(7, WEEK, ()), at_home / "set-7.json")
    quizgen("coverage", "assign", str(week), "--class", long, "--term", "the autumn of 2026",
            "--store", "grades.sqlite")  # fmt: skip
    for args in ((), ("--all",), ("--class", "Class 2")):
        out = quizgen("coverage", "show", *args).out
        assert max(map(len, out.splitlines())) <= 80
        assert "\x1b" not in out
    out = quizgen("coverage").out
    for part in ("high resistance", "before the load", "Evening class for the", "and the orchard"):
        assert f"  {part}" in out


def assigned(quizgen: Run, path: Path, *args: str) -> Any:
    """Assign a set in the default store."""
    return quizgen("coverage", "assign", str(path), "--store", "grades.sqlite", *args)


def test_assign_says_what_it_did(quizgen: Run, at_home: Path) -> None:
    """Class, term, course, instructor, day; as before; another class; what is wrong in a line."""
    path = write_problem_set(a_set(1, WEEK, ()), at_home / "set-1.json")
    full = ("--class", " Evening  A ", "--term", "2026-autumn", "--course", "Electrics",
            "--instructor", "M. L.", "--on", "2026-09-14")  # fmt: skip
    told = "set-1: class Evening A, 2026-autumn, Electrics, taught by M. L., 2026-09-14"
    assert assigned(quizgen, path, *full).out == f"{told}\n"
    assert assigned(quizgen, path, *full).out == f"{told}, as before\n"
    brief = assigned(quizgen, path, "--class", "Evening A", "--on", "2026-09-15")
    assert brief.out == "set-1: class Evening A, 2026-autumn, Electrics, 2026-09-15\n"
    other = assigned(quizgen, path, "--class", "Evening A", "--term", "2027-spring")
    assert other.out.startswith("set-1: class Evening A, 2027-spring, ")
    for args, expected in [
        (("--class", "Evening A"), "2 classes are called 'Evening A'; say --term or --course: 202"),
        (("--class", "  "), "a class needs a name"),
        (("--class", "B", "--on", "tomorrow"), "'tomorrow' is no day; write it as 2026-09-14"),
        ((), "Missing option '--class'"),
    ]:
        done = assigned(quizgen, path, *args)
        assert (done.code, one_line(done.err), expected in done.err) == (2, True, True), done.err
    none = assigned(quizgen, at_home / "none.json", "--class", "B")
    assert (none.code, one_line(none.err)) == (2, True)


def test_lists_in_results_out_under_the_same_ids(quizgen: Run, at_home: Path) -> None:
    """From the school's lists over roster, set and grading back to what its gradebook reads.

    Every id of the export is one that came in; who is on no list is left out and named.
    """
    source = archive(at_home / "lists.zip", texts(lists()))
    done = quizgen("coverage", "enrol", str(source), "--rosters", "classes")
    assert done.out.splitlines() == [
        "grades.sqlite: classes: 2 new; students: 4 new; enrolments: 4 new",
        "classes/evening-a.csv", "classes/evening-b.csv",
    ]  # fmt: skip
    people = read_roster(at_home / "classes" / "evening-a.csv")
    assert [s.id for s in people] == ["S-001", "S-002", "S-003"]
    seats = tuple(Student(id=s.id, name=s.name, form="A") for s in people)
    guest = Student(id="G-1", name="Guest", form="A")
    week = Week(0, ((0, 2), (1, 3)), (0, 3), "2026-09-07", 1)
    path = grade(at_home, week, a_set(1, week, (*seats, guest)))
    assert "class Evening A, 2026-autumn, Machine electrics, taught by Rosa Adeyemi" in assigned(
        quizgen, path, "--class", "Evening A", "--on", "2026-09-14").out  # fmt: skip
    sent = quizgen("grade", "export", str(path), "--store", "grades.sqlite", "--oneroster", "r.zip")
    assert "left out, since the school's lists do not have them: G-1" in sent.out
    with zipfile.ZipFile(at_home / "r.zip") as file:
        tables = {
            name.removesuffix(".csv"): list(csv.DictReader(io.StringIO(file.read(name).decode())))
            for name in file.namelist()
        }
    came = {name: {row.get("sourcedId") for row in rows} for name, rows in lists().items()}
    (line,) = tables["lineItems"]
    assert line["classSourcedId"] in came["classes"]
    assert line["schoolSourcedId"] in came["orgs"]
    assert line["academicSessionSourcedId"] in came["academicSessions"]
    results = tables["results"]
    assert [(r["studentSourcedId"], r["scoreStatus"]) for r in results] == [
        ("u-1", "fully graded"), ("u-2", "not submitted"), ("u-3", "not submitted")]  # fmt: skip
    assert {r["classSourcedId"] for r in results} == {"cl-1"}
    objectives = tables["resultLearningObjectiveIds"]
    assert {o["resultSourcedId"] for o in objectives} <= {r["sourcedId"] for r in results}


def grade(home: Path, week: Week, the_set: ProblemSet) -> Path:
    """The set's file, its answers in the default store."""
    store = open_store("grades.sqlite")
    record(store, the_set, answers(week, the_set), "simulation")
    store.close()
    return write_problem_set(the_set, home / f"{the_set.name}.json")


def test_lists_again(quizgen: Run, at_home: Path) -> None:
    """Nothing new is said; a name, a class and a leaver are counted; a choice is a choice."""
    of = lists()
    first = quizgen("coverage", "enrol", str(folder(at_home / "l", texts(of))), "--class",
                    "Evening A")  # fmt: skip
    assert "classes: 1 new; students: 3 new; enrol" in first.out
    assert [c["name"] for c in quizgen("coverage", "--json").data["classes"]] == ["Evening A"]
    again = quizgen(
        "coverage", "enrol", "l", "--course", "Machine electrics", "--class", "Evening A"
    )
    assert again.out == "grades.sqlite: nothing new in the lists\n"
    of["users"][2]["familyName"] = "Vale"
    of["classes"][0]["title"] = "Late A"
    of["enrollments"][2]["status"] = "tobedeleted"
    of["users"].append(user("u-5", "Eli", "Brandt", "S-005"))
    of["enrollments"].append(place("cl-1", "u-5"))
    folder(at_home / "l", texts(of))
    done = quizgen("coverage", "enrol", "l", "--class", "Late A")
    assert done.out == (
        "grades.sqlite: classes: 1 changed; students: 1 new, 1 changed; "
        "enrolments: 1 new, 1 ended\n"
    )
    out = quizgen("coverage").out
    assert "Late A  2026-autumn         3     0         0        0" in out
    assert "No set is for these classes yet" in out


def test_lists_that_are_wrong_change_nothing(quizgen: Run, at_home: Path) -> None:
    """One line and code 2, and no student of the class is in the store."""
    of = lists()
    of["enrollments"].append(place("cl-2", "u-77"))
    path = str(archive(at_home / "lists.zip", texts(of)))
    a_store()
    done = quizgen("coverage", "enrol", path)
    assert (done.code, one_line(done.err)) == (2, True)
    assert "lists.zip: enrollments.csv, line 8, userSourcedId: 'u-77' is not in users" in done.err
    of["enrollments"].pop()
    path = str(archive(at_home / "lists.zip", texts(of)))
    for args, expected in [
        (("--class", "Evening C"), "no class 'Evening C' in the lists; did you mean Evening"),
        (("--course", "x"), "no course 'x' in the lists; known: Machine electrics"),
    ]:
        done = quizgen("coverage", "enrol", path, *args)
        assert (done.code, one_line(done.err), expected in done.err) == (2, True, True)
    assert quizgen("coverage", "--json").data["classes"] == []


def test_nobody_waits_for_who_has_left(quizgen: Run, at_home: Path) -> None:
    """Two sets handed in by one of three: the others are at risk, till one is off the list."""
    of = lists()
    quizgen("coverage", "enrol", str(folder(at_home / "l", texts(of))))
    seats = tuple(Student(id=f"S-00{n}", name="", form="A") for n in (1, 2, 3))
    for number, day in ((1, "2026-09-14"), (2, "2026-09-21")):
        path = grade(at_home, WEEK, a_set(number, WEEK, seats))
        assigned(quizgen, path, "--class", "Evening A", "--on", day)

    def at_risk() -> list[str]:
        data = quizgen("coverage", "--class", "Evening A", "--json").data
        return [student["student"] for student in data["classes"][0]["at_risk"]]

    assert {"S-002", "S-003"} <= set(at_risk())
    del of["enrollments"][2]
    quizgen("coverage", "enrol", str(folder(at_home / "l", texts(of))))
    assert "S-002" not in at_risk()
    assert "S-003" in at_risk()
