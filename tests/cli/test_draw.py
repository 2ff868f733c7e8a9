"""`quizgen circuit draw`: an SVG file of the circuit that was asked for."""

from __future__ import annotations

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
    ],
)
def test_what_is_wrong_is_one_line(quizgen: Run, extra: tuple[str, ...], code: int) -> None:
    """As with every command."""
    done = quizgen(*DRAW, *extra)
    assert done.code == code
    assert done.out == ""
    assert len(done.err.splitlines()) == 1
