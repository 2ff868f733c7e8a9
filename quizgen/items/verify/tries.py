"""A test that an item says somebody took, other than a voltmeter to the frame, worked out anew.

A test lamp, an ohmmeter, a fused jumper, or a meter with something off, on the circuit as it
stands by then: fuses that have opened stay blown. A jumper is told by what loads and relays do,
"M1 turns, K1 clicks": a relay clicks if it pulls in as the jumper is clipped on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from math import inf

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.items.act import Act
from quizgen.items.item import Reading
from quizgen.items.verify.bench import (
    CLICKERS,
    CLICKS,
    NO_CLICK,
    SCALES,
    Bench,
    Cell,
    Outcome,
    neighbours,
)
from quizgen.items.verify.instruments import LEAD, Display, look_at
from quizgen.items.verify.meter import HALF_DIGIT, shown_as
from quizgen.items.verify.words import leads_mistold, moves_untold, told_of
from quizgen.solver import OperatingPoint
from quizgen.solver.observation import against, observe

BRIGHTNESS = ("dark", "glows dim", "lit bright")
INSTRUMENTS = ("voltmeter", "test-lamp", "ohmmeter", "fused-jumper")
JUMPER_HOLDS = "jumper fuse holds"
DIGIT = {"voltmeter": 0.1, "ohmmeter": 0.1}
NEAR = {"voltmeter": HALF_DIGIT, "ohmmeter": 0.06, "test-lamp": 0.02, "fused-jumper": 0.06}

Levels = frozenset[str]


def is_plain(reading: Reading, reference: str) -> bool:
    """A voltmeter to the frame with everything connected, which needs no try."""
    off = reading.apart or reading.removed or reading.unplugged
    return reading.instrument == "voltmeter" and reading.black_node == reference and not off


@dataclass(frozen=True, eq=False)
class Try:
    """One such test. Raises InputError for an instrument that is not known here."""

    bench: Bench
    reading: Reading
    _looked: dict[tuple[int, int], Display] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.reading.instrument not in INSTRUMENTS or self.reading.moves is not None:
            raise InputError(f"a test with a {self.reading.instrument} is not worked out here")

    @property
    def act(self) -> Act:
        """What is done."""
        r = self.reading
        return Act(
            instrument=r.instrument, red=r.red_node, black=r.black_node, moves=self.bench.moves,
            apart=r.apart, removed=r.removed, unplugged=r.unplugged,
        )  # fmt: skip

    @property
    def told(self) -> dict[str, str]:
        """With a jumper: part → what it is said to do. Raises InputError for other words."""
        found = {}
        for words in self.reading.shown.split(", ") if self._by_loads else ():
            part, _, level = words.partition(" ")
            if not isinstance(self.bench.circuit.part(part), (*c.LOADS, *CLICKERS)) or not level:
                raise InputError(f"{words!r} tells of no load and no relay")
            found[part] = level
        return found

    @property
    def _by_loads(self) -> bool:
        return self.reading.instrument == "fused-jumper"

    def prepare(self, ways: Iterable[Outcome]) -> None:
        """Look at the outcomes of faults, all at once."""
        new = {_number(way): way for way in ways if _number(way) not in self._looked}
        displays = look_at([(by_now(way.point), self.act) for way in new.values()])
        self._looked.update(zip(new, displays, strict=True))

    def display(self, way: Outcome) -> Display:
        """What the instrument shows on one."""
        self.prepare((way,))
        return self._looked[_number(way)]

    def text(self, way: Outcome) -> str:
        """What everybody would see of it, as a table has it; "" where there is no such thing."""
        display = self.display(way)
        if not self._by_loads:
            volts = display.instrument == "voltmeter" and not display.doubts
            return shown_as(display.low) if volts else display.sure
        levels = {part: self._levels(part, display) for part in self.told}
        if any(len(found) != 1 for found in levels.values()):
            return ""
        return ", ".join(f"{part} {min(found)}" for part, found in levels.items())

    def misses(self, cell: Cell) -> bool:
        """Nothing in the cell could have shown what is told."""
        displays = [self.display(way) for ways in cell for way in ways]
        if any(d.unsafe for d in displays):
            return False
        if self._by_loads:
            return any(
                level not in _filled(frozenset().union(*(self._levels(part, d) for d in displays)))
                for part, level in self.told.items()
            )
        if self.reading.instrument == "test-lamp":
            return self.reading.shown not in _lit(displays)
        if any(d.doubts for d in displays):
            return False
        here = inf if self.reading.shown == "OL" else self.reading.volts
        low, high = min(d.low for d in displays), max(d.high for d in displays)
        if low <= here <= high:
            return False
        slack = max(d.tolerance for d in displays) + DIGIT[self.reading.instrument]
        slack += 0.01 * abs(here) if here < inf else 0.0
        return (low - here if here < low else here - high) > slack

    def _levels(self, part_id: str, display: Display) -> Levels:
        """Everything that somebody may report of a load or relay with the jumper on."""
        point = display.point
        assert point is not None  # an unsafe act has been turned down
        part = point.circuit.part(part_id)
        if isinstance(part, CLICKERS):
            return frozenset((CLICKS, NO_CLICK)) if display.doubts else _heard(point, part)
        now = next(o for o in observe(point) if o.load == part_id)
        seen = against(self.bench.sound[0].seen(part_id), now)
        if display.doubts:
            return frozenset(level for scale in SCALES if seen.level in scale for level in scale)
        return frozenset(neighbours(seen)) if seen.doubtful else frozenset((seen.level,))

    # --- is it told rightly? ----------------------------------------------------------

    def problems(self, hidden: Outcome) -> Iterator[str]:
        """What is wrong with the reading, given the fault that is there."""
        display, r = self.display(hidden), self.reading
        objection = display.unsafe or display.pointless or ", ".join(display.doubts)
        if objection:
            yield f"the test: {objection}"
            return
        if self._by_loads and display.sure != JUMPER_HOLDS:
            yield f"the test: the jumper's fuse does not hold: {display.shown}"
        text = self.text(hidden)
        if text != r.shown:
            yield f"the test shows {text or 'nothing certain'}; printed: {r.shown}"
        value = -1.0 if display.low == inf else display.low
        if abs(value - r.volts) > NEAR[r.instrument] + 0.01 * abs(value):
            yield f"the test: its figure is {r.volts:g}; worked out anew {value:.3f}"
        yield from self._check_words()

    def _check_words(self) -> Iterator[str]:
        r, circuit = self.reading, self.bench.circuit
        yield from (f"the test: {wrong}" for wrong in leads_mistold(circuit, r))
        for move in moves_untold(circuit, self.bench.moves, r.state):
            yield f"the test: its state {r.state!r} does not say {move}"
        off = {*r.apart, *r.removed, *r.unplugged}
        yield from (f"the test: {p} is not said to be off" for p in off if not told_of(p, r.state))


def _number(way: Outcome) -> tuple[int, int]:
    return id(way.batch), way.case


def by_now(point: OperatingPoint) -> Circuit:
    """The circuit with the fuses blown that have opened on the way to a point."""
    opened = {e.part for e in point.events if e.change == "opens"}
    blown = [
        replace(p, condition="blown")
        for p in point.circuit.parts
        if p.id in opened and isinstance(p, c.Fuse | c.FusibleLink)
    ]
    return point.circuit.with_parts(changed=blown)


def _heard(point: OperatingPoint, part: c.Relay | c.StarterSolenoid) -> Levels:
    perhaps = frozenset((CLICKS, NO_CLICK))
    held = part.armature if isinstance(part, c.Relay) else part.plunger
    moved = [e for e in point.events if e.part == part.id and e.after.startswith(f"{LEAD}=")]
    if held != "good" or point.phases:
        return perhaps
    if not moved:
        return frozenset((NO_CLICK,))
    return frozenset((CLICKS,)) if point.state(part) == "pulled" else perhaps


def _filled(levels: Levels) -> Levels:
    """With all that lies between them on their scale."""
    for scale in SCALES:
        if levels and levels <= set(scale):
            places = [scale.index(level) for level in levels]
            return frozenset(scale[min(places) : max(places) + 1])
    return levels


def _lit(displays: Iterable[Display]) -> tuple[str, ...]:
    """How bright the lamp may be, doubt and all between included."""
    places: list[int] = []
    for display in displays:
        here = [BRIGHTNESS.index(shown) for shown in display.shown]
        doubt = 1 if display.doubts else 0
        places += [min(here) - doubt, max(here) + doubt]
    return BRIGHTNESS[max(min(places), 0) : max(places) + 1]
