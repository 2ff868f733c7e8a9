"""Which topics an item is about: of its circuit, its fault, its instruments, its kind.

The ids are those of the topic map (`quizgen.items.topics`). On which side of the load a fault lies
is judged by the potentials of the sound circuit in the item's state.
"""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim, claim_key
from quizgen.faults import Fault, parse_fault
from quizgen.items.item import Item
from quizgen.items.places import nature, side
from quizgen.solver import OperatingPoint

REASONING = {
    "trace-path": "current-path",
    "shared-path": "what-shares",
    "predict-reading": "predict",
    "predict-operation": "predict",
    "fault-from-readings": "explain-readings",
    "fault-from-complaint": "explain-complaint",
    "locate-short": "locate",
    "best-next-test": "choose-test",
    "first-suspect": "choose-test",
    "covering-checks": "choose-test",
    "which-instrument": "choose-test",
    "certain-after-test": "certainty",
    "compute": "calculate",
    "safe-procedure": "safe-work",
}

INSTRUMENTS = {
    "voltmeter": "voltmeter",
    "voltmeter-2V": "voltmeter",
    "test-lamp": "test-lamp",
    "ohmmeter": "ohmmeter",
    "self-powered-lamp": "continuity-lamp",
    "fused-jumper": "jumper",
    "unfused-jumper": "jumper",
    "clamp-ammeter": "ammeter",
    "ammeter": "ammeter",
    "look": "senses",
}

BY_MODE = {
    "short-to-ground": "short-to-ground",
    "short-to-supply": "short-to-supply",
    "short-to": "wire-to-wire",
    "swapped": "wire-to-wire",
    "welded": "contact-stuck",
    "seized": "mechanical",
    "wrong-lamp": "wrong-part",
    "wrong-rating": "wrong-part",
    "weak": "weak-supply",
    "no-output": "weak-supply",
    "rotor-open": "weak-supply",
}


def subjects(item: Item, circuit: Circuit, sound: OperatingPoint) -> tuple[str, ...]:
    """The ids of the topics, each once. `sound` is the sound circuit in the item's state."""
    texts = (item.origin.fault,) if item.origin.fault else item.told
    faults = [parse_fault(text) for text in texts]
    found = [
        *item.topics,
        *(fault_topic(circuit, fault, sound) for fault in faults),
        *_instruments(item),
        REASONING[item.kind],
    ]
    return tuple(dict.fromkeys(found))


def fault_topic(circuit: Circuit, fault: Fault, sound: OperatingPoint) -> str:
    """What sort of fault it is, and on which side of the load."""
    part = circuit.by_id[fault.part]
    if fault.mode in BY_MODE:
        return BY_MODE[fault.mode]
    if fault.mode == "stuck":
        return "false-signal" if isinstance(part, c.Sender) else "contact-stuck"
    if fault.mode in ("shorted", "coil-shorted"):
        return "short-across-load"
    place = claim_key(fault).split(":", 2)[2:]
    claim = Claim(fault.part, fault.mode, "".join(place), (), 1.0, fault, graded=False)
    volts = {node: sound.volts(node) or 0.0 for node in circuit.nodes}
    where = side(circuit, claim, volts)
    if where == "load":
        return "open-load"
    after = "after-load" if where == "ground" else "before-load"
    return f"resistance-{after}" if nature(claim) == "resistance" else f"open-{after}"


def _instruments(item: Item) -> Iterator[str]:
    """Those of the readings told, of the acts that options name, and what is seen and heard."""
    for reading in item.readings:
        yield INSTRUMENTS[reading.instrument]
    for option in item.options:
        for act in option.claim.split(" & "):
            word = act.split(" ", 1)[0]
            if word in INSTRUMENTS:
                yield INSTRUMENTS[word]
    if item.proof.observed:
        yield "senses"
