"""The command line called as a function, and small circuit files written for one test."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from quizgen.cli.main import run

DIVIDER = """
format: 1
name: divider
title: Two resistors in series
summary: A source feeds two resistors in series.
topics: [series-resistance]
cautions: []
system: 12
reference: "0"
parameters:
  upper: {choices: [100, 300], default: 100, unit: Ω, about: upper resistor}
parts:
  V1: {kind: source, volts: 12, at: [top, "0"]}
  R1: {kind: resistor, ohm: "=upper", at: [top, mid]}
  R2: {kind: resistor, ohm: 200, at: [mid, "0"]}
  S1:
    kind: switch
    pins: ["1", "2"]
    positions: {off: [], on: ["1-2"]}
    at: [mid, end]
  R3: {kind: resistor, ohm: 200, at: {"1": end}, unused: ["2"]}
"""


@dataclass(frozen=True)
class Outcome:
    """What a command printed and how it ended."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """Standard output as JSON."""
        return json.loads(self.out)


@pytest.fixture
def quizgen(capsys: pytest.CaptureFixture[str]) -> Callable[..., Outcome]:
    """quizgen("circuit", "list"): run the command line in this process."""

    def call(*args: str) -> Outcome:
        capsys.readouterr()
        code = run(args)
        shown = capsys.readouterr()
        return Outcome(code, shown.out, shown.err)

    return call


@pytest.fixture
def circuit_file(tmp_path: Path) -> Callable[..., str]:
    """circuit_file(text): a circuit file under the name that its text gives."""

    def write(text: str = DIVIDER) -> str:
        name = next(
            line.split(":", 1)[1].strip() for line in text.splitlines() if line.startswith("name:")
        )
        path = tmp_path / f"{name}.yaml"
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write
