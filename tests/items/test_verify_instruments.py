"""The verifier's instruments against hand reasoning, and against those of the package.

The two sets were written apart and share only the solver; they must not disagree.
"""

from __future__ import annotations

import random
from math import inf

import pytest

from quizgen.base.errors import InputError, QuizgenError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit, Control
from quizgen.circuit.template import find_template
from quizgen.faults import inject, parse_fault, universe
from quizgen.instruments import Measurement, measure
from quizgen.items.act import Act, parse_act
from quizgen.items.verify.instruments import INSTRUMENTS, Display, look, ohm_shown

FAMILIES = ("blower-pack", "fuel-gauge", "indicators-hazard", "starter", "two-source-lamp")


def shelf_lamp() -> Circuit:
    """12 V, fuse, wire, plug, switch, 10 Ω heater, wire, stud: nothing in it but 10 Ω.

    Next to ideal wires, so that what the instruments show can be worked out in the head.
    """
    switch = c.Switch(
        id="S1", nodes=("S1.1", "S1.2"), pins=("1", "2"), positions=("off", "on"),
        closes=((), (c.Contact(a="1", b="2"),)), control="S1", contact_ohm=1e-4,
    )  # fmt: skip
    return Circuit(
        name="shelf",
        title="",
        system_volts=12.0,
        parts=(
            c.Battery(id="GB1", nodes=("+", "chassis"), emf_volts=12.0, internal_ohm=1e-4),
            c.Fuse(id="F1", nodes=("+", "S1.1"), amps=5.0, ohm=1e-4),
            switch,
            c.Connector(id="X1", nodes=("S1.2", "E1.1"), cavities=("1",), cavity_ohm=(1e-4,)),
            c.Heater(id="E1", nodes=("E1.1", "E1.2"), watts=14.4, volts=12.0),
            c.Wire(id="W1", nodes=("E1.2", "G1"), colour="BK", mm2=6, metres=0.01, joint_ohm=0.0),
            c.Ground(id="G1", nodes=("G1", "chassis"), ohm=1e-4),
        ),
        controls=(Control(name="S1", positions=("off", "on"), rest="off"),),
    )


def shown(text: str, fault: str = "") -> Display:
    """What an act shows on the shelf lamp."""
    circuit = shelf_lamp()
    return look(inject(circuit, parse_fault(fault)) if fault else circuit, parse_act(text))


@pytest.mark.parametrize(
    ("act", "fault", "display"),
    [
        # twelve volts on 10 Ω
        ("voltmeter red=E1.1 black=chassis S1=on", "", "12.0 V"),
        ("voltmeter red=chassis black=E1.1 S1=on", "", "−12.0 V"),
        ("voltmeter red=E1.1 black=chassis", "", "0.0 V"),
        ("voltmeter-2V red=E1.2 black=chassis S1=on", "", "0.000 V"),
        ("voltmeter-2V red=E1.1 black=chassis S1=on", "", "OL"),
        ("clamp-ammeter red=W1 S1=on", "", "1.2 A"),
        # across the open switch: 12 V over 10.01 Ω and the fuse of the meter
        ("ammeter red=S1.1 black=S1.2", "", "1.20 A"),
        ("fused-jumper red=S1.1 black=S1.2", "", "jumper fuse holds"),
        # an open ground leaves the supply at the far end of the heater
        ("voltmeter red=E1.2 black=chassis S1=on", "W1:open", "12.0 V"),
        ("test-lamp red=E1.1 black=chassis S1=on", "W1:open", "lit bright"),
        # behind 100 Ω the cold filament is left with a small part of it; a meter does not notice
        ("test-lamp red=E1.2 black=chassis S1=on", "F1:blown", "dark"),
        ("voltmeter red=X1.1a black=chassis S1=on", "S1:resistance:1-2=90", "1.2 V"),
        ("test-lamp red=S1.2 black=chassis S1=on apart=X1", "S1:resistance:1-2=100", "dark"),
        ("voltmeter red=S1.2 black=chassis S1=on apart=X1", "S1:resistance:1-2=100", "12.0 V"),
        # dead circuit: 10 Ω, and nothing where it is opened
        ("ohmmeter red=E1.1 black=E1.2 unplugged=GB1", "", "10.0 Ω"),
        ("ohmmeter red=E1/1 black=E1/2 unplugged=GB1,E1", "", "10.0 Ω"),
        ("ohmmeter red=E1.1 black=chassis unplugged=GB1,E1", "", "OL"),
        ("ohmmeter red=E1.1 black=E1.2 unplugged=GB1", "E1:open", "OL"),
        # 3 V over 1 Ω of cells, 10 Ω and 2.5 V / 0.3 A: about a quarter of an ampere
        ("self-powered-lamp red=E1.2 black=chassis unplugged=GB1", "", "lit bright"),
        ("self-powered-lamp red=E1.2 black=chassis unplugged=GB1", "W1:open", "dark"),
    ],
)
def test_what_an_instrument_shows(act: str, fault: str, display: str) -> None:
    """Each by Ohm's law on one heater of 10 Ω."""
    found = shown(act, fault)
    assert found.sure == display, found
    assert not found.unsafe


@pytest.mark.parametrize(
    ("act", "why"),
    [
        ("ohmmeter red=E1.1 black=E1.2 S1=on", "the circuit is live there"),
        ("self-powered-lamp red=S1.1 black=chassis", "the circuit is live there"),
        ("ammeter red=E1.1 black=chassis S1=on", "it joins both poles of GB1"),
        ("ammeter red=E1.1 black=E1.2", "it joins both sides of E1"),
        ("fused-jumper red=S1.1 black=chassis", "it joins both poles of GB1"),
    ],
)
def test_unsafe_uses_show_nothing(act: str, why: str) -> None:
    """An ohmmeter on a live circuit, a piece of wire across a load or the supply."""
    found = shown(act)
    assert found.unsafe == why
    assert not found.shown
    assert not found.sure


