"""`quizgen circuit suspects` and `circuit next-test`, and the file of findings they read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
NAME = "push-button-relay"
FOUND = """\
format: 1
steps:
  - positions: {S1: on, S2: pressed}
    sees: {M1: stopped, P9: bright}
    clicks: {K1: yes}
    readings:
      - {red: M1.1, shows: 12.5 V}
"""


@pytest.fixture
def findings(tmp_path: Path) -> Callable[[str], str]:
    """findings(text): a file of findings."""

    def write(text: str = FOUND) -> str:
        path = tmp_path / "found.yaml"
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write


def test_suspects_are_named_with_their_share(quizgen: Run, findings: Run) -> None:
    """Supply reaches the pump: filament-side and ground-side faults stay, feed faults go."""
    done = quizgen("circuit", "suspects", NAME, "--observe", findings())
    assert done.code == 0
    assert "ground point G2" in done.out
    assert "M1:open" in done.out
    assert "F2:blown" not in done.out
    assert max(map(len, done.out.splitlines())) <= 80


def test_suspects_as_data(quizgen: Run, findings: Run) -> None:
    """Shares sum to 1, groups cover all suspects, severities are a low and a high."""
    data = quizgen("circuit", "suspects", NAME, "--observe", findings(), "--json").data
    listed = data["suspects"]
    assert sum(s["probability"] for s in listed) == pytest.approx(1.0)
    assert sorted(k for g in data["groups"] for k in g) == sorted(s["suspect"] for s in listed)
    ground = next(s for s in listed if s["suspect"] == "G2:resistance")
    low, high = ground["severity"]
    assert 0.0 < low < high


def test_one_step_may_stand_by_itself(quizgen: Run, findings: Run) -> None:
    """The short form says the same as a list with one step."""
    long = quizgen("circuit", "suspects", NAME, "--observe", findings(), "--json").data
    short = FOUND.replace("steps:\n", "").replace("  - positions", "positions")
    short = short.replace("\n    ", "\n")
    assert quizgen("circuit", "suspects", NAME, "--observe", findings(short), "--json").data == long


def test_the_next_test_and_what_each_outcome_leaves(quizgen: Run, findings: Run) -> None:
    """The pump's other terminal is at hand and splits the filament from the ground side."""
    done = quizgen("circuit", "next-test", NAME, "--observe", findings())
    best = next(line for line in done.out.splitlines() if line.startswith("Best"))
    assert "red M1.2" in best
    data = quizgen("circuit", "next-test", NAME, "--observe", findings(), "--json").data
    rates = [t["bits_per_minute"] for t in data["tests"]]
    assert rates == sorted(rates, reverse=True)
    assert sum(o["probability"] for o in data["tests"][0]["outcomes"]) == pytest.approx(1.0)
    assert "tree" not in data


def test_the_whole_course(quizgen: Run, findings: Run) -> None:
    """--tree ends in suspects and states expected minutes and a bound below them."""
    done = quizgen("circuit", "next-test", NAME, "--observe", findings(), "--tree")
    assert "minutes on average" in done.out
    assert "= M1:open" in done.out
    data = quizgen("circuit", "next-test", NAME, "--observe", findings(), "--tree", "--json").data
    assert data["tree"]["bound_minutes"] <= data["tree"]["expected_minutes"]
    assert {"test", "branches"} == set(data["tree"]["root"])


def test_nothing_agrees(quizgen: Run, findings: Run) -> None:
    """Findings that no fault explains are no error; both commands say what to do."""
    odd = FOUND.replace("shows: 12.5 V", "shows: 7.7 V")
    for command in ("suspects", "next-test"):
        done = quizgen("circuit", command, NAME, "--observe", findings(odd))
        assert done.code == 0
        assert "None of" in done.out
        assert "--two-faults" in done.out


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("format: 1", "format: 2", 1, "expected format 1"),
        ("S2: pressed", "S2: pushed", 3, "no position 'pushed'"),
        ("S1: on", "S7: on", 3, "no control 'S7'"),
        ("M1: stopped", "M1: dim", 4, "expected one of turns backwards"),
        ("P9: bright", "F2: bright", 4, "not a load"),
        ("K1: yes", "K1: loud", 5, "expected one of yes, no, buzzes"),
        ("red: M1.1", "red: M1.7", 7, "no point 'M1.7'"),
        ("12.5 V", "12.5", 7, "with its unit"),
        ("12.5 V", "12.5 Ω", 7, "with its unit"),
        ("shows", "show", 7, "unknown field 'show'"),
        ("sees", "saw", 4, "unknown field 'saw'"),
        ("{red: M1.1, shows: 12.5 V}", "{red: M1.1}", 7, "'shows' is missing"),
        (
            "shows: 12.5 V",
            "instrument: ohmmeter, shows: 1 Ω",
            7,
            "this must not be measured: the circuit is live",
        ),
        ("shows: 12.5 V", "instrument: meter, shows: 1 V", 7, "no instrument 'meter'"),
    ],
)
def test_a_wrong_file_is_one_line(
    quizgen: Run, findings: Run, old: str, new: str, line: int, words: str
) -> None:
    """File, line, field and what was expected; exit code 2; nothing on standard output."""
    done = quizgen("circuit", "suspects", NAME, "--observe", findings(FOUND.replace(old, new)))
    assert done.code == 2
    assert done.out == ""
    assert f"found.yaml, line {line}" in done.err
    assert words in done.err
    assert done.err.count("\n") == 1


def test_a_file_without_findings_is_refused(quizgen: Run, findings: Run) -> None:
    """Positions alone are no evidence."""
    done = quizgen(
        "circuit", "suspects", NAME, "--observe", findings("format: 1\npositions: {S1: on}\n")
    )
    assert done.code == 2
    assert "nothing was found" in done.err
