"""The exact oracle against textbook circuits worked by hand, and against its own promises."""

from __future__ import annotations

from fractions import Fraction
from math import inf

import pytest

from tests.oracles.exact import Contradiction, Edge, resistor, solve_exactly, source


def test_unbalanced_bridge() -> None:
    """Node equations by hand: 11 v2 − 6 v3 = 30 and 11 v3 − 6 v2 = 20, so 90/17 V and 80/17 V.

    Circuit and rounded values (5.294 V, 4.706 V): Kuphaldt, Lessons In Electric Circuits
    vol. I, DC network analysis, delta-Y conversion.
    """
    answer = solve_exactly(
        [
            source("1", "0", 10),
            resistor("1", "2", 12),
            resistor("1", "3", 18),
            resistor("2", "3", 6),
            resistor("2", "0", 18),
            resistor("3", "0", 12),
        ],
        "0",
    )
    assert answer.volts == {"0": 0, "1": 10, "2": Fraction(90, 17), "3": Fraction(80, 17)}
    assert round(float(answer.volts["2"] or 0), 3) == 5.294
    assert answer.amps[3] == Fraction(10, 17) / 6
    through_source = Fraction(80, 17) / 12 + Fraction(90, 17) / 18
    assert answer.amps[0] == -through_source  # from plus to minus inside a source that feeds


def test_two_loops_with_two_sources() -> None:
    """By hand 24 = 3 I1 + 3 I2, 29 = 7 I3 + 3 I2, I2 = I1 + I3: 3 A, 5 A, 2 A.

    OpenStax University Physics vol. 2, sec. 10.3 (worked in the text).
    """
    answer = solve_exactly(
        [
            source("f", "0", 24),
            resistor("f", "b", 3),
            resistor("b", "0", 3),
            resistor("d", "c", 4),
            resistor("c", "b", 3),
            source("d", "0", 29),
        ],
        "0",
    )
    assert answer.amps == (-3, 3, 5, 2, 2, -2)
    assert answer.volts["b"] == 15


def test_two_batteries_and_a_source_between_nodes() -> None:
    """Five branch currents by hand; no end of either source is the reference.

    V1 = 12 V and V2 = 5 V share the plus node t. With r at 0 V: t = 5 V, l = −7 V, and the
    balance at m, (t−m)/4 + (l−m)/3 = m/2, gives m = −1 V. Currents as printed in
    OpenStax University Physics vol. 2, sec. 10.3 (problem on four resistors, 12 V and 5 V).
    """
    answer = solve_exactly(
        [
            source("t", "l", 12),
            resistor("m", "l", 3),
            resistor("t", "m", 4),
            resistor("r", "m", 2),
            source("t", "r", 5),
            resistor("t", "r", 2),
            resistor("r", "0", 1),
        ],
        "0",
    )
    assert answer.volts == {"t": 5, "l": -7, "m": -1, "r": 0, "0": 0}
    assert answer.amps == (-2, 2, Fraction(3, 2), Fraction(1, 2), -2, Fraction(5, 2), 0)


def test_an_island_floats_and_still_carries_its_current() -> None:
    """A battery and a resistor tied to nothing: no potentials, but 12 V / 4 Ω = 3 A."""
    answer = solve_exactly(
        [source("p", "q", 12), resistor("p", "q", 4), resistor("p", "0", inf)], "0", ["lone"]
    )
    assert answer.floating == {"p", "q", "lone"}
    assert answer.amps == (-3, 3, 0)


def test_ideal_edges_in_series_carry_a_known_current_side_by_side_an_unknown_one() -> None:
    """A joint in a loop takes the loop's current; of two joints in parallel nobody knows."""
    loop = [source("p", "0", 6), resistor("p", "q", 0), resistor("q", "0", 3)]
    assert solve_exactly(loop, "0").amps == (-2, 2, 2)
    assert solve_exactly([*loop, resistor("p", "q", 0)], "0").amps == (-2, None, 2, None)


@pytest.mark.parametrize(
    "edges",
    [
        [source("p", "0", 12), source("p", "0", 5)],
        [source("p", "0", 12), resistor("p", "q", 0), resistor("q", "0", 0)],
        [source("p", "q", 12), source("q", "r", 1), source("p", "r", 12.999)],  # floating
        [source("p", "p", 1)],
    ],
)
def test_loops_that_do_not_add_up_are_refused(edges: list[Edge]) -> None:
    """Ideal sources and joints in a loop whose voltages do not cancel."""
    with pytest.raises(Contradiction):
        solve_exactly(edges, "0")


def test_loops_that_add_up_are_accepted() -> None:
    """The same with voltages that do cancel, to the last bit."""
    edges = [source("p", "0", 12), source("p", "q", 8), source("q", "0", 4), source("p", "p", 0)]
    assert solve_exactly(edges, "0").volts == {"0": 0, "p": 12, "q": 4}


def test_nothing_is_rounded() -> None:
    """0.1 Ω beside 1e15 Ω: the divider is the exact ratio of the two floats."""
    small, large = 0.1, 1e15
    answer = solve_exactly(
        [source("p", "0", 1), resistor("p", "q", large), resistor("q", "0", small)], "0"
    )
    assert answer.volts["q"] == Fraction(small) / (Fraction(small) + Fraction(large))
