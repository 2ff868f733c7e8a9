"""What is heard of relays and starter solenoids, by reasoning from the wiring."""

from __future__ import annotations

import pytest

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit, Control
from quizgen.circuit.template import find_template
from quizgen.diagnosis.claims import claims
from quizgen.diagnosis.clicks import BUZZES, CLICKS, NO_CLICK, NOBODY_KNOWS, heard_again, heard_now
from quizgen.diagnosis.dictionary import build_dictionary
from quizgen.faults import inject, parse_fault
from quizgen.items.verify.bench import Bench
from quizgen.solver import solve

ON = {"S1": "on"}
SAID = {
    CLICKS: {CLICKS},
    NO_CLICK: {NO_CLICK},
    BUZZES: {BUZZES},
    NOBODY_KNOWS: {CLICKS, NO_CLICK},
}


def starter() -> Circuit:
    """A key feeds a starter solenoid through a fuse; its contact feeds the starter."""
    switch = c.Switch(
        id="S1", nodes=("plus", "key"), pins=("30", "50"), positions=("off", "on"),
        closes=((), (c.Contact(a="30", b="50"),)), control="S1",
    )  # fmt: skip
    parts = (
        c.Battery(id="GB1", nodes=("plus", "0"), emf_volts=12.6),
        switch,
        c.Fuse(id="F1", nodes=("key", "50"), amps=40.0),
        c.StarterSolenoid(id="K1", nodes=("50", "plus", "45", "0"), pull_in_volts=7.0),
        c.Motor(id="M1", nodes=("45", "0"), volts=12.0, run_amps=90.0, stall_amps=400.0),
    )
    control = Control(name="S1", positions=("off", "on"), rest="off")
    return Circuit(
        name="t", title="", system_volts=12.0, parts=parts, controls=(control,), reference="0"
    )


@pytest.mark.parametrize(
    ("fault", "heard"),
    [
        ("", CLICKS),
        ("M1:open", NO_CLICK),  # the pull-in winding returns through the starter
        ("M1:seized", CLICKS),
        ("K1:pull-open", NO_CLICK),
        ("K1:hold-open", BUZZES),  # the contact shorts out the winding that pulled it
        ("K1:not-making", NOBODY_KNOWS),
        ("S1:stuck:off", NO_CLICK),
        ("S1:stuck:on", NOBODY_KNOWS),  # in since the battery was connected
        ("F1:wrong-rating:5", NO_CLICK),  # the fuse blew when it was first tried
    ],
)
def test_a_starter_solenoid_is_heard(fault: str, heard: str) -> None:
    """With the key turned once more; the verifier's own ears agree."""
    circuit = starter()
    faulty = inject(circuit, parse_fault(fault)) if fault else circuit
    assert heard_again(solve(faulty, [ON]), "K1") == heard
    bench = Bench(circuit, tuple(ON.items()))
    ways = bench.ways(parse_fault(fault)) if fault else bench.sound
    assert bench.levels("K1", (ways[:1],)) == SAID[heard]


def test_a_fuse_that_has_just_blown_leaves_room_for_a_click() -> None:
    """On the first try the solenoid pulled in before the fuse opened; afterwards it does not."""
    faulty = inject(starter(), parse_fault("F1:wrong-rating:5"))
    assert heard_now(solve(faulty, [ON]), "K1", None) == NOBODY_KNOWS
    assert heard_again(solve(faulty, [ON]), "K1") == NO_CLICK


@pytest.mark.parametrize("family", ["starter", "push-button-relay"])
def test_verifier_and_dictionary_hear_the_same(family: str) -> None:
    """Two pieces of code apart from each other, every fault of a circuit in one state."""
    circuit = find_template(family).build({})
    hand = [k for k in circuit.controls if k.by == "hand"]
    moves = tuple((k.name, k.positions[-1]) for k in hand)
    table = build_dictionary(circuit, moves, [circuit.supply])
    bench = Bench(circuit, moves)
    bench.prepare(member.fault for member in table.members if member.fault)
    assert len(table.clickers) > 0
    assert len(claims(circuit)) > 20
    for row, member in enumerate(table.members):
        if member.fault is None or member.variant:
            continue
        for number, part in enumerate(table.clickers):
            found = bench.levels(part, (bench.ways(member.fault)[:1],))
            assert found == SAID[str(table.heard[number, row])], (member.fault, part)
