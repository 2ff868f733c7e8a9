"""What instruments show and loads do with a told fault: reasoned by hand beforehand.

A case is a circuit and its answers in `tests/cases/predict_reading` or `predict_operation`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from quizgen.circuit.template import load_template
from quizgen.faults import inject, parse_fault
from quizgen.items.act import parse_act
from quizgen.items.material import Material
from quizgen.items.predict.levels import Operation, expected
from quizgen.items.predict.scene import Scene, solve_scenes
from quizgen.items.predict.wrong_volts import wrong_volts
from quizgen.items.verify.bench import Bench
from quizgen.items.verify.instruments import look

FOLDER = Path(__file__).parent
READINGS = FOLDER / "predict_reading"
OPERATIONS = FOLDER / "predict_operation"


def names(folder: Path) -> list[str]:
    """The cases of a folder."""
    return sorted(path.name.removesuffix(".case.yaml") for path in folder.glob("*.case.yaml"))


def load(folder: Path, name: str) -> tuple[dict[str, Any], Scene]:
    """A case, and its circuit with the fault in it."""
    case: dict[str, Any] = yaml.safe_load((folder / f"{name}.case.yaml").read_text("utf-8"))
    circuit = load_template(folder / f"{name}.yaml").build()
    moves = case["moves"].items() if isinstance(case["moves"], dict) else map(tuple, case["moves"])
    material = Material(template=name, parameters={}, circuit=circuit, moves=tuple(moves))
    return case, solve_scenes(material, [parse_fault(case["fault"])])[1]


@pytest.mark.parametrize("name", names(READINGS))
def test_instruments_show_this(name: str) -> None:
    """The verifier's instruments show what was worked out."""
    case, scene = load(READINGS, name)
    circuit = inject(scene.circuit, parse_fault(case["fault"]))
    moves = " ".join(f"{control}={position}" for control, position in scene.material.moves)
    found = {act: look(circuit, parse_act(f"{act} {moves}")).sure for act in case["shows"]}
    assert found == case["shows"]


@pytest.mark.parametrize("name", names(READINGS))
def test_wrong_models_expect_these_volts(name: str) -> None:
    """Each named model expects the volts that were worked out."""
    case, scene = load(READINGS, name)
    for text, models in case["expected"].items():
        act = parse_act(text)
        found = {w.misconception: w.value for w in wrong_volts(scene, (act.red, act.black))}
        assert {m: found[m] for m in models} == pytest.approx(models, abs=0.05), text


@pytest.mark.parametrize("name", names(OPERATIONS))
def test_loads_do_this(name: str) -> None:
    """Generator and verifier both find the levels that were reasoned out."""
    case, scene = load(OPERATIONS, name)
    assert Operation(scene).real == case["levels"]
    bench = Bench(scene.circuit, scene.material.moves)
    cell = (bench.ways(parse_fault(case["fault"])),)
    assert {part: bench.levels(part, cell) for part in case["levels"]} == {
        part: {level} for part, level in case["levels"].items()
    }


@pytest.mark.parametrize("name", names(OPERATIONS))
def test_wrong_models_expect_these_levels(name: str) -> None:
    """Each named model expects the levels that were reasoned out."""
    case, scene = load(OPERATIONS, name)
    found = dict(expected(Operation(scene)))
    assert {model: found[model] for model in case["expected"]} == case["expected"]


def test_a_fault_in_the_feed_of_an_idle_load_is_not_in_its_ground() -> None:
    """E1 is off. The current of E2 lifts the ground of both a little, so E1 has millivolts the
    wrong way round; W5 leads to it from the switch all the same.
    """
    circuit = load_template(OPERATIONS / "back-feed.yaml").build()
    material = Material(template="back-feed", parameters={}, circuit=circuit, moves=(("S2", "on"),))
    scene = solve_scenes(material, [parse_fault("W5:open")])[1]
    operation = Operation(scene)
    assert -0.5 < (scene.sound.between("E1.1", "E1.2") or 0.0) < 0.0
    assert not operation.in_ground(circuit.part("E1"))
    assert "one-wire" not in dict(expected(operation))
