"""The window of the drill: a long page comes whole, whatever is typed in the middle of it."""

from __future__ import annotations

import click
import pytest

from quizgen.cli import drill_window
from quizgen.cli.drill_window import Window
from quizgen.drill.page import Entry, Page, Para

LONG: Page = (*(Para(f"paragraph {n}") for n in range(40)), Entry("A", "the last choice"))


@pytest.fixture
def typing(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Lines that somebody types at a terminal of 24 lines, without control sequences."""
    lines: list[str] = []

    def typed(prompt: str) -> str:
        click.echo(prompt)
        return lines.pop(0)

    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setenv("LINES", "24")
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr(drill_window, "_watched", lambda: True)
    monkeypatch.setattr("builtins.input", typed)
    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    return lines


def test_an_answer_typed_too_early_waits_for_the_rest(
    typing: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """All of the question stands on the screen before it is answered, and the line is not lost."""
    typing.append("B")
    window = Window()
    window.show(LONG)
    shown = capsys.readouterr().out
    assert shown.count("Enter for the rest") == 1
    assert "A  the last choice" in shown
    window.show((Para("one more page"),))
    assert window.ask("Your answer") == "B"
    assert capsys.readouterr().out.splitlines()[-1] == "Your answer > B"
    typing.append("C")
    assert window.ask("Your answer") == "C"


def test_enter_brings_a_page_piece_by_piece(
    typing: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is skipped and nothing comes twice; after the last piece a new line is asked for."""
    typing += ["", "", "", "A"]
    window = Window()
    window.show(LONG)
    shown = capsys.readouterr().out
    assert [f"paragraph {n}" for n in range(40)] == [
        line for line in shown.splitlines() if line.startswith("paragraph")
    ]
    assert shown.count("Enter for the rest") == 3
    assert window.ask("Your answer") == "A"
