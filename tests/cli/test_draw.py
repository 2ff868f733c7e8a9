"""`quizgen circuit draw`: an SVG file or a drawing in characters of the circuit asked for."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

Run = Callable[..., Any]
DRAW = ("circuit", "draw", "push-button-relay")


def test_it_writes_what_it_prints(quizgen: Run, tmp_path: Path) -> None:
    """Well-formed SVG that names the pump and its relay, printed or in a file alike."""
    out = tmp_path / "pump.svg"
    printed = quizgen(*DRAW)
    assert printed.code == 0
    root = ElementTree.fromstring(printed.out)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"  # SVG 1.1, section 5.1 (from memory)
    assert {"M1", "K1"} <= {text.strip() for text in root.itertext()}
    done = quizgen(*DRAW, "--out", str(out))
    assert (done.code, done.out) == (0, f"{out}: written\n")
    assert out.read_text(encoding="utf-8") == printed.out


@pytest.mark.parametrize("fault", ["W5:open", "F2:blown", "K1:not-making"])
def test_what_is_faulty_is_marked(quizgen: Run, fault: str) -> None:
    """A dashed band or frame is added and nothing else of the diagram changes."""
    plain = quizgen(*DRAW).out.splitlines()
    marked = quizgen(*DRAW, "--fault", fault).out.splitlines()
    added = [line for line in marked if line not in plain]
    assert added
    assert all('stroke-dasharray="1.8 1"' in line for line in added)
    assert [line for line in marked if line not in added] == plain


@pytest.mark.parametrize(
    ("extra", "code"),
    [
        (("--fault", "W999:open"), 2),
        (("--fault", "F2:seized"), 2),
        (("--set", "system=13"), 2),
        (("--out", "/proc/none/x.svg"), 4),
        (("--columns", "80"), 2),
        (("--ascii",), 2),
        (("--terminal", "--columns", "59"), 2),
        (("--terminal", "--columns", "wide"), 2),
        (("--terminal", "--fault", "W5:open"), 2),
        (("--terminal", "--out", "/proc/none/x.txt"), 4),
    ],
)
def test_what_is_wrong_is_one_line(quizgen: Run, extra: tuple[str, ...], code: int) -> None:
    """As with every command."""
    done = quizgen(*DRAW, *extra)
    assert done.code == code
    assert done.out == ""
    assert len(done.err.splitlines()) == 1


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_a_terminal_drawing_keeps_to_its_columns(quizgen: Run, columns: int) -> None:
    """Drawing and lists alike; 80 unless something else is asked for."""
    done = quizgen(*DRAW, "--terminal", "--columns", str(columns))
    assert done.code == 0
    assert max(map(len, done.out.splitlines())) <= columns
    assert {"M1", "K1", "W21", "coil"} <= set(done.out.replace("│", " ").replace(":", " ").split())
    if columns == 80:
        assert quizgen(*DRAW, "--terminal").out == done.out


def test_a_terminal_drawing_goes_to_a_file(quizgen: Run, tmp_path: Path) -> None:
    """In UTF-8, the same characters as printed."""
    out = tmp_path / "pump.txt"
    printed = quizgen(*DRAW, "--terminal")
    done = quizgen(*DRAW, "--terminal", "--out", str(out))
    assert (done.code, done.out) == (0, f"{out}: written\n")
    assert out.read_text(encoding="utf-8") == printed.out


def test_ascii_on_request_and_where_nothing_else_can_be_shown() -> None:
    """An output in Latin-1 cannot carry box characters, so it gets the drawing in ASCII."""
    asked, forced, boxed = (
        subprocess.run(
            [sys.executable, "-m", "quizgen", *DRAW, "--terminal", *extra],
            env={**os.environ, "PYTHONIOENCODING": encoding}, capture_output=True, check=True,
        ).stdout
        for encoding, extra in (("utf-8", ["--ascii"]), ("latin-1", []), ("utf-8", []))
    )  # fmt: skip
    assert asked == forced
    assert asked.isascii()
    assert "─" in boxed.decode("utf-8")
