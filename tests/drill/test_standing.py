"""What a reading costs on the machine as it stands."""

from quizgen.circuit.template import find_template
from quizgen.drill.standing import Standing, read

CIRCUIT = find_template("blower-pack").build()


def test_a_place_is_paid_for_once() -> None:
    """The second reading at the same points costs only the use: 0.5 minutes."""
    first, a = read(CIRCUIT, Standing(), "voltmeter", "GB1.+", CIRCUIT.reference)
    second, b = read(CIRCUIT, first, "voltmeter", "GB1.+", CIRCUIT.reference)
    assert a == b
    assert abs(second.minutes - first.minutes - 0.5) < 1e-9
    assert first.minutes > 0.5


def test_an_unsafe_use_is_counted_and_costs_nothing() -> None:
    """A jumper across the battery shows nothing and takes no minutes."""
    after, shown = read(CIRCUIT, Standing(), "fused-jumper", "GB1.+", "GB1.-")
    assert shown.refused
    assert (after.unsafe, after.minutes) == (1, 0.0)
