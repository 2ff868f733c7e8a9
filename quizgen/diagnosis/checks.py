"""What may be done next: look again with other switches set, or put a meter somewhere.

Minutes: an instrument's own use, moving switches and isolating the battery are common practice
without a source; reaching a terminal is `access_minutes` of the part it belongs to, paid once
for all points of one place that are as hard to reach. What was reached already is free.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.reach import conducting_pairs, load_pairs
from quizgen.diagnosis.evidence import Evidence
from quizgen.solver.operating_point import Moves

LOOK = "look"
MINUTES = {LOOK: 0.2, "voltmeter": 0.5, "test-lamp": 0.4, "ohmmeter": 1.0}
TURN_MINUTES = 0.2  # other switch positions than now, for a meter
ISOLATE_MINUTES = 1.5  # battery off and on again, its place not counted

Places = tuple[tuple[str, float], ...]


@dataclass(frozen=True, kw_only=True)
class Check:
    """One test. `moves` lead there from rest, `turned` from how the controls stand now."""

    instrument: str  # LOOK, or an instrument
    state: int  # number of the state in the worlds
    moves: Moves
    turned: Moves
    minutes: float  # access left out
    places: Places = ()  # (place, minutes to reach it), each once
    red: str = ""
    black: str = ""
    unplugged: tuple[str, ...] = ()  # batteries taken off first

    @property
    def total_minutes(self) -> float:
        """Access included."""
        return self.minutes + sum(minutes for _, minutes in self.places)


def access(circuit: Circuit, node: str) -> tuple[str, float] | None:
    """Place and minutes of the terminal of a node that is easiest to reach; None if none is.

    A wire has no terminal of its own; at the reference a lead needs no searching.
    """
    if node == circuit.reference:
        return "", 0.0
    parts = [circuit.by_id[part] for part, _ in circuit.terminals_at.get(node, ())]
    able = [p for p in parts if not isinstance(p, c.Wire | c.Bridge)]
    if not able:
        return None
    return place_of(min(able, key=lambda p: p.access_minutes))


def place_of(part: c.Part) -> tuple[str, float]:
    """Where a part is, with what is as hard to reach there, and the minutes it takes."""
    return f"{part.place or part.id} ({part.access_minutes:g} min)", part.access_minutes


def reached(circuit: Circuit, evidence: Evidence) -> frozenset[str]:
    """Places that the readings so far have led to."""
    ends = [
        end for step in evidence.steps for f in step.readings for end in (f.red, f.black) if end
    ]
    nodes = [circuit.point(end) for end in ends if end not in circuit.by_id and "/" not in end]
    nodes += [circuit.by_id[end].nodes[0] for end in ends if end in circuit.by_id]
    found = [access(circuit, node) for node in nodes]
    return frozenset(place[0] for place in found if place)


def places(circuit: Circuit, nodes: Sequence[str], known: frozenset[str]) -> Places | None:
    """The places of several points, those in `known` left out; None if one cannot be reached."""
    found = [access(circuit, node) for node in nodes]
    if None in found:
        return None
    new = dict(place for place in found if place and place[1] > 0.0 and place[0] not in known)
    return tuple(sorted(new.items()))


def turned(now: Moves, moves: Moves) -> Moves:
    """The moves that lead from one state on to another."""
    return moves[len(now) :]


def looks(states: Sequence[Moves]) -> Iterator[Check]:
    """A look and a listen in each state."""
    for number, moves in enumerate(states):
        yield Check(
            instrument=LOOK, state=number, moves=moves, turned=turned(states[0], moves),
            minutes=MINUTES[LOOK],
        )  # fmt: skip


def live_checks(
    circuit: Circuit, instrument: str, points: Sequence[str], states: Sequence[Moves],
    known: frozenset[str],
) -> Iterator[Check]:  # fmt: skip
    """A voltmeter or test lamp from each point to the reference, in each state."""
    for number, moves in enumerate(states):
        other = turned(states[0], moves)
        for point in points:
            where = places(circuit, [point], known)
            if where is not None and point != circuit.reference:
                yield Check(
                    instrument=instrument, state=number, moves=moves, turned=other,
                    minutes=MINUTES[instrument] + (TURN_MINUTES if other else 0.0),
                    places=where, red=point, black=circuit.reference,
                )  # fmt: skip


def dead_checks(
    circuit: Circuit, parts: Sequence[str], moves: Moves, known: frozenset[str]
) -> Iterator[Check]:
    """An ohmmeter across each of the parts as the controls stand, every supply taken off."""
    supplies = [p for p in circuit.parts if isinstance(p, c.Battery | c.Source)]
    at_supply = [node for p in supplies for node in p.nodes]
    for red, black in dict.fromkeys(pair for part in parts for pair in _across(circuit, part)):
        where = places(circuit, [red, black, *at_supply], known)
        if where is not None and red != black:
            yield Check(
                instrument="ohmmeter", state=0, moves=moves, turned=(),
                minutes=MINUTES["ohmmeter"] + ISOLATE_MINUTES, places=where,
                red=red, black=black, unplugged=tuple(p.id for p in supplies),
            )  # fmt: skip


def _across(circuit: Circuit, part_id: str) -> tuple[tuple[str, str], ...]:
    part = circuit.by_id[part_id]
    if isinstance(part, c.Battery | c.Source | c.Splice | c.Flasher | c.Alternator):
        return ()  # taken off, a mere point, or electronics that an ohmmeter tells nothing about
    pairs = conducting_pairs(part)
    if isinstance(part, (c.Relay, c.StarterSolenoid, *c.LOADS)):
        pairs = (*load_pairs(part), *pairs)
    return pairs
