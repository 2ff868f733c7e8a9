"""`quizgen circuit list`, `show` and `faults`: complete, and readable in 80 columns."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import pytest

from quizgen.circuit.template import find_template, shipped_templates
from quizgen.faults import universe

Run = Callable[..., Any]
TEMPLATES = shipped_templates()


def random_settings(name: str, number: int) -> list[str]:
    """`--set` options of a random setting."""
    drawn = find_template(name).draw(random.Random(number))
    texts = [str(v).lower() if isinstance(v, bool) else str(v) for v in drawn.values()]
    pairs = zip(drawn, texts, strict=True)
    return [word for key, value in pairs for word in ("--set", f"{key}={value}")]


def test_list_names_every_template_that_is_shipped(quizgen: Run) -> None:
    """Text and data name the same circuits, with as many parameters as their files have."""
    found = quizgen("circuit", "list", "--json").data
    assert tuple(entry["name"] for entry in found) == TEMPLATES
    for entry in found:
        assert entry["parameters"] == len(find_template(entry["name"]).parameters)
        assert entry["title"]
        assert entry["topics"]
    out = quizgen("circuit", "list").out
    assert all(name in out for name in TEMPLATES)
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize("number", range(3))
@pytest.mark.parametrize("name", TEMPLATES)
def test_show_fits_80_columns_and_names_everything(quizgen: Run, name: str, number: int) -> None:
    """Every parameter, control, part, point and caution is there at any setting."""
    done = quizgen("circuit", "show", name, *random_settings(name, number))
    assert done.code == 0, done.err
    assert max(map(len, done.out.splitlines())) <= 80
    words = set(done.out.split())
    template = find_template(name)
    circuit = template.build(template.draw(random.Random(number)))
    assert words >= {p.name for p in template.parameters}
    assert words >= {c.name for c in circuit.controls}
    assert words >= {p.id for p in circuit.parts}
    assert words >= set(circuit.nodes)
    flat = " ".join(done.out.split())
    assert all(" ".join(caution.split()) in flat for caution in circuit.cautions)


@pytest.mark.parametrize("name", TEMPLATES)
def test_show_as_data_gives_the_netlist(quizgen: Run, name: str) -> None:
    """Points and the terminals on them are the nodes of the circuit and theirs."""
    found = quizgen("circuit", "show", name, "--json").data
    circuit = find_template(name).build()
    assert list(found["points"]) == list(circuit.nodes)
    for part in circuit.parts:
        told = found["parts"][part.id]["terminals"]
        assert told == dict(zip(part.terminals, part.nodes, strict=True))
    for control in circuit.controls:
        assert found["controls"][control.name]["positions"] == list(control.positions)


def test_faults_lists_the_universe(quizgen: Run) -> None:
    """One row for each fault, weight and clause beside it, in 80 columns."""
    out = quizgen("circuit", "faults", "blower-pack").out
    assert max(map(len, out.splitlines())) <= 80
    first = [line.split()[0] for line in out.splitlines()[1:] if line[2] != " "]
    assert first == [str(w.fault) for w in universe(find_template("blower-pack").build())]
    assert "blower fuse F3 is blown" in out


def test_faults_in_a_state_says_what_a_driver_finds(quizgen: Run) -> None:
    """With the top speed chosen, an open fuse of that speed stops the motor and nothing else."""
    moves = ("--position", "S1=on", "--position", "S2=3")
    lines = quizgen("circuit", "faults", "blower-pack", *moves).out.splitlines()
    row = next(line for line in lines if "F2:blown" in line)
    assert row.endswith("blower motor M1 stopped")
    row = next(line for line in lines if "S2:open:15-1" in line)
    assert row.endswith("nothing different")


@pytest.fixture(scope="module")
def dictionary() -> dict[str, Any]:
    """The fault dictionary of the blower in all states."""
    import json

    from click.testing import CliRunner

    from quizgen.cli.main import cli

    result = CliRunner().invoke(cli, ["circuit", "faults", "blower-pack", "--json"])
    assert result.exit_code == 0
    found: dict[str, Any] = json.loads(result.output)
    return found


def test_the_dictionary_has_every_fault_in_every_state(dictionary: dict[str, Any]) -> None:
    """Two positions of one switch and four of the other make eight states."""
    assert len(dictionary["states"]) == 8
    circuit = find_template("blower-pack").build()
    assert [f["fault"] for f in dictionary["faults"]] == [str(w.fault) for w in universe(circuit)]
    for entry in (dictionary["sound"], *dictionary["faults"]):
        assert len(entry["outcomes"]) == 8
        assert all(len(o["volts"]) == len(dictionary["nodes"]) for o in entry["outcomes"])


def test_a_blown_and_a_missing_fuse_are_one_group(dictionary: dict[str, Any]) -> None:
    """Two opens at one place are alike for driver and voltmeter; an open wire beside is not."""
    group = next(g for g in dictionary["groups"] if "F3:blown" in g)
    assert "F3:missing" in group
    assert "W4:open" not in group  # F3.1 floats then, and is live with the fuse blown


def test_an_oversized_fuse_is_hidden(dictionary: dict[str, Any]) -> None:
    """Nothing overloads a sound circuit, so a fuse twice too large shows in no state."""
    assert dictionary["groups"][0][0] == "sound"
    assert "F2:wrong-rating:40" in dictionary["groups"][0]
    entry = next(f for f in dictionary["faults"] if f["fault"] == "F2:wrong-rating:40")
    assert entry["hidden"]


def test_the_dictionary_agrees_with_one_solve(quizgen: Run, dictionary: dict[str, Any]) -> None:
    """A case of the batch has the voltages that `circuit solve` finds for it alone."""
    state = next(
        i for i, s in enumerate(dictionary["states"]) if s["positions"] == {"S1": "on", "S2": "2"}
    )
    entry = next(f for f in dictionary["faults"] if f["fault"] == "G2:open")
    alone = quizgen(
        "circuit", "solve", "blower-pack", "--position", "S1=on", "--position", "S2=2",
        "--fault", "G2:open", "--json",
    ).data  # fmt: skip
    volts = [alone["nodes"][node].get("volts") for node in dictionary["nodes"]]
    assert entry["outcomes"][state]["volts"] == pytest.approx(volts, abs=1e-9)
    assert entry["outcomes"][state]["loads"]["M1"] == alone["loads"]["M1"]["level"]


def test_one_state_when_positions_are_given(quizgen: Run) -> None:
    """`--position` narrows the dictionary to the state it leads to."""
    found = quizgen("circuit", "faults", "push-button-relay", "--position", "S1=on", "--json").data
    assert [s["positions"] for s in found["states"]] == [{"S1": "on", "S2": "released"}]
