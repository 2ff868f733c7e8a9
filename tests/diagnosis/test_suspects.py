"""Which faults are left by what was found: by hand on a lamp, by simulation on shipped circuits."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from quizgen.base.errors import InputError
from quizgen.circuit.components import Diode, Fuse
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template
from quizgen.diagnosis.claims import claim_key
from quizgen.diagnosis.evidence import Evidence, Finding, Step
from quizgen.diagnosis.states import telling_states
from quizgen.diagnosis.suspects import SOUND_SHARE, Suspects, suspects
from quizgen.diagnosis.worlds import cells_of, joined, severity, split
from quizgen.faults import Fault, inject, parse_fault, universe
from quizgen.instruments import Measurement, measure
from quizgen.solver import solve
from quizgen.solver.observation import against, observe, visible
from quizgen.solver.operating_point import Moves
from tests.diagnosis import lamp_on_relay as lamp

ON = lamp.ON


def keys(found: Suspects) -> set[str]:
    """The suspects by name."""
    return {suspect.key for suspect in found.listed}


def volts(**shows: str) -> tuple[Finding, ...]:
    """Voltmeter readings: E1_1="12.4 V"."""
    return tuple(Finding(red=red.replace("_", "."), shows=text) for red, text in shows.items())


def simulated(
    circuit: Circuit, fault: Fault, states: list[Moves], rng: random.Random
) -> Evidence | None:
    """What a person would find with `fault` in it: all loads, and a meter at random points."""
    broken = inject(circuit, fault)
    steps: list[Step] = []
    done: Moves = ()
    for target in states:
        stands = circuit.rest_positions() | dict(done)
        wanted = circuit.rest_positions() | dict(target)
        moves = tuple((k, v) for k, v in wanted.items() if stands[k] != v)
        done += moves
        point, sound = (solve(c, [{k: v} for k, v in done]) for c in (broken, circuit))
        if point.ambiguous:
            return None
        seen = visible(circuit, tuple(map(against, observe(sound), observe(point))))
        findings = []
        for instrument in ("voltmeter", "voltmeter", "test-lamp"):
            red = rng.choice(circuit.nodes[1:])
            shown = measure(
                broken,
                Measurement(
                    instrument=instrument, red=red, black=circuit.reference, positions=done
                ),
            )
            if "then" not in shown.shown and not shown.doubts:
                findings.append(Finding(instrument=instrument, red=red, shows=shown.shown))
        sees = tuple((o.load, o.level) for o in seen)
        steps.append(Step(moves=moves, sees=sees, readings=tuple(findings)))
    return Evidence(tuple(steps))


@pytest.mark.parametrize(
    "name", ["blower-pack", "horn-pair", "push-button-relay", "ground-switched-lamps"]
)
def test_the_fault_that_is_there_is_among_the_suspects(name: str) -> None:
    """Whatever a simulated fault shows, over two steps and several meters, never excludes it."""
    rng = random.Random(name)
    template = find_template(name)
    circuit = template.build(template.draw(rng))
    possible = universe(circuit)
    fault = rng.choices([u.fault for u in possible], [u.weight for u in possible])[0]
    evidence = simulated(circuit, fault, rng.sample(telling_states(circuit, 8), 2), rng)
    if evidence is not None:
        assert claim_key(fault) in keys(suspects(circuit, evidence)), (fault, evidence)


def test_what_is_left_out_contradicts_something() -> None:
    """Each usual fault of the lamp circuit is out only if it would really show something else."""
    circuit = lamp.circuit()
    evidence = Evidence(
        (Step(moves=ON, sees=(("E1", "dark"), ("E2", "bright")), readings=volts(E1_1="12.6 V")),)
    )
    left = keys(suspects(circuit, evidence))
    for item in universe(circuit):
        point = solve(inject(circuit, item.fault), [dict(ON)])
        levels = {o.load: o for o in observe(point)}
        sure = [not o.doubtful for o in levels.values()]
        at_lamp = point.volts("E1.1")
        fits = (
            levels["E1"].level == "dark"
            and levels["E2"].level == "bright"
            and abs((at_lamp or 0.0) - 12.6) < 0.2
        )
        if all(sure) and fits:
            assert claim_key(item.fault) in left, item.fault


def test_supply_at_the_lamp_leaves_the_lamp_and_its_ground() -> None:
    """By hand: E1 dark with 12.5 V at terminal 1 and a clicking relay. Feed and switch are good.

    Left: the filament, wire W4 and stud G1, each open or with too much resistance; a fuse or a
    switch would take the relay with it, W3 would take the voltage.
    """
    step = Step(
        moves=ON, sees=(("E1", "dark"),), clicks=(("K1", "yes"),), readings=volts(E1_1="12.6 V")
    )
    found = keys(suspects(lamp.circuit(), Evidence((step,))))
    assert {"E1:burned-out", "W4:open", "G1:open", "W4:resistance", "G1:resistance"} <= found
    assert {key.split(":")[0] for key in found} == {"E1", "W4", "G1"}


def test_one_more_reading_leaves_the_ground() -> None:
    """By hand: 12.6 V on the ground side too, and at the stud: only the stud is left."""
    step = Step(
        moves=ON, sees=(("E1", "dark"),), readings=volts(E1_1="12.6 V", E1_2="12.6 V", G1="12.6 V")
    )
    assert keys(suspects(lamp.circuit(), Evidence((step,)))) == {"G1:open", "G1:resistance"}


def test_a_figure_pins_the_severity() -> None:
    """A voltage at the stud while the lamp glows: by Ohm's law it belongs to one resistance.

    The figure comes from a solved circuit with 3 ohm; what is left must hold 3 and be narrow.
    """
    circuit = lamp.circuit()
    broken = inject(circuit, parse_fault("G1:resistance:3"))
    point = solve(broken, [dict(ON)])
    shown = f"{point.volts('G1') or 0.0:.1f} V"
    found = suspects(circuit, Evidence((Step(moves=ON, readings=volts(G1=shown)),)))
    ground = next(s for s in found.listed if s.key == "G1:resistance")
    ends = [severity(f) for cell in ground.cells for f in (*cell.near, *cell.far)]
    assert min(ends) <= 3.0 <= max(ends)
    assert max(ends) / min(ends) < 1.5


def test_nothing_found_leaves_everything() -> None:
    """Without evidence the posterior is the prior: weights, and the stated share for no fault."""
    circuit = lamp.circuit()
    found = suspects(circuit, Evidence())
    total = sum(item.weight for item in universe(circuit))
    chance = {s.key: s.probability for s in found.listed}
    assert chance["no fault"] == pytest.approx(SOUND_SHARE)
    for item in universe(circuit):
        if item.fault.mode == "blown":
            expected = (1 - SOUND_SHARE) * item.weight / total
            assert chance[str(item.fault)] == pytest.approx(expected)
    assert sum(chance.values()) == pytest.approx(1.0)


def test_a_sound_circuit_leaves_no_fault() -> None:
    """What a sound circuit shows agrees with no fault, and not with a blown fuse."""
    circuit = lamp.circuit()
    found = suspects(circuit, Evidence((Step(moves=ON, sees=(("E1", "bright"),)),)))
    assert "no fault" in keys(found)
    assert "F1:blown" not in keys(found)


def test_a_missing_and_a_blown_fuse_are_one_group() -> None:
    """Nothing but a look at the fuse tells them apart; the wire behind it differs between."""
    step = Step(moves=ON, sees=(("E1", "dark"), ("E2", "dark")))
    found = suspects(lamp.circuit(), Evidence((step,)))
    group = {s.key: s.group for s in found.listed}
    assert group["F1:blown"] == group["F1:missing"]
    assert group["F1:blown"] != group["W2:open"]


def test_the_second_step_goes_on_from_the_first() -> None:
    """A relay that pulled in in the first step does not click again in the second."""
    circuit = lamp.circuit()
    first = Step(moves=ON, clicks=(("K1", "yes"),))
    again = Step(sees=(("E1", "bright"),), clicks=(("K1", "no"),))
    assert "no fault" in keys(suspects(circuit, Evidence((first, again))))
    twice = Step(clicks=(("K1", "yes"),))
    assert "no fault" not in keys(suspects(circuit, Evidence((first, twice))))


@pytest.mark.parametrize("heard", ["yes", "no"])
def test_a_held_relay_proves_nothing_by_its_click(heard: str) -> None:
    """A welded contact holds the armature; whether that clicks nobody can say."""
    step = Step(moves=lamp.ON, sees=(("E2", "bright"),), clicks=(("K1", heard),))
    assert "K1:welded" in keys(suspects(lamp.circuit(), Evidence((step,))))


def test_a_sharp_reading_between_two_severities_still_agrees() -> None:
    """A meter that resolves more finely than severities are divided never excludes the truth."""
    circuit = lamp.circuit()
    for ohm in (0.31, 0.7, 1.03):
        broken = inject(circuit, parse_fault(f"G1:resistance:{ohm}"))
        asked = Measurement(instrument="voltmeter-2V", red="G1", black="chassis", positions=lamp.ON)
        shown = measure(broken, asked).shown
        finding = Finding(instrument="voltmeter-2V", red="G1", shows=shown)
        step = Step(moves=lamp.ON, readings=(finding,))
        assert "G1:resistance" in keys(suspects(circuit, Evidence((step,))))


def test_a_point_behind_a_diode_reads_what_the_meter_makes_of_it() -> None:
    """Nothing but a diode leads to the point: a meter shows 0.0 V, and that excludes nothing."""
    diode = Diode(id="V1", nodes=("E1.2", "loose end"))
    circuit = lamp.circuit().with_parts(added=[diode])
    asked = Measurement(instrument="voltmeter", red="loose end", black="chassis", positions=lamp.ON)
    assert measure(circuit, asked).shown == "0.0 V"
    step = Step(moves=lamp.ON, readings=(Finding(red="loose end", shows="0.0 V"),))
    assert "no fault" in keys(suspects(circuit, Evidence((step,))))


def test_one_finding_on_each_side_of_a_jump_is_no_agreement() -> None:
    """At some resistance of the coil's feed the relay lets go, and the lamp behind it goes dark.

    No resistance makes the lamp dark while its supply is there: E2 dark with 12.6 V at K1.87
    is the lamp itself, not the coil's wire.
    """
    step = Step(
        moves=lamp.ON, sees=(("E2", "dark"), ("E1", "bright")), readings=volts(K1_87="12.6 V")
    )
    assert keys(suspects(lamp.circuit(), Evidence((step,)))) == {"E2:burned-out"}


def test_a_fuse_that_may_open_rules_nothing_out() -> None:
    """Loaded a little above its rating a fuse may hold or not; both are followed.

    A blade fuse carries 1.1 times its rating for 100 hours and opens within 10 minutes at 1.35
    times (ISO 8820-3, from memory): 1.64 A through 1.3 A is in between.
    """
    sound = lamp.circuit()
    fuse = sound.part("F1")
    assert isinstance(fuse, Fuse)
    circuit = sound.with_parts(changed=[replace(fuse, amps=1.3)])
    for level in ("bright", "dark"):
        step = Step(moves=lamp.ON, sees=(("E1", level),))
        assert "no fault" in keys(suspects(circuit, Evidence((step,)))), level


def test_an_ohmmeter_reading_counts() -> None:
    """By hand: OL across the lamp's own terminals, off its wires, is a filament with a break."""
    finding = Finding(
        instrument="ohmmeter", red="E1/1", black="E1/2", unplugged=("GB1", "E1"), shows="OL"
    )
    step = Step(moves=ON, sees=(("E1", "dark"),), readings=(finding,))
    assert keys(suspects(lamp.circuit(), Evidence((step,)))) == {"E1:burned-out"}


