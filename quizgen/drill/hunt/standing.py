"""The machine as the student has left it: what is turned, off, apart, and what it has cost.

Minutes: an instrument's own use, moving switches, isolating the battery, pulling a connector are
common practice without a source; reaching a terminal is `access_minutes` of its part, paid once
for all points of one place that are as hard to reach.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.checks import ISOLATE_MINUTES, LOOK, MINUTES, TURN_MINUTES, place_of, places
from quizgen.instruments import Measurement
from quizgen.instruments.setup import prepare
from quizgen.solver import OperatingPoint
from quizgen.solver.operating_point import Moves

OTHER_MINUTES = 1.0  # instruments without an entry of their own (common practice, no source)
HAND_MINUTES = 0.5  # a connector, a plug, a fuse, a jumper (common practice, no source)
JUMPER = "~jumper"
JUMPER_AMPS, JUMPER_OHM = 10.0, 0.017  # its fuse and a metre of wire, as the instrument's


@dataclass(frozen=True, kw_only=True)
class Standing:
    """All moves so far, what is off or apart now, places reached, minutes used."""

    moves: Moves = ()
    turned: bool = False  # controls moved since the last look or reading
    apart: tuple[str, ...] = ()
    unplugged: tuple[str, ...] = ()  # loads, relays, fuses and batteries off their wires
    jumper: tuple[str, ...] = ()  # two points, or none
    opened: tuple[str, ...] = ()  # fuses and links that have blown meanwhile
    renewed: tuple[str, ...] = ()  # fuses that the student has put in
    reached: frozenset[str] = frozenset()
    minutes: float = 0.0
    unsafe: int = 0

    def from_rest(self, circuit: Circuit) -> Moves:
        """The fewest moves that lead from all at rest to how the controls stand."""
        stands = dict(self.moves)
        names = [c.name for c in circuit.controls if stands.get(c.name, c.rest) != c.rest]
        return tuple((name, stands[name]) for name in names)

    def measurement(self, instrument: str, red: str, black: str) -> Measurement:
        """A reading as the machine stands."""
        return Measurement(
            instrument=instrument, red=red, black=black, positions=self.moves,
            apart=self.apart, unplugged=self.unplugged,
        )  # fmt: skip


def as_it_stands(sound: Circuit, faulty: Circuit, standing: Standing) -> Circuit:
    """The circuit with blown fuses, new ones and the jumper; connectors and plugs still on."""
    changed: list[c.Part] = [sound.part(fuse) for fuse in standing.renewed]
    now = faulty.with_parts(changed=changed)
    now = now.with_parts(changed=[_open(now.part(name)) for name in standing.opened])
    if standing.jumper:
        red, black = (now.point(text) for text in standing.jumper)
        fuse = c.Fuse(id=JUMPER, nodes=(red, black), amps=JUMPER_AMPS, ohm=JUMPER_OHM)
        now = now.with_parts(added=[fuse])
    return now


def taken_apart(circuit: Circuit, standing: Standing) -> Circuit:
    """`circuit` with connectors apart and parts off their wires, as for any reading."""
    return prepare(circuit, standing.measurement("", "", ""))


def blown(point: OperatingPoint, standing: Standing) -> tuple[str, ...]:
    """What has opened for good on the way to `point`, and had not before."""
    circuit = point.circuit
    gone = (e.part for e in point.events if e.change == "opens" and e.part in circuit.by_id)
    new = [p for p in dict.fromkeys(gone) if _lasts(circuit.part(p)) and p not in standing.opened]
    return tuple(p for p in new if p != JUMPER and not p.startswith("~"))


def _lasts(part: c.Part) -> bool:
    return isinstance(part, c.Fuse | c.FusibleLink) or (
        isinstance(part, c.Breaker) and part.reset == "manual"
    )


def _open(part: c.Part) -> c.Part:
    if isinstance(part, c.Breaker):
        return replace(part, condition="open")
    assert isinstance(part, c.Fuse | c.FusibleLink)  # nothing else opens for good
    return replace(part, condition="blown")


# --- what acts cost -------------------------------------------------------------------


def after_look(standing: Standing) -> Standing:
    """A look and a listen; moving the switches for it is part of it."""
    return replace(standing, turned=False, minutes=standing.minutes + MINUTES[LOOK])


def after_reading(
    circuit: Circuit, standing: Standing, instrument: str, nodes: Sequence[str]
) -> Standing:
    """A reading at `nodes` of the sound circuit."""
    use = MINUTES.get(instrument, OTHER_MINUTES) + (TURN_MINUTES if standing.turned else 0.0)
    return replace(_at_places(circuit, standing, nodes, use), turned=False)


def after_hand(circuit: Circuit, standing: Standing, part: c.Part) -> Standing:
    """A plug pulled, a connector taken apart, a fuse changed, or a battery taken off.

    A battery costs putting it back on as well.
    """
    if isinstance(part, c.Battery | c.Source):
        return _at_places(circuit, standing, part.nodes, ISOLATE_MINUTES)
    place, minutes = place_of(part)
    return _reach(standing, ((place, minutes),) if minutes > 0.0 else (), HAND_MINUTES)


def after_jumper(circuit: Circuit, standing: Standing, nodes: Sequence[str]) -> Standing:
    """A jumper from one point to another."""
    return _at_places(circuit, standing, nodes, HAND_MINUTES)


def _at_places(circuit: Circuit, standing: Standing, nodes: Sequence[str], use: float) -> Standing:
    found = places(circuit, nodes, standing.reached)
    if found is None:
        raise InputError(f"{circuit.name}: no terminal can be reached there; name one of a part")
    return _reach(standing, found, use)


def _reach(standing: Standing, found: Sequence[tuple[str, float]], use: float) -> Standing:
    new = dict(place for place in found if place[0] not in standing.reached)
    return replace(
        standing,
        reached=standing.reached | new.keys(),
        minutes=round(standing.minutes + use + sum(new.values()), 6),
    )
