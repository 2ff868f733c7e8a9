"""What a complaint leaves standing, worked out anew, and how a test would sort it.

Suspects are the faults of the universe whose likeliest course may look as the item tells; each
is as likely as its weight says. A test puts suspects that nobody could tell apart into one
class. Bits are those about which part is at fault: H(part) − Σ share(class) · H(part | class).
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import log2

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.faults import Fault, parse_fault, universe
from quizgen.faults.wording import point_name
from quizgen.items.act import LOOK, Act
from quizgen.items.item import Item, Observed, Option
from quizgen.items.verify.bench import SCALES, Bench, Benches, Outcome
from quizgen.items.verify.meter import HALF_DIGIT, margin, measure, shown_as
from quizgen.items.verify.stillness import restless
from quizgen.items.verify.words import moves_untold, told_of

IDLE = frozenset(scale[0] for scale in SCALES) | {"stopped"}
CLICKERS = (c.Relay, c.StarterSolenoid)
MINUTES = {LOOK: 0.2, "voltmeter": 0.5, "ohmmeter": 1.0}  # access not counted
NEAR_VOLTS = 0.02
SEEN_BY_OHM = ("open", "blown", "burned-out", "shorted", "coil-open", "coil-shorted")

Labels = tuple[Hashable, ...]
Span = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Left:
    """The suspects after what an item tells. May raise InputError or CircuitError."""

    benches: Benches
    bench: Bench
    observed: tuple[Observed, ...]
    _spans: dict[str, tuple[Span, ...]] = field(default_factory=dict)

    @cached_property
    def suspects(self) -> dict[Fault, float]:
        """Fault → share of the likelihood."""
        weights = {w.fault: w.weight for w in universe(self.bench.circuit)}
        self.bench.prepare(weights)
        able = {fault: weight for fault, weight in weights.items() if self.fits(self.way(fault))}
        total = sum(able.values())
        return {fault: weight / total for fault, weight in able.items()}

    def way(self, fault: Fault) -> Outcome:
        """The likeliest outcome of a fault."""
        return self.bench.ways(fault)[0]

    def fits(self, way: Outcome) -> bool:
        """May it look and sound as told?"""
        return all(o.level in self.bench.levels(o.part, ((way,),)) for o in self.observed)

    @property
    def parts(self) -> set[str]:
        """Parts that may be at fault."""
        return {fault.part for fault in self.suspects}

    def spans(self, node: str) -> tuple[Span, ...]:
        """Lowest and highest volts against the frame, by suspect."""
        if node not in self._spans:
            pair = (node, self.bench.circuit.reference)
            self._spans[node] = tuple(self.way(fault).between(pair) for fault in self.suspects)
        return self._spans[node]

    def sorted_by(self, act: Act) -> Labels:
        """The class of each suspect. Raises InputError for an act that this cannot tell."""
        if act.instrument == "voltmeter":
            self._check_reading(act)
            return apart(self.spans(self.bench.circuit.point(act.red)))
        if act.instrument == "ohmmeter":
            part = self.taken_out(act)
            inside = [f.mode if f.part == part.id else "" for f in self.suspects]
            return tuple(mode if mode in SEEN_BY_OHM else "" for mode in inside)
        if act.instrument == LOOK:
            return self._looked(act)
        raise InputError(f"{act}: what a {act.instrument} tells is not worked out here")

    def _check_reading(self, act: Act) -> None:
        circuit = self.bench.circuit
        if act.black != circuit.reference or act.apart or act.removed or act.unplugged:
            raise InputError(f"{act}: only readings against the frame are worked out here")
        if act.moves != self.bench.moves:
            raise InputError(f"{act}: the controls stand otherwise")

    def taken_out(self, act: Act) -> c.Part:
        """The part across which an ohmmeter is put. Raises InputError if it is not taken out."""
        out = (*act.unplugged, *act.removed)
        ends = [lead.partition("/") for lead in (act.red, act.black)]
        if len(out) != 1 or any(end[0] != out[0] for end in ends) or act.red == act.black:
            raise InputError(f"{act}: an ohmmeter belongs across one part that is taken out")
        part = self.bench.circuit.part(out[0])
        coil = {"86", "85"} if isinstance(part, c.Relay) else set(part.terminals[:2])
        if {end[2] for end in ends} != coil:
            raise InputError(f"{act}: the leads are not across {part.id}")
        return part

    def _looked(self, act: Act) -> Labels:
        """Whoever looks sees the loads and hears the relays; no two people may differ."""
        if act.moves[: len(self.bench.moves)] != self.bench.moves:
            raise InputError(f"{act}: that does not go on from how the controls stand")
        bench, circuit = self.benches.at(act.moves), self.bench.circuit
        bench.prepare(self.suspects)
        loads = [p.id for p in circuit.parts if isinstance(p, c.LOADS)]
        seen = [load for load in loads if load not in circuit.unobserved]
        seen += [p.id for p in circuit.parts if isinstance(p, CLICKERS)]
        labels = []
        for fault in self.suspects:
            ways = bench.ways(fault)
            levels = [bench.levels(part, ((ways[0],),)) for part in seen]
            if len(ways) > 1 or any(len(found) > 1 for found in levels):
                raise InputError(f"{act}: with {fault} people may see different things")
            labels.append(tuple(min(found) for found in levels))
        return tuple(labels)

    def minutes(self, act: Act) -> float:
        """Minutes for one test, the way there included."""
        circuit = self.bench.circuit
        if act.instrument == LOOK:
            return MINUTES[LOOK]
        if act.instrument == "ohmmeter":
            return MINUTES["ohmmeter"] + self.taken_out(act).access_minutes
        return MINUTES["voltmeter"] + sum(self.places((circuit.point(act.red),)).values())

    def places(self, nodes: Sequence[str]) -> dict[str, float]:
        """Place → minutes to get there. Raises InputError for a point that nobody can reach."""
        circuit = self.bench.circuit
        found: dict[str, float] = {}
        for node in nodes:
            parts = [circuit.by_id[part] for part, _ in circuit.terminals_at.get(node, ())]
            able = [p for p in parts if not isinstance(p, c.Wire | c.Bridge)]
            if not able:
                raise InputError(f"{circuit.name}: no lead can be put on {node}")
            near = min(able, key=lambda p: p.access_minutes)
            found[f"{near.place or near.id} {near.access_minutes:g}"] = near.access_minutes
        return found

    def bits(self, labels: Labels, *, even: bool = False) -> float:
        """What a test tells about the part at fault; `even`: parts and their faults all alike."""
        shares = list(self.suspects.values())
        if even:
            many = [sum(f.part == g.part for g in self.suspects) for f in self.suspects]
            shares = [1.0 / (len(self.parts) * n) for n in many]
        parts: dict[Hashable, float] = {}
        inside: dict[Hashable, dict[Hashable, float]] = {}
        for fault, label, share in zip(self.suspects, labels, shares, strict=True):
            parts[fault.part] = parts.get(fault.part, 0.0) + share
            mine = inside.setdefault(label, {})
            mine[fault.part] = mine.get(fault.part, 0.0) + share
        return _bits(parts) - sum(sum(mine.values()) * _bits(mine) for mine in inside.values())

    def largest(self, labels: Labels) -> float:
        """Share of the likeliest outcome."""
        found: dict[Hashable, float] = {}
        for label, share in zip(labels, self.suspects.values(), strict=True):
            found[label] = found.get(label, 0.0) + share
        return max(found.values())


def _bits(weights: Mapping[Hashable, float]) -> float:
    total = sum(weights.values())
    return -sum(w / total * log2(w / total) for w in weights.values() if w > 0.0)


def apart(spans: Sequence[Span]) -> tuple[int, ...]:
    """Numbers of the groups between which a meter sees a gap, by span.

    >>> apart([(12.0, 12.0), (0.0, 0.1), (11.9, 12.0)])
    (1, 0, 1)
    """
    order = sorted(range(len(spans)), key=lambda i: spans[i])
    found = [0] * len(spans)
    number, top = 0, None
    for i in order:
        low, high = spans[i]
        if top is not None and low > top + margin(top):
            number += 1
        top = high if top is None else max(top, high)
        found[i] = number
    return tuple(found)


# --- what the stem tells --------------------------------------------------------------


def left_by(item: Item, benches: Benches) -> Left:
    """The suspects of an item. May raise InputError or CircuitError."""
    return Left(benches, benches.at(item.origin.positions), item.proof.observed)


def check_told(item: Item, left: Left) -> Iterator[str]:
    """Is the hidden fault what it is said to look like, beyond doubt, and does the stem say so?"""
    bench = left.bench
    fault = parse_fault(item.origin.fault)
    hidden = left.way(fault)
    yield from restless("the faulty circuit", hidden.point)
    kind = bench.circuit.part(fault.part).kind
    if item.key_kind != kind:
        yield f"the kind of part is {item.key_kind}; {fault.part} is a {kind}"
    if not any(phrase in " ".join(item.stem).casefold() for phrase in SINGLE):
        yield "the stem does not say that there is one fault"
    known = {p.id for p in bench.circuit.parts if isinstance(p, (*c.LOADS, *CLICKERS))}
    for observed in item.proof.observed:
        if observed.part not in known:
            raise InputError(f"{observed.part} is said to be seen; it is neither load nor relay")
        levels = bench.levels(observed.part, ((hidden,),))
        if levels != {observed.level}:
            found = " or ".join(sorted(levels))
            yield f"{observed.part} is said to be {observed.level!r}; it is {found!r}"
    yield from _check_stem(item, bench)


SINGLE = ("one thing is wrong", "there is one fault")


def _check_stem(item: Item, bench: Bench) -> Iterator[str]:
    stem = " ".join(item.stem)
    sound = bench.sound[0].batch.seen(bench.sound[0].case)
    for observed in item.proof.observed:
        load = sound.get(observed.part)
        idle = load is not None and observed.level == load.level and load.level in IDLE
        if not idle and not told_of(observed.part, stem):
            yield f"the stem does not tell that {observed.part} {observed.level}"
    if item.proof.observed == ():
        yield "nothing is told of any load"


def numbers(text: str, after: str) -> list[float]:
    """All figures in a text that are followed by some words.

    >>> numbers("12.6 V or −0.3 V in 2 min", " V")
    [12.6, -0.3]
    """
    found = re.findall(rf"(?<![\w.])([−-]?\d+(?:\.\d+)?){re.escape(after)}\b", text)
    return [float(figure.replace("−", "-")) for figure in found]


def point_words(left: Left, node: str) -> str:
    """A point as it is printed."""
    return point_name(left.bench.circuit, node, names=False)


# --- readings and figures -------------------------------------------------------------


def check_readings(item: Item, left: Left) -> Iterator[str]:
    """Voltmeter readings to the frame: lead, state, what the meter shows, how it is printed."""
    circuit = left.bench.circuit
    hidden = left.way(parse_fault(item.origin.fault)).point.circuit
    for number, r in enumerate(item.readings, 1):
        plain = r.instrument == "voltmeter" and not (r.apart or r.removed or r.unplugged)
        if not plain or r.black_node != circuit.reference or r.moves is not None:
            raise InputError(f"reading {number}: only a voltmeter to the frame is verified here")
        if r.red_node not in circuit.nodes:
            raise InputError(f"reading {number}: the circuit has no point {r.red_node}")
        if r.red != point_words(left, r.red_node):
            yield f"reading {number}: the red lead is on {point_words(left, r.red_node)}"
        for move in moves_untold(circuit, left.bench.moves, r.state):
            yield f"reading {number}: its state {r.state!r} does not say {move}"
        [(low, high)] = measure(left.bench.moves, [(hidden, (r.red_node, r.black_node))])
        if high - low > HALF_DIGIT or abs(r.volts - low) > HALF_DIGIT:
            yield f"reading {number}: the meter shows {shown_as(low)}, the item says {r.volts:g} V"
        if r.shown != shown_as(r.volts):
            yield f"reading {number}: printed is {r.shown}, the figure is {r.volts:g} V"


def fault_figure(left: Left, name: str) -> tuple[Fault, str]:
    """Fault and node of a figure called FAULT@NODE. Raises InputError if there is none such."""
    text, at, node = name.rpartition("@")
    if not at or node not in left.bench.circuit.nodes:
        raise InputError(f"figure {name!r} names no fault and point")
    fault = parse_fault(text)
    left.bench.circuit.part(fault.part)
    return fault, node


def check_volts(left: Left, option: Option, item: Item) -> Iterator[str]:
    """Figures FAULT@NODE are what the meter shows; no other volts are printed but readings."""
    allowed = [r.volts for r in item.readings]
    for figure in option.figures:
        fault, node = fault_figure(left, figure.name)
        low, high = left.way(fault).between((node, left.bench.circuit.reference))
        if not low - NEAR_VOLTS <= figure.value <= high + NEAR_VOLTS:
            yield f"option {option.claim}: with {fault} there are {low:.2f} V at {node}"
        allowed.append(figure.value)
    for volts in numbers(" ".join(option.rationale), " V"):
        if not any(abs(volts - value) <= HALF_DIGIT for value in allowed):
            yield f"option {option.claim}: {volts:g} V is none of its figures"