def test_a_break_that_nobody_knows_of_makes_nothing_safe() -> None:
    """With W1 broken a jumper across the heater would do no harm; it is unsafe all the same."""
    assert shown("fused-jumper red=E1.1 black=chassis S1=on", "W1:open").unsafe


@pytest.mark.parametrize(
    ("act", "why"),
    [
        ("voltmeter red=E1.1 black=chassis S1=on unplugged=GB1", "no supply"),
        ("ohmmeter red=E1.2 black=G1", "still connected"),
        ("ammeter red=S1.1 black=S1.2 S1=on", "not opened"),
    ],
)
def test_pointless_uses_are_said_to_be_so(act: str, why: str) -> None:
    """They do no harm and tell nothing, or less than they seem to."""
    found = shown(act)
    assert why in found.pointless
    assert not found.unsafe


@pytest.mark.parametrize(
    ("act", "word"),
    [
        ("oscilloscope red=E1.1 black=chassis", "oscilloscope"),
        ("voltmeter red=E9.1 black=chassis", "E9"),
        ("voltmeter red=E1.1 black=E1.1", "both leads"),
        ("voltmeter red=E1.1 black=chassis S7=on", "S7"),
        ("voltmeter red=E1.1 black=chassis apart=E1", "no connector"),
        ("voltmeter red=E1.1 black=chassis unplugged=G1", "cannot be taken off"),
        ("clamp-ammeter red=E1.1", "E1.1"),
        ("clamp-ammeter red=W1 black=chassis", "clamp"),
        ("voltmeter", "no point"),
    ],
)
def test_what_cannot_be_done_is_an_input_error(act: str, word: str) -> None:
    """One line that names what is wrong."""
    with pytest.raises(InputError, match=word):
        shown(act)


@pytest.mark.parametrize(
    ("ohm", "text"),
    [
        (0.04, "0.0 Ω"), (199.9, "199.9 Ω"), (199.96, "200 Ω"), (1999.4, "1999 Ω"),
        (1999.6, "2.00 kΩ"), (19994.0, "19.99 kΩ"), (19996.0, "20.0 kΩ"), (3.3e5, "0.330 MΩ"),
        (3.3e6, "3.30 MΩ"), (2.1e7, "OL"), (inf, "OL"),
    ],
)  # fmt: skip
def test_ohm_ranges_of_two_thousand_counts(ohm: float, text: str) -> None:
    """No display has more than 1999 counts; the next range takes over."""
    assert ohm_shown(ohm)[0] == text


def random_act(circuit: Circuit, rng: random.Random) -> Act:
    """Any instrument anywhere, with a few things taken apart."""

    def some(share: float, *kinds: type[c.Part]) -> tuple[str, ...]:
        return tuple(p.id for p in circuit.parts if isinstance(p, kinds) and rng.random() < share)

    instrument = rng.choice(sorted(INSTRUMENTS))
    controls = rng.sample(circuit.controls, rng.randint(0, len(circuit.controls)))
    removed = some(0.1, c.Fuse, c.Relay, c.Lamp)
    unplugged = some(0.1, c.Motor, c.Heater) + some(0.5, c.Battery)
    points = [f"{p.id}.{t}" for p in circuit.parts for t in p.terminals]
    for part in map(circuit.part, removed + unplugged):
        points += [f"{part.id}/{t}" for t in part.terminals] * 5
    red, black = rng.choice(points), rng.choice([*points, *[circuit.reference] * len(points)])
    if instrument == "clamp-ammeter":
        red, black = rng.choice([p.id for p in circuit.parts if isinstance(p, c.Wire)]), ""
    return Act(
        instrument=instrument, red=red, black=black, removed=removed, unplugged=unplugged,
        moves=tuple((control.name, rng.choice(control.positions)) for control in controls),
        apart=some(0.2, c.Connector),
    )  # fmt: skip


@pytest.mark.parametrize("family", FAMILIES)
def test_both_sets_of_instruments_agree(family: str) -> None:
    """On random acts with random faults they show, refuse and doubt the same."""
    rng = random.Random(family)
    template = find_template(family)
    circuit = template.build(template.draw(rng))
    faults = [weighted.fault for weighted in universe(circuit)]
    for _ in range(6):
        act = random_act(circuit, rng)
        faulty = inject(circuit, rng.choice(faults))
        fields = {k: getattr(act, k) for k in ("apart", "removed", "unplugged", "red", "black")}
        asked = Measurement(instrument=act.instrument, positions=act.moves, **fields)
        try:
            theirs = measure(faulty, asked)
        except QuizgenError:
            with pytest.raises(QuizgenError):
                look(faulty, act)
            continue
        mine = look(faulty, act)
        assert bool(mine.unsafe) == bool(theirs.refused), act
        assert bool(mine.pointless) == (bool(theirs.warnings) and not theirs.refused), act
        assert ", then ".join(mine.shown).replace("−", "-") == theirs.shown.replace("−", "-"), act
        if theirs.raw is not None and theirs.raw != inf:
            assert mine.low == pytest.approx(theirs.low, rel=1e-3, abs=1e-3)
            assert mine.high == pytest.approx(theirs.high, rel=1e-3, abs=1e-3)
