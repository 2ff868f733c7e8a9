"""`quizgen drill` as a student types it, with lines from standard input."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from quizgen.cli import drill_practice
from quizgen.drill.action_log import append_action
from quizgen.forms.handed_in import read_handed_in
from quizgen.publish.pack import write_pack
from tests.drill.making import QuickMaking
from tests.publish.test_pack import pack

Say = Callable[..., Any]
CASES = Path(__file__).parents[1] / "cases"
BOXES = set("│┌┐└┘├┤┬┴┼─━═║")


@pytest.fixture(autouse=True)
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own for what is kept, and a quick maker of questions."""
    monkeypatch.setenv("QUIZGEN_DATA", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(drill_practice, "MakingProcess", QuickMaking)
    return tmp_path


@pytest.fixture
def say(quizgen: Say, monkeypatch: pytest.MonkeyPatch) -> Say:
    """say(lines, *args): run `quizgen drill` with `args`, the lines typed in."""

    def run(lines: str, *args: str) -> Any:
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))
        return quizgen("drill", *args)

    return run


def test_practice_on_one_circuit(say: Say, at_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file goes to the maker by its whole path; what is no circuit is told before anything."""
    asked = []

    def making(circuit: str) -> QuickMaking:
        asked.append(circuit)
        return QuickMaking()

    monkeypatch.setattr(drill_practice, "MakingProcess", making)
    mine = at_home / "open-lamp.yaml"
    mine.write_bytes((CASES / "items" / mine.name).read_bytes())
    assert say("", "--circuit", mine.name).code == 0
    assert say("", "--circuit", "washer-pump").code == 0
    assert asked == [str(mine), "washer-pump"]
    done = say("", "--circuit", "washerpump")
    assert (done.code, done.out) == (2, "")
    assert "did you mean washer-pump?" in done.err


def test_a_first_sitting(say: Say) -> None:
    """Cautions and how it works, a question, a reason for the answer, and a way on."""
    done = say("\nab\nquit\n")
    assert done.code == 0
    for said in ("isolate the battery", "Type the letter", "Question 1", "The answer: A C",
                 "E2: 25.1 V", "comes back", "Everything is kept"):  # fmt: skip
        assert said in " ".join(done.out.split()), said
    assert done.err == ""


def test_the_input_may_end_anywhere(say: Say) -> None:
    """Without quit nothing is lost: the open question is there the next time, hint and all."""
    say("\nskip\n\nhint\n")
    done = say("\ndacb\n")
    assert "0 questions answered so far" in done.out
    assert "left open is waiting" in " ".join(done.out.split())
    assert "Question 2." in done.out
    assert "D A C B is right" in done.out
    rows = json.loads(say("", "export").out)["answers"]
    assert [(r["number"], r["right"], r["hints"]) for r in rows] == [(1, None, 0), (2, True, 1)]


def test_no_control_characters_in_a_pipe(say: Say) -> None:
    """Nothing but text, and no line wider than 80 columns."""
    out = say("\nhint\nac\nall\n\nsymbols\nb\nTopics\nstatus\n?\n").out
    assert not [c for c in out if c < " " and c != "\n"]
    assert max(map(len, out.splitlines())) <= 80
    assert " 1   lamps" in out


def test_plain_is_for_the_ear(say: Say) -> None:
    """No drawn lines in any page, and the diagram in words."""
    out = say("\nac\n\ndacb\n\nc\nstatus\ntopics\n", "--plain").out
    assert not set(out) & BOXES
    assert "A: E1" in out


def test_status_says_what_is_known(say: Say) -> None:
    """In words with ranges, and as data with the same figures."""
    assert "Nothing has been answered" in say("", "status").out
    say("\nac\n\nskip\n")
    said = " ".join(say("", "status").out.split())
    assert "1 answered, 1 of them right without a hint, 1 skipped" in said
    assert "needs more evidence" in said
    data = say("", "status", "--json").data
    (topic,) = data["topics"]
    assert (topic["right"], topic["total"], topic["verdict"]) == (1, 1, "unsure")
    assert topic["low"] == pytest.approx(0.2065, abs=1e-4)  # Wilson, 1 of 1, by scipy


def test_export_is_a_table(say: Say) -> None:
    """CSV of RFC 4180 with one row for each question that was left."""
    assert say("", "export").code == 2
    say("\nab\n\nskip\n", "--student", "s-117")
    rows = list(csv.DictReader(io.StringIO(say("", "export", "--csv", "--student", "s-117").out)))
    assert [row["right"] for row in rows] == ["false", ""]
    assert rows[0]["misconceptions"] == "branch"
    assert json.loads(say("", "export", "--student", "s-117").out)["student"] == "s-117"
    assert say("", "export").code == 2  # another record


def test_hunts_are_exported_act_by_act(say: Say, at_home: Path) -> None:
    """As they were logged; an edited log is named and the others are still there."""
    hunts = at_home / "data" / "drill" / "student" / "hunts"
    hunts.mkdir(parents=True)
    for name in ("a", "b"):
        append_action(hunts / f"{name}.jsonl", {"do": "measure", "came": "12.3 V"})
    (hunts / "b.jsonl").write_text((hunts / "b.jsonl").read_text().replace("12.3", "12.4"))
    first, second = json.loads(say("", "export").out)["hunts"]
    assert first == {"log": "a.jsonl", "acts": [{"do": "measure", "came": "12.3 V"}]}
    assert "altered" in second["altered"]


def test_erase_asks_first(say: Say, at_home: Path) -> None:
    """No keeps all, yes deletes the folder, and a second time there is nothing."""
    say("\nac\n")
    folder = at_home / "data" / "drill" / "student"
    assert "Nothing was deleted" in say("n\n", "erase").out
    assert folder.is_dir()
    assert "deleted" in say("", "erase", "--yes").out
    assert not folder.exists()
    assert "nothing to delete" in say("", "erase", "--yes").out


def test_an_option_before_a_command_is_not_passed_over(say: Say, at_home: Path) -> None:
    """Erasing with the student named too early must not erase somebody else."""
    say("\nac\n")
    done = say("", "--student", "s-117", "erase", "--yes")
    assert (done.code, done.err.count("\n")) == (2, 1)
    assert "--student stands before erase" in done.err
    assert (at_home / "data" / "drill" / "student").is_dir()


def test_topics_are_named_or_one_line_says_what_is_wrong(say: Say) -> None:
    """A topic that there is not: code 2 and the nearest name."""
    assert "Question 1. Switches" in say("\n", "--topic", "switches").out
    done = say("\n", "--topic", "swiches")
    assert done.code == 2
    assert done.err.count("\n") == 1
    assert "did you mean switches" in done.err


def test_the_figure_is_written_and_its_place_said(say: Say) -> None:
    """A page for a browser with the drawing and its words."""
    out = say("\nskip\nskip\nskip\nopen\n").out  # the fourth of the made-up questions has a figure
    (path,) = [Path(line) for line in out.splitlines() if line.endswith(".html")]
    page = path.read_text(encoding="utf-8")
    assert "<svg" in page
    assert "F1, fuse, 10 A." in page


def test_a_set_is_answered_and_handed_in(say: Say, at_home: Path) -> None:
    """Stopped in between, changed, finished: the file has the last answers and every step."""
    path = write_pack(pack(), at_home / "a.pack.json")
    done = say("\nb\n", "--pack", str(path))
    assert "Kept: B." in done.out
    assert "not handed in yet" in done.out
    done = say("\nc\nfinish\n", "--pack", str(path))
    assert "answered 1 of 1" in " ".join(done.out.split())
    (handed,) = at_home.glob("*.response.json")
    record = read_handed_in(handed)
    assert (record.student, record.form, record.answers) == ("s-117", "A", {1: "C"})
    assert [step.answer for step in record.steps] == ["B", "C"]


@pytest.mark.parametrize(
    "option", [("--topic", "lamps"), ("--circuit", "horn-pair"), ("--open",)], ids=lambda o: o[0]
)
def test_what_a_pack_does_not_heed_is_refused(say: Say, option: tuple[str, ...]) -> None:
    """The instructor has chosen the questions."""
    done = say("\n", "--pack", "week.pack.json", *option)
    assert done.code == 2
    assert f"{option[0]} is for practice" in done.err


def test_a_set_of_somebody_else_or_an_edited_one_is_refused(say: Say, at_home: Path) -> None:
    """One line each, code 2."""
    path = write_pack(pack(), at_home / "a.pack.json")
    done = say("\n", "--pack", str(path), "--student", "s-118")
    assert (done.code, done.err.count("\n")) == (2, 1)
    assert "s-117" in done.err
    path.write_text(path.read_text("utf-8").replace("Orchard", "orchard"), "utf-8")
    done = say("\n", "--pack", str(path))
    assert (done.code, done.err.count("\n")) == (2, 1)
    assert "was changed" in done.err


def test_a_name_that_is_a_path_is_refused(say: Say) -> None:
    """A record never lies outside its folder."""
    for command in ((), ("status",), ("export",), ("erase", "--yes")):
        done = say("\n", *command, "--student", "../x")
        assert (done.code, done.err.count("\n")) == (2, 1)