def test_two_faults_explain_what_one_cannot() -> None:
    """Both lamps dark although the relay clicks: two burned-out lamps, on request only."""
    circuit = lamp.circuit()
    step = Step(
        moves=ON, sees=(("E1", "dark"), ("E2", "dark")), clicks=(("K1", "yes"),),
        readings=volts(E1_1="12.6 V", K1_87="12.6 V"),
    )  # fmt: skip
    assert keys(suspects(circuit, Evidence((step,)))) == set()
    found = suspects(circuit, Evidence((step,)), double=True)
    assert "E1:burned-out + E2:burned-out" in keys(found)
    assert all(len(s.cause.claims) == 2 for s in found.listed)


def test_pairs_are_minimal() -> None:
    """No pair contains a fault that explains everything alone."""
    step = Step(moves=ON, sees=(("E1", "dark"), ("E2", "bright")))
    found = suspects(lamp.circuit(), Evidence((step,)), double=True)
    alone = {s.cause.claims[0].key for s in found.listed if len(s.cause.claims) == 1}
    for suspect in found.listed:
        if len(suspect.cause.claims) == 2:
            assert not alone & {claim.key for claim in suspect.cause.claims}


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (Step(moves=(("S9", "on"),)), "no control"),
        (Step(sees=(("E1", "loud"),)), "dark"),
        (Step(sees=(("F1", "dark"),)), "not a load"),
        (Step(clicks=(("E1", "yes"),)), "no relay"),
        (Step(clicks=(("K1", "loud"),)), "buzzes"),
        (Step(readings=volts(E1_1="bright")), "unit"),
        (Step(readings=volts(E9_1="1.0 V")), "no point"),
        (Step(readings=volts(chassis="0.0 V")), "both leads"),
    ],
)
def test_evidence_that_cannot_be_is_refused(step: Step, words: str) -> None:
    """A control, part, point, word or display that does not exist is named."""
    with pytest.raises(InputError, match=words):
        suspects(lamp.circuit(), Evidence((step,)))


def test_pieces_of_a_severity_weigh_what_the_whole_does() -> None:
    """Dividing and joining cells keeps weight and ends."""
    found = suspects(lamp.circuit(), Evidence())
    cause = next(s.cause for s in found.listed if s.key == "W4:resistance")
    cells = cells_of(0, cause)
    assert sum(c.weight for c in cells) == pytest.approx(cause.weight)
    pieces = [piece for cell in cells for piece in split(cell, 4)]
    assert sum(p.weight for p in pieces) == pytest.approx(cause.weight)
    whole = joined(pieces, 1)
    assert (whole[0].near, whole[0].far) == (cells[0].near, cells[-1].far)
