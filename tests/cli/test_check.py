"""`quizgen circuit check`: each design mistake, made on purpose, is found and named."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

Run = Callable[..., Any]

GOOD = """
format: 1
name: work-lamp
title: Work lamp
summary: A switch feeds a lamp.
topics: [lamps]
cautions: []
system: 12
parameters:
  metres: {range: [1, 5], step: 1, default: 2, unit: m, about: length of the feed}
parts:
  GB1: {kind: battery, emf_volts: 12.6, internal_ohm: 0.01}
  F1: {kind: fuse, amps: 5}
  S1:
    kind: switch
    name: lamp switch
    pins: ["1", "2"]
    positions: {off: [], on: ["1-2"]}
  E1: {kind: lamp, watts: 21, volts: 13.5, name: work lamp}
  G1: {kind: ground}
  G2: {kind: ground}
wires:
  W1: {from: GB1.+, to: F1.1, colour: RD, mm2: 1.5, metres: "=metres"}
  W2: {from: F1.2, to: S1.1, colour: RD, mm2: 1.5, metres: 1}
  W3: {from: S1.2, to: E1.1, colour: YE, mm2: 1.5, metres: 1}
  W4: {from: E1.2, to: G1, colour: BK, mm2: 1.5, metres: 1}
  W5: {from: GB1.-, to: G2, colour: BK, mm2: 4, metres: 1}
"""


def test_a_good_file_is_fine(quizgen: Run, circuit_file: Run) -> None:
    """Exit code 0, and a line that says how much was tried; an oversized fuse is only named."""
    done = quizgen("circuit", "check", circuit_file(GOOD), "--draws", "2")
    assert done.code == 0
    assert done.out.splitlines()[-1] == "work-lamp: fine, 3 settings tried"
    assert all("hidden: F1:wrong-rating" in line for line in done.out.splitlines()[:-1])


def test_no_setting_is_tried_twice(quizgen: Run, circuit_file: Run) -> None:
    """A circuit that has nothing to set is tried once, however many draws are asked for."""
    fixed = GOOD.replace('"=metres"', "2")
    fixed = re.sub(r"parameters:\n(  .*\n)+", "", fixed)
    done = quizgen("circuit", "check", circuit_file(fixed), "--draws", "50")
    assert done.code == 0
    assert done.out.splitlines()[-1] == "work-lamp: fine, 1 setting tried"


@pytest.mark.parametrize(
    ("right", "wrong", "told"),
    [
        ('on: ["1-2"]', "on: []", "work lamp E1 works in no position"),
        ('on: ["1-2"]', "on: []", "S1 does the same in positions off and on"),
        # 21 W are 1.5 A at 12.6 V: twice the rating opens a fuse, 1.2 times is anybody's guess
        ("amps: 5", "amps: 0.75", "F1 opens without a fault (S1=on)"),
        ("amps: 5", "amps: 1.25", "in doubt: F1 carries"),
        ("volts: 13.5", "volts: 17", "so weakly that people would disagree"),
    ],
)
def test_a_mistake_is_found(
    quizgen: Run, circuit_file: Run, right: str, wrong: str, told: str
) -> None:
    """Exit code 3, one line for the finding."""
    assert right in GOOD
    done = quizgen("circuit", "check", circuit_file(GOOD.replace(right, wrong)), "--draws", "0")
    assert done.code == 3, done.out
    assert done.err == ""
    assert sum(told in line for line in done.out.splitlines()) == 1
    assert done.out.splitlines()[-1].startswith("work-lamp: ")


def test_a_ground_that_carries_nothing_is_named(quizgen: Run, circuit_file: Run) -> None:
    """Where the return goes past the frame, resistance in the ground stud changes nothing."""
    text = GOOD.replace("to: G2,", "to: G1,").replace("  G2: {kind: ground}\n", "")
    done = quizgen("circuit", "check", circuit_file(text), "--draws", "0")
    assert done.code == 0
    assert "hidden: G1:resistance" in done.out


def test_a_mistake_in_some_settings_names_one_of_them(quizgen: Run, circuit_file: Run) -> None:
    """A lamp that is missing its feed at one length only is found by the draws."""
    text = GOOD.replace("watts: 21", 'watts: "=21 if metres < 4 else 200"')
    done = quizgen("circuit", "check", circuit_file(text), "--draws", "12")
    assert done.code == 3
    line = next(line for line in done.out.splitlines() if "F1 opens" in line)
    assert "2 of 5 settings with metres=" in line  # 4 m and 5 m of five lengths
    assert line[-1] in "45"


def test_a_wrong_file_is_code_2_and_the_others_are_checked(quizgen: Run, circuit_file: Run) -> None:
    """The error names file and line; the good file's verdict is printed all the same."""
    good = circuit_file(GOOD)
    bad = circuit_file(GOOD.replace("work-lamp", "bad-lamp").replace("kind: lamp", "kind: lmap"))
    done = quizgen("circuit", "check", bad, good, "--draws", "0")
    assert done.code == 2
    assert "work-lamp: fine, 1 setting tried" in done.out
    assert "bad-lamp.yaml, line" in done.err
    assert done.err.count("\n") == 1


def test_the_same_seed_tries_the_same_settings(quizgen: Run, circuit_file: Run) -> None:
    """Two runs print the same; nothing is left to chance."""
    args = ("circuit", "check", circuit_file(GOOD), "--draws", "3", "--seed", "7")
    assert quizgen(*args).out == quizgen(*args).out


def test_a_shipped_family_is_fine(quizgen: Run) -> None:
    """One of the shipped circuits, at its default setting."""
    assert quizgen("circuit", "check", "push-button-relay", "--draws", "0").code == 0
