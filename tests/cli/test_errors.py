"""What goes wrong is one line on stderr and a code; nothing else is printed."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest

from quizgen.base.errors import CircuitError, InputError, OutsideError
from quizgen.cli import circuit_list

Run = Callable[..., Any]

SOLVE = ("circuit", "solve", "blower-pack")
MEASURE = ("circuit", "measure", "blower-pack", "--instrument")


@pytest.mark.parametrize(
    ("args", "told"),
    [
        (("circuit", "solve", "blower-pak"), "blower-pack"),
        (("circuit", "solve", "no/such/file.yaml"), "no such file"),
        ((*SOLVE, "--set", "speed=3"), "speeds"),
        ((*SOLVE, "--set", "speeds=7"), "3, 4"),
        ((*SOLVE, "--set", "speeds"), "NAME=VALUE"),
        ((*SOLVE, "--set", "speeds=3", "--set", "speeds=4"), "twice"),
        ((*SOLVE, "--set", "rated=3"), "rated"),
        ((*SOLVE, "--position", "S9=on"), "S1 S2"),
        ((*SOLVE, "--position", "S2=9"), "off 1 2 3"),
        ((*SOLVE, "--position", "S2=9", "--position", "S2=1"), "off 1 2 3"),
        ((*SOLVE, "--position", "S2"), "CONTROL=VALUE"),
        ((*SOLVE, "--fault", "W5"), "PART:MODE"),
        ((*SOLVE, "--fault", "W99:open"), "W9"),
        ((*SOLVE, "--fault", "F2:burnt"), "blown"),
        ((*SOLVE, "--fault", "F2:blown", "--fault", "F2:blown"), "F2"),
        (("circuit", "faults", "blower-pack", "--position", "S2=9"), "off 1 2 3"),
        (("circuit", "show", "blower-pack", "--set", "x=1"), "parameter"),
        ((*MEASURE, "voltmetre", "--red", "M1.1"), "voltmeter"),
        ((*MEASURE, "voltmeter", "--red", "M1.7"), "M1.1 M1.2"),
        ((*MEASURE, "voltmeter", "--red", "Z"), "K1.87"),
        ((*MEASURE, "voltmeter", "--red", "M1.1", "--black", "M1.1"), "two different points"),
        ((*MEASURE, "voltmeter", "--red", "M1.1", "--apart", "K1"), "X1"),
        ((*MEASURE, "voltmeter"), "--red"),
        (("circuit", "check", "no/such.yaml"), "no such file"),
        (("circuit", "solve"), "CIRCUIT"),
        (("circuit", "check", "blower-pack", "--draws", "x"), "x"),
        (("set", "build"), "PLAN"),
    ],
    ids=" ".join,
)
def test_wrong_input_is_one_line_and_code_2(quizgen: Run, args: tuple[str, ...], told: str) -> None:
    """The line says what is wrong and what is possible; stdout stays empty."""
    done = quizgen(*args)
    assert done.code == 2
    assert done.out == ""
    assert done.err.startswith("quizgen: ")
    assert done.err.count("\n") == 1
    assert told in done.err


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (InputError("a\nb"), 2),
        (CircuitError("no"), 3),
        (OutsideError("full"), 4),
        (ValueError("oops"), 70),
        (KeyboardInterrupt(), 130),
        (click.Abort(), 130),
    ],
    ids=lambda x: type(x).__name__ if isinstance(x, BaseException) else "",
)
def test_every_kind_of_error_has_its_code(
    quizgen: Run, monkeypatch: pytest.MonkeyPatch, error: BaseException, code: int
) -> None:
    """Errors of the family, a mistake of our own, and Ctrl-C; never more than one line."""

    def fail() -> None:
        raise error

    monkeypatch.setattr(circuit_list, "shipped_templates", fail)
    done = quizgen("circuit", "list")
    assert done.code == code
    assert "Traceback" not in done.err
    assert done.err.strip("\n").count("\n") == 0


def test_a_mistake_of_our_own_asks_to_be_reported(
    quizgen: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line names the error; with QUIZGEN_TRACEBACK=1 the error itself comes through."""
    monkeypatch.setattr(circuit_list, "shipped_templates", lambda: 1 // 0)
    done = quizgen("circuit", "list")
    assert "internal error (ZeroDivisionError" in done.err
    assert "report" in done.err
    monkeypatch.setenv("QUIZGEN_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        quizgen("circuit", "list")


@pytest.mark.parametrize("name", ["\x1b[2J", "\u202eabc", "\x9b31m"])
def test_no_message_steers_the_terminal(quizgen: Run, name: str) -> None:
    """Escape sequences (ECMA-48) and overrides of direction (UAX 9) in what is repeated."""
    done = quizgen("circuit", "show", f"./{name}.yaml")
    assert done.code == 2
    assert done.err.rstrip("\n").isprintable()


@pytest.mark.parametrize("content", [b'{"a":' * 100_000, b"[" * 200_000, b""], ids=["a", "b", "c"])
def test_a_file_nested_without_end_is_wrong_input(
    quizgen: Run, tmp_path: Path, content: bytes
) -> None:
    """No record of ours is that deep."""
    path = tmp_path / "set.json"
    path.write_bytes(content)
    done = quizgen("set", "verify", str(path))
    assert done.code == 2
    assert "is not a problem set" in done.err


def start(*args: str, **more: Any) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "quizgen", *args],
        text=True, timeout=120, check=False, stderr=subprocess.PIPE, **more,
    )  # fmt: skip


def test_a_reader_that_goes_away_is_no_error() -> None:
    """Printing into a closed pipe ends quietly."""
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = start("circuit", "solve", "blower-pack", stdout=writing)
    finally:
        os.close(writing)
    assert done.stderr == ""
    assert done.returncode == 1


def test_a_closed_output_is_no_mistake_of_ours() -> None:
    """Started with standard output closed the command has nowhere to print and says nothing."""
    shell = f'"{sys.executable}" -m quizgen circuit list >&-'
    done = subprocess.run(
        shell, shell=True, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""


def test_a_full_disk_is_told_in_one_line() -> None:
    """Standard output that cannot be written is something outside: code 4, no traceback."""
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("this system has no /dev/full")
    with full.open("w") as file:
        done = start("circuit", "list", stdout=file)
    assert done.returncode == 4
    assert done.stderr.count("\n") == 1
    assert "Traceback" not in done.stderr


def test_a_terminal_without_greek_gets_question_marks_and_no_error() -> None:
    """Letters that the terminal lacks are replaced."""
    env = {**os.environ, "PYTHONIOENCODING": "latin-1"}
    done = start(
        "circuit", "show", "blower-pack", stdout=subprocess.PIPE, env=env, encoding="latin-1"
    )
    assert done.returncode == 0, done.stderr
    assert "0.002 ?" in done.stdout


def test_the_module_and_the_version() -> None:
    """`python -m quizgen --version` names program and version."""
    done = start("--version", stdout=subprocess.PIPE)
    assert done.stdout.startswith("quizgen ")
    assert done.returncode == 0
