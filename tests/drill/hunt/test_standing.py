"""What an act costs on the machine as it stands."""

from quizgen.circuit.template import find_template
from quizgen.drill.hunt.standing import Standing, after_hand, after_reading

CIRCUIT = find_template("blower-pack").build()


def test_a_place_is_paid_for_once() -> None:
    """The second reading at the same points costs only the use: 0.5 minutes."""
    first = after_reading(CIRCUIT, Standing(), "voltmeter", ["GB1.+"])
    second = after_reading(CIRCUIT, first, "voltmeter", ["GB1.+"])
    assert abs(second.minutes - first.minutes - 0.5) < 1e-9
    assert first.minutes > 0.5


def test_a_part_is_reached_once_whether_for_its_plug_or_its_terminal() -> None:
    """Half a minute for the plug and the way there; the terminal then needs no way."""
    motor = CIRCUIT.part("M1")
    off = after_hand(CIRCUIT, Standing(), motor)
    assert abs(off.minutes - 0.5 - motor.access_minutes) < 1e-9
    read = after_reading(CIRCUIT, off, "ohmmeter", ["M1.1"])
    assert abs(read.minutes - off.minutes - 1.0) < 1e-9
