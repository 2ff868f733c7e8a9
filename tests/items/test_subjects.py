"""What items are about: the topic map is complete, and a fault is put where the wiring puts it."""

from __future__ import annotations

import random

import pytest

from quizgen.circuit.template import find_template, shipped_templates
from quizgen.faults import parse_fault, universe
from quizgen.instruments import INSTRUMENTS as ALL_INSTRUMENTS
from quizgen.items.kinds import KINDS
from quizgen.items.material import Request, draw_material
from quizgen.items.subjects import BY_MODE, INSTRUMENTS, REASONING, fault_topic
from quizgen.items.topics import GROUPS, topic_map, topic_name
from quizgen.solver import solve_cases

PUMP = find_template("push-button-relay").build({})
AT_WORK = (("S1", "on"), ("S2", "pressed"))

# What is to be read off the diagram: battery, F1, then F2 and relay K1 (30 to 87) feed the pump M1,
# whose other terminal goes to G2. S1 and F3 feed the coil; the button S2 puts its terminal 85 to
# ground.
PLACES = {
    "F1:blown": "open-before-load",
    "K1:not-making": "open-before-load",
    "K1:resistance:0.5": "resistance-before-load",
    "K1:coil-open": "open-load",
    "K1:coil-shorted": "short-across-load",
    "K1:welded": "contact-stuck",
    "S2:open:1-2": "open-after-load",
    "S2:stuck:pressed": "contact-stuck",
    "M1:open": "open-load",
    "M1:seized": "mechanical",
    "M1:shorted": "short-across-load",
    "G2:open": "open-after-load",
    "G2:resistance:2": "resistance-after-load",
    "F1:wrong-rating:5": "wrong-part",
    "GB1:weak": "weak-supply",
}


def test_every_topic_of_a_template_is_on_the_map() -> None:
    """And the circuits on the map are all taught by some template."""
    used = {t for path in shipped_templates() for t in find_template(path).topics}
    assert used == {t.id for t in topic_map().values() if t.group == "circuits"}


def test_every_kind_and_instrument_has_its_topic() -> None:
    """A new one is not left out of the reports."""
    assert set(REASONING) == set(KINDS)
    assert set(ALL_INSTRUMENTS) <= set(INSTRUMENTS)
    groups = {group: {t.id for t in topic_map().values() if t.group == group} for group in GROUPS}
    assert set(REASONING.values()) == groups["reasoning"]
    assert set(INSTRUMENTS.values()) == groups["instruments"]
    assert set(BY_MODE.values()) <= groups["faults"]


@pytest.mark.parametrize("fault", list(PLACES))
def test_a_fault_lies_where_the_diagram_puts_it(fault: str) -> None:
    """On the supply side, in the load, on the ground side; by its nature where no side matters."""
    sound = solve_cases([PUMP], [(0, AT_WORK)]).point(0)
    assert fault_topic(PUMP, parse_fault(fault), sound) == PLACES[fault]


def test_every_fault_of_every_circuit_has_a_topic_on_the_map() -> None:
    """Whatever is injected falls in one cell of the reports."""
    faults = {t.id for t in topic_map().values() if t.group == "faults"}
    met = set()
    for name in shipped_templates():
        circuit = find_template(name).build({})
        sound = solve_cases([circuit], [(0, ())]).point(0)
        met |= {fault_topic(circuit, w.fault, sound) for w in universe(circuit)}
    assert met == faults


@pytest.mark.parametrize("kind", ["fault-from-readings", "best-next-test", "trace-path"])
def test_items_carry_their_topics(kind: str) -> None:
    """Of the circuit, the reasoning, the instruments, and of a fault where there is one."""
    rng = random.Random(f"topics of {kind}")
    material = draw_material(find_template("push-button-relay"), rng)
    item = KINDS[kind].item(material, Request(options=3), rng)
    groups = {topic_map()[id].group for id in item.subjects}
    assert groups == {*GROUPS} - (set() if item.origin.fault else {"faults"})
    assert len(set(item.subjects)) == len(item.subjects)


def test_an_unknown_topic_is_called_by_its_id() -> None:
    """Circuits of one's own may teach what the map does not know."""
    assert topic_name("hydraulic-valves") == "hydraulic valves"
