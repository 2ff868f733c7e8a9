"""Acts that a technician might try on a machine with a complaint, by what is done."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.reach import Pair, conducting_pairs, load_pairs
from quizgen.diagnosis.checks import access
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.items.act import Act

GROUND_VOLTS = 1.0  # what stands lower in the sound circuit is on the way back
EACH = 3  # acts of a sort
SORTS = ("lamp", "ohm", "jumper", "apart", "off")


def acts_for(d: FaultDictionary, row: int, sort: str, rng: random.Random) -> list[Act]:
    """Some acts of one of the `SORTS`, in a random order, on what the complaint is about."""
    makers = {"lamp": _lamp, "ohm": _ohm, "jumper": _jumper, "apart": _apart, "off": _off}
    found = [a for a in makers[sort](d, row) if _reachable(d.circuit, a)]
    rng.shuffle(found)
    return found[:EACH]


def _reachable(circuit: Circuit, act: Act) -> bool:
    """Both points can be touched and are two."""
    ends = (act.red, act.black)
    return act.red != act.black and all(access(circuit, end) is not None for end in ends)


def _wrong(d: FaultDictionary, row: int) -> list[c.Part]:
    """Loads that are not as they should be."""
    pairs = zip(d.seen[row], d.seen[0], strict=True)
    return [d.circuit.part(o.load) for o, sound in pairs if o.level != sound.level]


def _levels(d: FaultDictionary) -> dict[str, float]:
    """Node → volts in the sound circuit."""
    return {node: float(d.low[i, 0]) for i, node in enumerate(d.points)}


def _lamp(d: FaultDictionary, row: int) -> Iterator[Act]:
    """From a point to the frame; on the way back from supply to the point."""
    circuit = d.circuit
    for node, volts in _levels(d).items():
        yield Act(instrument="test-lamp", red=node, black=circuit.reference, moves=d.moves)
        if abs(volts) < GROUND_VOLTS:
            yield Act(instrument="test-lamp", red=circuit.supply, black=node, moves=d.moves)


def _supplies(circuit: Circuit) -> tuple[str, ...]:
    return tuple(p.id for p in circuit.parts if isinstance(p, c.Battery | c.Source))


def _pairs(circuit: Circuit) -> Iterator[Pair]:
    """Two ends of a part, or of a wire."""
    for part in circuit.parts:
        if isinstance(part, (c.Wire, c.Fuse, c.Switch, *c.LOADS)):
            yield from conducting_pairs(part)
        if isinstance(part, c.Relay):
            yield from load_pairs(part)


def _ohm(d: FaultDictionary, row: int) -> Iterator[Act]:
    """Across a part or a wire, or from the way back to the frame; the supply isolated."""
    circuit, off = d.circuit, _supplies(d.circuit)
    back = [n for n, volts in _levels(d).items() if abs(volts) < GROUND_VOLTS]
    for red, black in dict.fromkeys([*_pairs(circuit), *((n, circuit.reference) for n in back)]):
        yield Act(instrument="ohmmeter", red=red, black=black, moves=d.moves, unplugged=off)


def _jumper(d: FaultDictionary, row: int) -> Iterator[Act]:
    """Round a contact or a wire; from supply to a load or coil, from one of them to the frame."""
    circuit = d.circuit
    pairs: list[Pair] = []
    for part in circuit.parts:
        if isinstance(part, c.Switch | c.Relay | c.Wire | c.Connector):
            pairs += conducting_pairs(part)
        if isinstance(part, c.Relay):
            pairs += [(circuit.supply, part.node("86")), (part.node("85"), circuit.reference)]
    for load in _wrong(d, row):
        (feed, back), *_ = load_pairs(load)
        pairs += [(circuit.supply, feed), (back, circuit.reference)]
    for red, black in dict.fromkeys(pairs):
        yield Act(instrument="fused-jumper", red=red, black=black, moves=d.moves)


def _apart(d: FaultDictionary, row: int) -> Iterator[Act]:
    """A plug apart, a voltmeter at one of its cavities."""
    for part in d.circuit.parts:
        if isinstance(part, c.Connector):
            nodes: Sequence[str] = [part.node(n + side) for n in part.cavities for side in "ab"]
            yield from (_to_frame(d, node, apart=(part.id,)) for node in nodes)


def _off(d: FaultDictionary, row: int) -> Iterator[Act]:
    """A meter or a lamp where a load is unplugged, a meter where a relay is out."""
    for load in _wrong(d, row):
        for red, black in load_pairs(load)[:1]:
            for instrument in ("voltmeter", "test-lamp"):
                yield Act(
                    instrument=instrument, red=red, black=black, moves=d.moves,
                    unplugged=(load.id,),
                )  # fmt: skip
    for part in d.circuit.parts:
        if isinstance(part, c.Relay):
            for terminal in ("30", "86"):
                yield _to_frame(d, part.node(terminal), removed=(part.id,))


def _to_frame(
    d: FaultDictionary, node: str, apart: tuple[str, ...] = (), removed: tuple[str, ...] = ()
) -> Act:
    return Act(
        instrument="voltmeter", red=node, black=d.circuit.reference, moves=d.moves,
        apart=apart, removed=removed,
    )  # fmt: skip
