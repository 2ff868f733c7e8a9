"""Acts on a machine: what stays done, what it costs, what is stopped; told by the wiring."""

from __future__ import annotations

import random

import pytest

from quizgen.base.errors import InputError
from quizgen.circuit.components import LOADS
from quizgen.circuit.template import find_template
from quizgen.drill.hunt import engine
from quizgen.drill.hunt.case import Case, Wish
from quizgen.drill.hunt.engine import Act, Hunt, Outcome, act, begin, replay
from quizgen.drill.hunt.repair import try_repair
from quizgen.faults import parse_fault
from tests.drill.hunt.players import drawn

CIRCUIT = find_template("push-button-relay").build()
PRESSED = (("S1", "on"), ("S2", "pressed"))


def hunted(fault: str) -> Hunt:
    """A hunt for a fault of the pump circuit, the button pressed."""
    moves = tuple(m for m in PRESSED if m[0] in CIRCUIT.by_control)
    return begin(
        Case(
            wish=Wish(label="by hand"), machine="", circuit=CIRCUIT, fault=parse_fault(fault),
            moves=moves, story=(), sees=(), clicks=(), places=3,
        )
    )  # fmt: skip


def after(hunt: Hunt, *acts: tuple[str, ...]) -> tuple[Hunt, Outcome]:
    """The hunt after several acts, and what came of the last."""
    outcome = Outcome()
    for do, *args in acts:
        hunt, outcome = act(hunt, Act(do, tuple(args)))
    return hunt, outcome


def seen(outcome: Outcome) -> dict[str, str]:
    """Load → what it does."""
    return {o.load: o.level for o in outcome.seen}


def test_a_fuse_that_has_blown_stays_blown_until_there_is_a_new_one() -> None:
    """The short is off with the pump's wire, yet nothing feeds the pump until F2 is new."""
    hunt = hunted("W5:short-to-ground")
    assert hunt.standing.opened == ("F2",)
    hunt, outcome = after(
        hunt, ("turn", "S2", "released"), ("measure", "voltmeter", "F2.2", "chassis")
    )
    assert outcome.reading is not None
    assert outcome.reading.shown == "0.0 V"
    hunt, _ = after(hunt, ("fuse", "F2"))
    assert hunt.standing.opened == ()
    hunt, outcome = after(hunt, ("turn", "S2", "pressed"))
    assert outcome.blown == ("F2",)


def test_a_jumper_around_an_open_button_makes_the_pump_run_until_it_is_off() -> None:
    """The coil is grounded through the jumper instead of the button."""
    hunt = hunted("S2:open:1-2")
    _, outcome = after(hunt, ("watch",))
    assert seen(outcome)["M1"] == "stopped"
    hunt, outcome = after(hunt, ("jumper", "S2.1", "S2.2"), ("watch",))
    assert seen(outcome)["M1"] == "turns"
    assert ("K1", "clicks") in outcome.heard
    _, outcome = after(hunt, ("jumper", "off"), ("watch",))
    assert seen(outcome)["M1"] == "stopped"


def test_a_short_is_stopped_and_counted_and_costs_no_minutes() -> None:
    """A jumper from plus to the frame and an ohmmeter on the live feed show nothing."""
    hunt = hunted("M1:open")
    for unsafe in (("jumper", "GB1.+", "chassis"), ("measure", "ohmmeter", "GB1.+", "chassis")):
        hunt, outcome = after(hunt, unsafe)
        assert outcome.refused
        assert outcome.reading is None
    assert (hunt.standing.unsafe, hunt.standing.minutes) == (2, 0.0)
    assert hunt.standing.jumper == ()


