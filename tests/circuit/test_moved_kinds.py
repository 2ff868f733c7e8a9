"""Parts that move by themselves can be written in a template; slips in them are named."""

from __future__ import annotations

import pytest

from quizgen.base.errors import FileError
from quizgen.circuit.components import (
    Alternator,
    Flasher,
    Gauge,
    Relay,
    StarterSolenoid,
    TwoSpeedMotor,
)
from quizgen.circuit.netlist import Control
from quizgen.circuit.template import parse_template
from tests.circuit.moved import MOVED


def test_each_kind_has_its_fields_and_nodes() -> None:
    """Nodes stand in the order of the terminals; what is left out keeps its default."""
    circuit = parse_template(MOVED).build()
    for part in (
        StarterSolenoid(id="K1", nodes=("start", "live", "motor", "chassis"), pull_ohm=0.3),
        Alternator(
            id="GA1", nodes=("live", "lamp", "chassis", "live"), control="engine", volts=14.4
        ),
        Flasher(id="K2", nodes=("on", "turn", "chassis"), least_amps=2.4),
        Relay(id="K3", nodes=("live", "chassis", "live", "wiper"), timer="after-run"),
        TwoSpeedMotor(
            id="M2", nodes=("low", "high", "chassis"), volts=13.0, low_amps=3.0, high_amps=5.0,
            stall_amps=25.0,
        ),
        Gauge(id="P2", nodes=("on", "level"), ohm=60.0, full_amps=0.15),
    ):  # fmt: skip
        assert circuit.by_id[part.id] == part


def test_conditions_of_engine_and_timer_are_controls() -> None:
    """A person sets them like any condition of the machine."""
    controls = parse_template(MOVED).build().by_control
    assert controls["engine"] == Control(
        name="engine", positions=("stopped", "cranked", "running"), rest="stopped",
        label="engine", by="condition",
    )  # fmt: skip
    assert controls["after-run"].positions == ("running", "elapsed")
    assert controls["after-run"].label == "time of the relay"


def test_terminals_follow_what_is_fitted() -> None:
    """An alternator without sense has no S, a thermal flasher no 31."""
    text = MOVED.replace("volts: 14.4, at: [live, lamp, chassis, live]",
                         "sensed: false, at: [live, lamp, chassis]")  # fmt: skip
    text = text.replace("least_amps: 2.4, at: [on, turn, chassis]",
                        "style: thermal, at: [on, turn]")  # fmt: skip
    parts = parse_template(text).build().by_id
    assert parts["GA1"].terminals == ("B+", "D+", "31")
    assert parts["K2"].terminals == ("49", "49a")


SLIPS = {
    # what is changed, to what, where the error stands, what it says
    "no such engine": ("control: engine", "control: engines", "parts.GA1.control",
                       "no condition 'engines'; did you mean engine?"),
    "engine does not run": ("cranked, running]", "cranked, idling]", "parts.GA1.control",
                            "the condition engine has no position running; choose from stopped, "),
    "no such position": ("control: engine", "control: engine, running: idling",
                         "parts.GA1.running", "choose from stopped, cranked, running"),
    "no control": ("control: engine, ", "", "parts.GA1", "control"),
    "timer of another kind": ("[running, elapsed]", "[running, stopped]", "parts.K3.timer",
                              "must be running and elapsed"),
    "no such timer": ("timer: after-run", "timer: after-ran", "parts.K3.timer",
                      "did you mean after-run?"),
    "unknown flasher": ("least_amps: 2.4", "style: quick", "parts.K2.style", "thermal"),
    "thermal with 31": ("least_amps: 2.4", "style: thermal", "parts.K2.at",
                        "expected one node each for 49, 49a; found 3"),
    "high below low": ("high_amps: 5", "high_amps: 2", "parts.M2.low_amps",
                       "low_amps must lie below high_amps, found 3 and 2"),
    "no torque left": ("high_amps: 5", "high_amps: 30", "parts.M2.high_amps",
                       "high_amps must lie below stall_amps, found 30 and 25"),
    "overcharge too low": ("volts: 14.4", "volts: 16", "parts.GA1.volts",
                           "volts must lie below unsensed_volts, found 16 and 15.5"),
    "share over 1": ("pull_ohm: 0.3", "hold_share: 1.2", "parts.K1.hold_share", "not above 1"),
    "unused condition": ("timer: after-run, ", "", "conditions.after-run",
                         "the timer of a relay"),
    "defect plunger": ("pull_ohm: 0.3", "plunger: welded", "parts.K1.plunger", "unknown field"),
    "defect winding": ("pull_ohm: 0.3", "hold: open", "parts.K1.hold", "unknown field"),
    "defect brush": ("low_amps: 3", "low_brush: open", "parts.M2.low_brush",
                     "unknown field"),
    "defect condition": ("ohm: 60", "ohm: 60, condition: open", "parts.P2.condition",
                         "unknown field"),
}  # fmt: skip


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_is_named(name: str) -> None:
    """Place and remedy stand in the error."""
    old, new, field, says = SLIPS[name]
    assert MOVED.count(old) == 1
    with pytest.raises(FileError) as caught:
        parse_template(MOVED.replace(old, new))
    message = str(caught.value)
    assert f" {field}:" in message
    assert says in message
