"""The washer with a fault: what it does is worked out by hand from the wiring.

Facts of the trade are common practice without a source.
"""

from __future__ import annotations

from quizgen.circuit.netlist import Circuit
from quizgen.faults import inject, parse_fault
from quizgen.solver import OperatingPoint, solve
from quizgen.solver.observation import observe


def after(circuit: Circuit, fault: str, **moves: str) -> OperatingPoint:
    """The circuit with a fault, the ignition on, then its controls moved."""
    steps = [{"S1": "on"}, *({name: position} for name, position in moves.items())]
    return solve(inject(circuit, parse_fault(fault)), steps)


def levels(point: OperatingPoint) -> dict[str, str]:
    return {o.load: o.level for o in observe(point)}


def pumps(circuit: Circuit, fault: str) -> tuple[set[str], set[str]]:
    """What the pumps do, with the stalk at front and at rear."""
    front, rear = (
        {level for load, level in levels(after(circuit, fault, S2=screen)).items() if load != "P1"}
        for screen in ("front", "rear")
    )
    return front, rear


def test_one_pump_needs_both_sides_of_the_switch(draws):
    """A pump that reverses goes to ground through the contact of the other screen."""
    for drawn in draws("washer-pump", 3, pumps="one", control="direct"):
        for fault, expected in (
            ("S2:open:R-31", ({"stopped"}, {"turns backwards"})),
            ("S2:open:15-F", ({"stopped"}, {"turns backwards"})),
            ("S2:open:F-31", ({"turns"}, {"stopped"})),
            ("S2:open:15-R", ({"turns"}, {"stopped"})),
            ("G2:open", ({"stopped"}, {"stopped"})),
        ):
            assert pumps(drawn.circuit, fault) == expected, f"{fault}: {drawn}"


def test_swapped_leads_send_the_water_to_the_other_screen(draws):
    """With its poles swapped the pump turns the other way, for either screen."""
    for drawn in draws("washer-pump", 3, pumps="one"):
        assert pumps(drawn.circuit, "W11:swapped:W12") == ({"turns backwards"}, {"turns"})


def test_a_relay_that_sticks_runs_the_pump_until_the_other_pulls(draws):
    """K1 welded: the front is washed at rest; at rear both leads stand at supply, no water."""
    for drawn in draws("washer-pump", 3, pumps="one", control="relays"):
        rest = levels(after(drawn.circuit, "K1:welded"))
        assert rest["M1"] == "turns", str(drawn)
        assert pumps(drawn.circuit, "K1:welded") == ({"turns"}, {"stopped"}), str(drawn)


def test_two_pumps_fail_each_by_itself(draws):
    """A dead front pump leaves the rear one working."""
    for control in ("direct", "relays"):
        for drawn in draws("washer-pump", 2, pumps="two", control=control):
            front = levels(after(drawn.circuit, "M1:open", S2="front"))
            rear = levels(after(drawn.circuit, "M1:open", S2="rear"))
            assert (front["M1"], rear["M2"]) == ("stopped", "turns"), str(drawn)


def test_two_pumps_without_their_return_stand_at_supply(draws):
    """The common return open: no current, no drop, so the joint has the full voltage."""
    for drawn in draws("washer-pump", 3, pumps="two", ground="tank"):
        point = after(drawn.circuit, "W35:open", S2="front")
        assert set(levels(point).values()) & {"turns", "turns backwards"} == set(), str(drawn)
        joint, plus = point.volts("XS3"), point.volts("GB1.+")
        assert joint is not None
        assert plus is not None
        assert joint > 0.95 * plus, str(drawn)


def test_the_low_tank_lamp_goes_by_the_float_switch(draws):
    """Stuck low it burns over a full tank; its wire on the frame does the same."""
    for drawn in draws("washer-pump", 3, level=True):
        assert levels(after(drawn.circuit, "B1:stuck:low"))["P1"] == "bright"
        assert levels(after(drawn.circuit, "W42:short-to-ground"))["P1"] == "bright"
        assert levels(after(drawn.circuit, "B1:stuck:full", tank="low"))["P1"] == "dark"
        assert levels(after(drawn.circuit, "G3:open", tank="low"))["P1"] == "dark", str(drawn)
