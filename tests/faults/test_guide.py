"""The guide to circuit files tells which faults there are and how likely each is."""

from __future__ import annotations

import re

import pytest

from quizgen.base.paths import data_folder
from quizgen.circuit.components import Part, Wire
from quizgen.faults.modes import MODES

GUIDE = (data_folder("templates") / "circuits" / "README.md").read_text(encoding="utf-8")
PAIR = re.compile(r"([a-z-]+)(?: \([a-z ]+\))? ([\d.]+)")


def told(kind: str) -> dict[str, float]:
    """Modes and weights as the guide gives them for a kind."""
    if kind == Wire.kind:
        text = GUIDE.split("Faults of a wire for `weights`: ")[1].split(". The reference")[0]
    else:
        text = next(line for line in GUIDE.splitlines() if line.startswith(f"| `{kind}` | "))
        text = text.split("|")[-2]
    return {mode: float(weight) for mode, weight in PAIR.findall(text)}


@pytest.mark.parametrize("cls", MODES, ids=lambda cls: cls.kind)
def test_the_guide_gives_the_usual_weight_of_every_fault(cls: type[Part]) -> None:
    """Who writes `weights` sees what they replace."""
    assert told(cls.kind) == {mode.name: mode.weight for mode in MODES[cls]}