def test_turning_costs_a_fifth_of_a_minute_with_the_next_reading_only() -> None:
    """0.5 min for the voltmeter, 0.2 more after a turn, the place paid the first time."""
    hunt, _ = after(hunted("M1:open"), ("measure", "voltmeter", "GB1.+", "chassis"))
    _, outcome = after(
        hunt, ("turn", "S2", "released"), ("measure", "voltmeter", "GB1.+", "chassis")
    )
    assert abs(outcome.minutes - 0.7) < 1e-9
    _, outcome = after(
        hunt, ("turn", "S2", "released"), ("watch",), ("measure", "voltmeter", "GB1.+", "chassis")
    )
    assert abs(outcome.minutes - 0.5) < 1e-9


def test_what_controls_did_long_ago_is_forgotten_and_changes_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Eleven turns: the same is seen, heard and measured as if every one were made again."""
    case, rng = drawn("turns", "push-button-relay"), random.Random("turns")
    load = next(part for part in case.circuit.parts if isinstance(part, LOADS))
    point = f"{load.id}.{load.terminals[0]}"
    acts = []
    stands = case.circuit.rest_positions() | dict(case.moves)
    for _ in range(11):
        control = rng.choice(case.circuit.controls)
        other = [p for p in control.positions if p != stands[control.name]]
        stands[control.name] = rng.choice(other)
        acts.append(Act("turn", (control.name, stands[control.name])))
    acts += [Act("watch"), Act("measure", ("voltmeter", point, case.circuit.reference))]
    short = replay(case, tuple(acts))
    assert len(short.standing.moves) <= engine.LONG + 1
    monkeypatch.setattr(engine, "LONG", engine.MOST_MOVES)
    whole = replay(case, tuple(acts))
    assert [t.outcome.record for t in short.taken] == [t.outcome.record for t in whole.taken]
    assert len(whole.standing.moves) >= 11


def test_an_open_winding_reads_overload_once_the_motor_is_off_its_wires() -> None:
    """With the battery off, M1/1 to M1/2 is the motor alone: no path at all."""
    acts = (("unplug", "GB1"), ("unplug", "M1"), ("measure", "ohmmeter", "M1/1", "M1/2"))
    _, outcome = after(hunted("M1:open"), *acts)
    assert outcome.reading is not None
    assert outcome.reading.shown == "OL"
    assert not outcome.reading.warnings


@pytest.mark.parametrize(
    ("acts", "says"),
    [
        ((("apart", "M1"),), "no connector"),
        ((("unplug", "W5"),), "cannot be unplugged"),
        ((("unplug", "M1"), ("unplug", "M1")), "off already"),
        ((("back", "M1"),), "in its place already"),
        ((("measure", "voltmeter", "W5.from", "chassis"),), "cannot be put on a wire"),
        ((("measure", "barometer", "M1.1", "chassis"),), "no instrument"),
        ((("measure", "clamp-ammeter", "M1"),), "around one wire"),
        ((("fuse", "M1"),), "no fuse"),
        ((("jumper", "off"),), "no jumper is in"),
        ((("turn", "S2", "sideways"),), "no position"),
        ((("watch", "closely"),), "cannot be done"),
        ((("note", " "),), "nothing to write down"),
        ((("repair", "M1"), ("watch",)), "is over"),
    ],
)
def test_what_cannot_be_done_is_told(acts: tuple[tuple[str, ...], ...], says: str) -> None:
    """One line that names the trouble."""
    with pytest.raises(InputError, match=says):
        after(hunted("M1:open"), *acts)


def test_a_repair_mends_its_own_place_and_no_other() -> None:
    """A new relay does nothing for an open winding; a fuse over a short blows again."""
    for fault, part, gone, blown in (
        ("M1:open", "M1", True, ()),
        ("M1:open", "K1", False, ()),
        ("W5:short-to-ground", "F2", False, ("F2",)),
        ("W5:short-to-ground", "W5", True, ()),
    ):
        hunt, _ = after(hunted(fault), ("repair", part))
        assert hunt.named is not None
        trying = try_repair(hunt, hunt.named, alike=False)
        assert (trying.is_gone, trying.blown) == (gone, blown), (fault, part)
