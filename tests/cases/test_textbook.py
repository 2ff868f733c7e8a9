"""The solver gives what published worked circuits print. See textbook/README.md."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from quizgen.circuit.components import Battery, Source
from quizgen.circuit.template import Template, load_template
from quizgen.solver import OperatingPoint, solve

FOLDER = Path(__file__).parent / "textbook"
CHECKS = ".checks.yaml"
CIRCUITS = sorted(p for p in FOLDER.glob("*.yaml") if not p.name.endswith(CHECKS))
EXACT = 1e-9
QUANTITY = re.compile(r"([VUIP])\(([^()|]+)(?:\|([^()]*))?\)")


def checks_of(path: Path) -> list[dict[str, Any]]:
    """What the source of a circuit prints."""
    text = path.with_name(path.stem + CHECKS).read_text(encoding="utf-8")
    checks: list[dict[str, Any]] = yaml.safe_load(text)
    return checks


ALL = [(path, check) for path in CIRCUITS for check in checks_of(path)]


def quantity(point: OperatingPoint, letter: str, name: str) -> float:
    """V, U, I or P of a node, a pair of nodes or a part."""
    if letter == "V":
        red, _, black = name.partition(",")
        volts = point.between(red.strip(), black.strip() or point.circuit.reference)
        assert volts is not None, f"{name} floats"
        return volts
    part = point.circuit.part(name)
    across = point.between(*part.nodes)
    assert across is not None, f"{name} floats"
    (flow,) = point.flows(part)
    amps = -flow.amps if isinstance(part, Battery | Source) else flow.amps
    return {"U": across, "I": amps, "P": across * amps}[letter]


def computed(template: Template, formula: str) -> float:
    """The value of a formula such as "V(2 | shorted=false) / I(VSH)"."""

    def value(match: re.Match[str]) -> str:
        letter, name, setting = match.groups()
        pairs = [pair.strip().split("=") for pair in (setting or "").split(",") if pair.strip()]
        settings = {key: template.parse_setting(key, text) for key, text in pairs}
        return repr(quantity(solve(template.build(settings)), letter, name.strip()))

    arithmetic = QUANTITY.sub(value, formula)
    assert re.fullmatch(r"[-+*/ .e0-9]+", arithmetic), arithmetic
    return float(eval(arithmetic))  # digits and operators only, see the line above


@pytest.mark.parametrize(
    ("path", "check"), ALL, ids=[f"{p.stem}: {c['printed']} = {c['formula']}" for p, c in ALL]
)
def test_a_published_value_is_computed(path: Path, check: dict[str, Any]) -> None:
    """Exact where the source could be exact, else within half its last printed place."""
    assert check.keys() <= {
        "printed",
        "value",
        "unit",
        "formula",
        "last_place",
        "within",
        "because",
    }
    allowed = check.get("within", check.get("last_place", 2 * EXACT) / 2)
    slack = 1 + 1e-9  # a value that lies on the very edge of its rounding
    assert computed(load_template(path), check["formula"]) == pytest.approx(
        check["value"], rel=0, abs=allowed * slack
    )


@pytest.mark.parametrize("path", CIRCUITS, ids=lambda p: p.stem)
def test_a_circuit_names_its_source(path: Path) -> None:
    """Every file says where its circuit was published, and is used by a check."""
    assert path.read_text(encoding="utf-8").startswith("# Published: ")
    assert load_template(path).build().summary
    assert checks_of(path)


def test_no_circuit_and_no_check_is_lost() -> None:
    """42 circuits; their sources print 150 quantities, seven of them for more than one part."""
    assert len(CIRCUITS) == 42
    assert len({(p.stem, c["printed"]) for p, c in ALL}) == 150
    assert len(ALL) == 157
    assert len(list(FOLDER.glob("*" + CHECKS))) == 42
