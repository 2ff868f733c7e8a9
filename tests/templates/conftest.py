"""Circuits of the shipped families at random settings, built once per test run."""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property

import pytest

from quizgen.circuit.netlist import Circuit
from quizgen.circuit.parameters import Range
from quizgen.circuit.template import Template, find_template
from quizgen.solver import OperatingPoint, solve_cases

DRAWS = 20
MOST_POSITIONS = 30


@dataclass(frozen=True)
class Drawn:
    """A setting and the circuit it gives. Its text names the setting when a test fails."""

    setting: Mapping[str, object]
    circuit: Circuit

    @cached_property
    def positions(self) -> tuple[dict[str, str], ...]:
        """Every combination of positions, or some of them drawn at random."""
        controls = self.circuit.controls
        rows = list(itertools.product(*(c.positions for c in controls)))
        if len(rows) > MOST_POSITIONS:
            rows = random.Random(len(rows)).sample(rows, MOST_POSITIONS)
        return tuple(dict(zip((c.name for c in controls), row, strict=True)) for row in rows)

    @cached_property
    def operated(self) -> tuple[tuple[dict[str, str], OperatingPoint], ...]:
        """Positions and the operating point in each, solved together."""
        return operate(self.circuit, self.positions)

    def __str__(self) -> str:
        return f"{self.circuit.name} {dict(self.setting)}"


def operate(
    circuit: Circuit, positions: tuple[dict[str, str], ...]
) -> tuple[tuple[dict[str, str], OperatingPoint], ...]:
    """The circuit in each of `positions`, all moves made in the order of the controls."""
    solved = solve_cases([circuit], [(0, tuple(row.items())) for row in positions])
    return tuple((row, solved.point(i)) for i, row in enumerate(positions))


@cache
def _template(name: str) -> Template:
    return find_template(name)


@cache
def _draws(name: str, fixed: tuple[tuple[str, object], ...], number: int) -> tuple[Drawn, ...]:
    template, rng = _template(name), random.Random(f"{name} {fixed}")
    settings = [template.draw(rng, dict(fixed)) for _ in range(number)]
    return tuple(Drawn(s, template.build(s)) for s in settings)


@pytest.fixture(scope="session")
def draws() -> Callable[..., tuple[Drawn, ...]]:
    """draws(name, number=20, **fixed): random settings of a family that keep `fixed`."""

    def at(name: str, number: int = DRAWS, **fixed: object) -> tuple[Drawn, ...]:
        return _draws(name, tuple(sorted(fixed.items())), number)

    return at


@pytest.fixture(scope="session")
def longest() -> Callable[[str], tuple[Drawn, ...]]:
    """longest(name): random settings with every wire as long as the family allows."""

    def at(name: str) -> tuple[Drawn, ...]:
        ranges = [p for p in _template(name).parameters if isinstance(p, Range) and p.unit == "m"]
        fixed = {p.name: p.corners()[1] for p in ranges}
        return _draws(name, tuple(sorted(fixed.items())), DRAWS)

    return at


@pytest.fixture(scope="session")
def build() -> Callable[..., Circuit]:
    """build(name, **settings): one circuit of a family."""
    return lambda name, **settings: _template(name).build(settings)
