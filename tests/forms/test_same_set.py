"""The same plan and secret give the same set, whatever Python's hashes happen to be."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

PLAN = """format: 1
name: same
title: Same
scenario: brindlemere
secret: example only, everybody can read it
forms: 1
circuits: [push-button-relay, tail-stop-plate]
blueprint:
  any: {read: 2, predict: 3, interpret: 3, choose: 5, justify: 1}
"""
MAKE = """
import sys
from pathlib import Path
import msgspec
from quizgen.base.seeds import Seed
from quizgen.forms.plan import load_plan
from quizgen.pipeline import assemble
from quizgen.scenario.scenario import find_scenario
plan = load_plan(Path(sys.argv[1]))
made = assemble(plan, find_scenario(plan.scenario), Seed(plan.secret.encode()))
sys.stdout.buffer.write(msgspec.json.encode(made))
"""


def test_two_processes_make_the_same_set(tmp_path: Path) -> None:
    """Every kind of question; sets and dictionaries of Python must not decide anything."""
    plan = tmp_path / "plan.yaml"
    plan.write_text(PLAN, encoding="utf-8")
    made = [
        subprocess.run(
            [sys.executable, "-c", MAKE, str(plan)], capture_output=True, check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    ]  # fmt: skip
    assert made[0] == made[1]
    assert made[0].count(b'"kind":') >= 14
