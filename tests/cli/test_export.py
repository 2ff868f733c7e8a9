"""`quizgen circuit export`: what it prints is what the circuit is, and ngspice can run it."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import DIVIDER
from tests.oracles.spice import ngspice

__all__ = ["ngspice"]

Run = Callable[..., Any]
DECIMAL = r"(-?\d\.\d+e[+-]\d+)"


def found_by(program: str, path: Path) -> dict[str, float]:
    """Node or source → volts or amps, as the simulator prints them."""
    done = subprocess.run(
        [program, "-n", "-b", path.name], cwd=path.parent, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    return {k: float(v) for k, v in re.findall(rf"^\t(\S+)\s+{DECIMAL}$", done.stdout, re.M)}


@pytest.mark.ngspice
def test_ngspice_finds_the_figures_of_ohms_law(
    quizgen: Run, circuit_file: Run, tmp_path: Path, ngspice: str
) -> None:
    """12 V over 100 Ω and 200 Ω: 8 V in the middle, 40 mA; with the switch closed 200 Ω lie
    beside the lower resistor, which leaves 6 V."""
    out = tmp_path / "divider.cir"
    for position, volts in (("off", 8.0), ("on", 6.0)):
        moves = ("--position", f"S1={position}", "--out", str(out))
        joined = DIVIDER.replace('at: {"1": end}, unused: ["2"]', 'at: [end, "0"]')
        done = quizgen("circuit", "export", circuit_file(joined), *moves)
        assert (done.code, done.out) == (0, f"{out}: written\n")
        assert found_by(ngspice, out)["mid"] == pytest.approx(volts, rel=1e-4)  # 5 mΩ of contact
    assert found_by(ngspice, out)["v_v1#branch"] == pytest.approx(-0.06, rel=1e-4)  # into its plus


@pytest.mark.ngspice
@pytest.mark.parametrize("fault", ["G2:resistance:20", "W5:open", "F2:blown", "M1:seized"])
def test_ngspice_finds_what_solve_prints(
    fault: str, quizgen: Run, tmp_path: Path, ngspice: str
) -> None:
    """Every node of a machine at work with a fault in it; six figures are printed."""
    case = ("push-button-relay", "--set", "system=24", "--fault", fault,
            "--position", "S1=on", "--position", "S2=pressed")  # fmt: skip
    out = tmp_path / "pump.cir"
    assert quizgen("circuit", "export", *case, "--out", str(out)).code == 0
    volts = found_by(ngspice, out)
    nodes = quizgen("circuit", "solve", *case, "--json").data["nodes"]
    names = {n: n.replace("+", "plus").replace(".-", ".minus").replace(".", "_") for n in nodes}
    common = {node for node, name in names.items() if name.lower() in volts}
    assert len(common) > 25
    for node in common:
        printed = volts[names[node].lower()]
        assert printed == pytest.approx(nodes[node]["volts"] or 0.0, rel=1e-5, abs=1e-6)


def test_the_head_says_how_to_make_it_again(quizgen: Run) -> None:
    """Circuit, settings, positions, faults and behaviour; the same text each time."""
    case = ("circuit", "export", "push-button-relay", "--fault", "W5:open", "--position", "S1=on")
    first, second = quizgen(*case), quizgen(*case)
    assert first.out == second.out
    title, *lines = first.out.splitlines()
    assert title
    head = " ".join(line.removeprefix("* ") for line in lines if line.startswith("* "))
    for words in ("circuit: push-button-relay", "system=12", "S1=on S2=released",
                  "faults: W5:open", "behaviour: steady"):  # fmt: skip
        assert words in head


@pytest.mark.parametrize(
    ("extra", "code"),
    [
        (("--fault", "W999:open"), 2),
        (("--position", "S1=sideways"), 2),
        (("--out", "/proc/none/x.cir"), 4),
    ],
)
def test_what_is_wrong_is_one_line(quizgen: Run, extra: tuple[str, ...], code: int) -> None:
    """As with every command."""
    done = quizgen("circuit", "export", "push-button-relay", *extra)
    assert done.code == code
    assert done.out == ""
    assert done.err.count("\n") == 1
