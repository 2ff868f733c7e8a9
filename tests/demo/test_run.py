"""A term of one class and one week, from its file to the index page."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from click.testing import CliRunner

from quizgen.base.paths import data_folder
from quizgen.demo.__main__ import demo
from quizgen.demo.term import load_term

SHIPPED = data_folder("scenarios") / "brindlemere" / "term.yaml"
SMALL = """
format: 1
name: short-term
scenario: brindlemere
course: Lamps (answers simulated)
starts: 2026-09-07
seed: 1
secret: nobody needs to know this
classes:
  - {name: Night class, instructor: 1, students: 3, day: 1, hands_in: table, prints: last,
     level: 0, spread: 1}
withdrawn: [{class: Night class, week: 1, item: A/1, why: it was on the board}]
weeks:
  - title: A lamp
    circuits: [push-button-relay]
    blueprint: {any: {read: 1}}
"""


def test_the_shipped_term_has_three_classes_of_two_instructors() -> None:
    """Twelve weeks, and every way to hand in."""
    term = load_term(SHIPPED)
    assert (len(term.groups), len({g.instructor for g in term.groups}), len(term.weeks)) == (
        3,
        2,
        12,
    )
    assert {g.hands_in for g in term.groups} == {"sheets", "terminal", "table"}
    assert (term.ends - term.starts).days == 83
    assert term.starts.strftime("%A") == "Monday"
    assert {g.name.split()[0] for g in term.groups} == {
        term.day(g, term.weeks[0]).strftime("%A") for g in term.groups
    }


def test_a_small_term_runs_through(tmp_path: Path) -> None:
    """Every link of the index leads to something; again only when asked to; nothing else goes."""
    file, out = tmp_path / "term.yaml", tmp_path / "out"
    file.write_text(SMALL, encoding="utf-8")
    ran = CliRunner().invoke(demo, [str(file), "--out", str(out), "--jobs", "1"])
    assert ran.exit_code == 0, ran.output
    page = (out / "index.html").read_text(encoding="utf-8")
    links = [unescape(link) for link in re.findall(r'<a href="([^"]+)"', page)]
    assert len(links) > 15
    assert [link for link in links if not (out / link).exists()] == []
    assert "answers are simulated" in page
    scored = (out / "night-class" / "week-01" / "commands.txt").read_text(encoding="utf-8")
    assert "$ quizgen grade score" in scored
    assert "the store has results of" in scored
    assert "--withdraw --why 'it was on the board'" in scored
    mine = out / "notes.txt"
    mine.write_text("mine", encoding="utf-8")
    again = CliRunner().invoke(demo, [str(file), "--out", str(out), "--jobs", "1"])
    assert again.exit_code == 2
    assert "--again" in again.output


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("2026-09-07", "Monday", "expected a day such as"),
        ("hands_in: table", "hands_in: post", "post"),
        ("instructor: 1", "instructor: 7", "2 instructors"),
        ("level: 0", "mood: 0", "mood"),
        ("{read: 1}", "{read: 0}", "read"),
        ("hands_in: table", "hands_in: sheets", "needs pages every week"),
        ("class: Night class", "class: Day class", "Day class"),
    ],
)
def test_what_is_wrong_with_a_term_is_one_line(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    """Said before anything is built."""
    file, out = tmp_path / "term.yaml", tmp_path / "out"
    file.write_text(SMALL.replace(old, new), encoding="utf-8")
    ran = CliRunner().invoke(demo, [str(file), "--out", str(out)])
    assert ran.exit_code == 2
    assert said in ran.output
    assert len(ran.output.strip().splitlines()) == 1
    assert not out.exists()
