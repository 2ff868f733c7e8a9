"""`quizgen drill hunt` as a student types it, with lines from standard input."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Say = Callable[..., Any]
BOXES = set("│┌┐└┘├┤┬┴┼─━═║╔╗╚╝")
CASES = Path(__file__).parents[1] / "cases"
HUNT = ("--circuit", "washer-pump", "--level", "easy", "--seed", "typed")


@pytest.fixture
def say(quizgen: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Say:
    """say(lines, *args): run `quizgen drill hunt` with `args`, the lines typed in."""
    monkeypatch.setenv("QUIZGEN_DATA", str(tmp_path / "data"))

    def run(lines: str, *args: str) -> Any:
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))
        return quizgen("drill", "hunt", *args)

    return run


def test_a_hunt_from_the_complaint_to_the_debrief(say: Say) -> None:
    """Left in the middle it goes on; once it is over the next one is another."""
    first = say("look\nm gb1+\nnote the fuse\nquit\n", *HUNT)
    assert first.code == 0
    for said in ("Fault hunt:", "One thing is wrong", "isolate the battery", "volts, red GB1.+",
                 "Written down", "The hunt is kept"):  # fmt: skip
        assert said in " ".join(first.out.split()), said
    again = say("state\nfrob\njumper gb1+ gb1-\nrepair gb1\nwatch\n", *HUNT)
    told = " ".join(again.out.split())
    assert again.code == 0
    for said in ("Going on where you left off", "the fuse", "No command, point or control 'frob'",
                 "Stopped: straight across supply and ground", "The fault was:", "Your course",
                 "The best course", "Score:", "One thing to try next time"):  # fmt: skip
        assert said in told, said
    assert again.err == ""
    assert "One thing is wrong" in " ".join(say("", *HUNT).out.split())


def test_plain_has_no_box_characters_and_no_control_codes(say: Say) -> None:
    """The diagram comes in words, and every line can be read aloud in order."""
    done = say("look\nlook M1\nhelp\ninfo M1\ninfo\nwatch\npast\nstate\n", *HUNT, "--plain")
    assert not BOXES & set(done.out)
    assert "\x1b" not in done.out
    assert "M1" in done.out


def test_ascii_draws_without_box_characters(say: Say) -> None:
    """All of the drawing is ASCII."""
    done = say("look all\n", *HUNT, "--ascii")
    assert not BOXES & set(done.out)
    assert "GB1" in done.out


def test_part_of_a_tall_diagram_is_shown_around_a_part(
    say: Say, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In 24 lines the drawing takes no more than the screen, and the part is in it."""
    monkeypatch.setenv("LINES", "24")
    monkeypatch.setenv("COLUMNS", "80")
    done = say("look M1\nlook nonsense\n", *HUNT)
    shown = done.out.partition("> look M1")[2].partition("Lines ")[0]
    assert "M1" in shown
    assert len(shown.splitlines()) < 24
    assert "nonsense is not in the drawing" in " ".join(done.out.split())


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("--level", "brutal"), "no level 'brutal'"),
        (("--topic", "cooking"), "no topic 'cooking'"),
        (("--circuit", "blowerpack"), "did you mean blower-pack"),
        (("--scenario", "nowhere"), "no scenario 'nowhere'"),
    ],
)
def test_a_wrong_wish_is_told_in_one_line(say: Say, args: tuple[str, ...], says: str) -> None:
    """Exit code 2 and what would be right."""
    done = say("", *args)
    assert done.code == 2
    assert says in done.err
    assert done.err.count("\n") == 1


def test_a_circuit_of_ones_own_is_hunted_on_and_missed_when_it_is_gone(
    say: Say, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By its file, from another folder too; a label gives the same fault wherever the file lies."""
    monkeypatch.chdir(tmp_path)
    file = Path("relay-contact.yaml")
    file.write_bytes((CASES / "items" / file).read_bytes())
    first = say("watch\nquit\n", "--circuit", str(file), "--seed", "mine")
    assert "Fault hunt: A lamp behind a relay\n" in first.out
    (tmp_path / "a").mkdir()
    monkeypatch.chdir(tmp_path / "a")
    assert "Going on" in say("", "--circuit", str(Path("..") / file), "--seed", "mine").out
    moved = Path(file.name)
    moved.write_bytes((tmp_path / file).read_bytes())
    again = say("watch\nquit\n", "--circuit", str(moved), "--seed", "mine")
    assert again.out == first.out
    (tmp_path / file).unlink()
    done = say("", "--circuit", str(Path("..") / file), "--seed", "mine")
    assert done.code == 2
    assert "no such file; start a new hunt" in done.err


def test_where_a_level_cannot_be_had_the_nearest_is_given_and_said(say: Say) -> None:
    """In a circuit of one lamp and one switch nothing leaves fifteen places."""
    file = str(CASES / "items" / "open-lamp.yaml")
    told = " ".join(say("", "--circuit", file, "--level", "hard", "--seed", "1").out.split())
    assert "You asked for hard; nothing of that level turned up here. This one is " in told


def test_an_edited_log_is_refused_with_its_line(say: Say, tmp_path: Path) -> None:
    """Nobody goes on with a hunt that somebody has touched."""
    log = tmp_path / "mine.jsonl"
    say("watch\n", *HUNT, "--log", str(log))
    log.write_text(log.read_text().replace('"watch"', '"note"'))
    done = say("", "--log", str(log))
    assert done.code == 2
    assert "line 2: the log was altered" in done.err


def test_a_log_killed_in_its_first_line_begins_anew(say: Say, tmp_path: Path) -> None:
    """Nothing was told yet, so nothing is lost, and nobody is stuck with a torn file."""
    log = tmp_path / "torn.jsonl"
    log.write_text('{"action": {"circ')
    done = say("watch\n", *HUNT, "--log", str(log))
    assert done.code == 0
    assert "One thing is wrong" in " ".join(done.out.split())
    assert "Going on" in say("", "--log", str(log)).out


def test_a_new_hunt_never_writes_over_a_file(say: Say, tmp_path: Path) -> None:
    """--new with a log that is there is refused, and the file stays as it was."""
    log = tmp_path / "mine.jsonl"
    log.write_text("mine")
    done = say("", *HUNT, "--new", "--log", str(log))
    assert done.code == 2
    assert "needs another one" in done.err
    assert log.read_text() == "mine"
