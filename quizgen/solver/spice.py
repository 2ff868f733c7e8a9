"""An operating point as a SPICE netlist, so that others can check its voltages and currents.

The discrete states (positions, relays, protectors, diodes) are written as the solver found
them, each with a comment; the simulator finds all voltages. Filaments and motors are
behavioural sources of their laws, a conducting diode is its forward voltage and its slope.

What does not conduct is a comment, so no node floats and none needs a leak: a group of parts
that nothing joins to the reference is held at 0 V at one of its nodes by a source that carries
no current, and a node that nothing conducts to is left out.

The dialect is that of ngspice (ngspice user's manual, chapters 2 to 5: `.func`, B, R and V
elements, `.op`); elements but not functions are those of SPICE2 and later.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import inf
from textwrap import wrap

from quizgen.circuit.components import Part
from quizgen.solver.laws import DiodeLaw, FilamentLaw, Law, MotorLaw
from quizgen.solver.operating_point import OperatingPoint
from quizgen.solver.part_model import Branch, Flow

GROUND = "0"  # the simulator's name of the reference
RESERVED = {GROUND, "gnd"}  # names that a simulator takes for its reference
WIDTH = 88
STATES = (
    "Switches, relays, protectors and diodes stand as the comments say; the rest follows from "
    "the elements. Volts of a node are against the reference, which is node 0. A terminal "
    "such as K1.87 is the node K1_87, GB1.+ is GB1_plus."
)
FUNCTIONS = {
    FilamentLaw: (
        "* filament: current grows as volts to the power 0.55, cold: its cold conductance",
        ".func filament(v,amps,volts,cold) "
        "{v*min(cold,amps/volts*pow(max(abs(v),1e-6)/volts,-0.45))}",
    ),
    MotorLaw: (
        "* motor: ohm*amps + emf*speed = v, still + fan*speed^2 = amps; speed 1 is rated speed",
        ".func speed(u,ohm,emf,fan) {2*u/(emf+sqrt(emf*emf+4*ohm*fan*u))}",
        ".func motor(v,ohm,emf,still,fan) {abs(v)<ohm*still ? v/ohm :\n"
        "+ sgn(v)*(still+fan*speed(max(abs(v)-ohm*still,0),ohm,emf,fan)^2)}",
    ),
}
OPTIONS = ".options reltol=1e-9 abstol=1e-12 vntol=1e-10 gmin=1e-15 itl1=1000 savecurrents"


@dataclass(frozen=True)
class Netlist:
    """A netlist and how to find things in it.

    `nodes`: node of the circuit → its name; nodes left out are missing. `island`: node →
    number of its group of joined nodes, 0 with the reference. `elements`: (part id, branch) →
    the element that carries its current; branches that carry none are missing. `shorted` are
    ideal branches left out because others join their ends already: their current is not told.
    """

    text: str
    nodes: dict[str, str]
    island: dict[str, int]
    elements: dict[tuple[str, str], str]
    shorted: frozenset[tuple[str, str]]


def netlist(point: OperatingPoint, title: str = "", notes: Sequence[str] = ()) -> Netlist:
    """The circuit of `point` with its discrete states as they are.

    `title` is the first line, by default the circuit's; each of `notes` begins a comment.
    """
    return _Writer(point).written(title or point.circuit.title, notes)


@dataclass(frozen=True)
class _Piece:
    """One branch in its state."""

    part: Part
    branch: Branch
    flow: Flow
    conducts: bool

    @property
    def key(self) -> tuple[str, str]:
        return self.part.id, self.branch.name

    @property
    def name(self) -> str:
        return "_".join(filter(None, (self.part.id, self.branch.name)))

    def comment(self, text: str) -> str:
        return " ".join(filter(None, ("*  ", self.branch.name, text)))


class _Joined:
    """Which things belong together (union-find)."""

    def __init__(self) -> None:
        self._above: dict[str, str] = {}

    def top(self, thing: str) -> str:
        while (above := self._above.get(thing, thing)) != thing:
            thing = above
        return thing

    def join(self, one: str, other: str) -> bool:
        """Put two together; False if they were."""
        one, other = self.top(one), self.top(other)
        if one != other:
            self._above[other] = one
        return one != other


@dataclass(eq=False)
class _Writer:
    point: OperatingPoint
    taken: set[str] = field(default_factory=set)  # element and inner names, in small letters
    elements: dict[tuple[str, str], str] = field(default_factory=dict)
    shorted: set[tuple[str, str]] = field(default_factory=set)
    ideal: _Joined = field(default_factory=_Joined)

    def written(self, title: str, notes: Sequence[str]) -> Netlist:
        body = [line for part in self.point.circuit.parts for line in self._part(part)]
        lines = [_one_line(title)]
        for note in (*notes, STATES):
            lines += _comment(note)
        lines += [*self._left_out(), "", *self._functions(), *body, *self._held()]
        text = "\n".join([*lines, "", OPTIONS, ".op", ".end", ""])
        return Netlist(text, self.nodes, self.island, self.elements, frozenset(self.shorted))

    @cached_property
    def pieces(self) -> dict[str, list[_Piece]]:
        """Part id → its branches."""
        return {part.id: list(pieces(self.point, part)) for part in self.point.circuit.parts}

    @cached_property
    def island(self) -> dict[str, int]:
        circuit, joined = self.point.circuit, _Joined()
        for piece in (piece for found in self.pieces.values() for piece in found):
            if piece.conducts:
                joined.join(piece.branch.a, piece.branch.b)
        numbers: dict[str, int] = {}  # the reference is the first of the nodes
        return {n: numbers.setdefault(joined.top(n), len(numbers)) for n in circuit.nodes}

    @cached_property
    def nodes(self) -> dict[str, str]:
        found = {self.point.circuit.reference: GROUND}
        ends = [
            node
            for some in self.pieces.values()
            for piece in some
            if piece.conducts
            for node in (piece.branch.a, piece.branch.b)
        ]
        for node in dict.fromkeys(ends):
            if node not in found:
                found[node] = self._new(_as_name(node))
        return found

    def _new(self, name: str) -> str:
        """`name`, or one like it that nothing is called yet; letters count alike in SPICE."""
        found, number = name, 2
        while found.lower() in self.taken or found.lower() in RESERVED:
            found, number = f"{name}_{number}", number + 1
        self.taken.add(found.lower())
        return found

    def _left_out(self) -> Iterator[str]:
        alone = [n for n in self.point.circuit.nodes if n not in self.nodes]
        if alone:
            yield from _comment(f"Nothing conducts to {', '.join(alone)}.")

    def _functions(self) -> Iterator[str]:
        used = {type(p.flow.law) for found in self.pieces.values() for p in found if p.conducts}
        for law, lines in FUNCTIONS.items():
            if law in used:
                yield from (*lines, "")

    def _part(self, part: Part) -> Iterator[str]:
        found = self.pieces[part.id]
        if not found:
            return
        state = self.point.state(part)
        told, name = [part.id, part.kind.replace("_", " ")], _one_line(part.name)
        if name and name != told[1]:
            told.append(f"({name})")
        yield f"* {' '.join(told)}{f': {state}' if state else ''}"
        for piece in found:
            yield from self._piece(piece)

    def _piece(self, piece: _Piece) -> Iterator[str]:
        flow, name = piece.flow, piece.name
        if not piece.conducts:
            yield piece.comment("blocks" if isinstance(flow.law, DiodeLaw) else "open")
            return
        a, b = self.nodes[piece.branch.a], self.nodes[piece.branch.b]
        if isinstance(flow.law, FilamentLaw | MotorLaw):
            element = self._element("B", name, piece)
            yield f"{element} {a} {b} i={_amps(flow.law, f'v({a},{b})')}"
            return
        volts, siemens = flow.volts, flow.siemens
        if isinstance(flow.law, DiodeLaw):
            volts, siemens = flow.law.forward_volts, flow.law.siemens
        if siemens == inf and not self.ideal.join(a, b):
            self.shorted.add(piece.key)
            yield piece.comment("joins what is joined already")
        elif siemens == inf:
            yield f"{self._element('V', name, piece)} {a} {b} {_number(volts)}"
        elif volts:
            inside = self._new(f"{_as_name(name)}_inside")
            yield f"{self._element('R', name, piece)} {a} {inside} {_number(1.0 / siemens)}"
            yield f"{self._new(f'V_{_as_name(name)}')} {inside} {b} {_number(volts)}"
        else:
            yield f"{self._element('R', name, piece)} {a} {b} {_number(1.0 / siemens)}"

    def _element(self, letter: str, name: str, piece: _Piece) -> str:
        found = self._new(f"{letter}_{_as_name(name)}")
        self.elements[piece.key] = found
        return found

    def _held(self) -> Iterator[str]:
        seen = {0}
        for node, name in self.nodes.items():
            island = self.island[node]
            if island not in seen:
                seen.add(island)
                yield f"* nothing joins {node} and what hangs on it to the reference"
                yield f"{self._new('V_hold')} {name} {GROUND} 0"


def pieces(point: OperatingPoint, part: Part) -> Iterator[_Piece]:
    """The branches of a part as it stands."""
    network, settled = point.solutions.network, point.solutions.settled
    slot = network.slot_index[part.id]
    variant = int(network.variant[slot, int(point.solutions.circuit[point.case])])
    model = network.slots[slot].models[variant]
    state = 0 if len(model.states) == 1 else int(settled.state[slot, point.case])
    columns = network.slots[slot].columns[variant]
    for branch, flow, column in zip(model.branches, model.flows[state], columns, strict=True):
        conducts = flow.law is not None or flow.siemens > 0.0
        if isinstance(flow.law, DiodeLaw):
            conducts = bool(settled.siemens[column, point.case] > 0.0)
        yield _Piece(part, branch, flow, conducts)


def _amps(law: Law, volts: str) -> str:
    match law:
        case FilamentLaw():
            numbers = (law.amps, law.volts, law.cold_siemens)
            return f"filament({volts},{','.join(map(_number, numbers))})"
        case MotorLaw():
            ohm = law.volts / law.stall_amps
            still = law.friction * law.run_amps
            numbers4 = (ohm, law.volts - law.run_amps * ohm, still, law.run_amps - still)
            return f"motor({volts},{','.join(map(_number, numbers4))})"
        case DiodeLaw():
            raise AssertionError("a diode is written as source and slope")


def _number(value: float) -> str:
    """Twelve digits: more than a data sheet has, fewer than the noise of floating point."""
    return f"{value:.12g}"


def _as_name(text: str) -> str:
    """A name that a netlist can hold: `K1.87` → `K1_87`, `GB1.+` → `GB1_plus`."""
    for sign, word in ((".-", "_minus"), ("+", "plus"), ("/", "_own_")):
        text = text.replace(sign, word)
    name = re.sub(r"[^A-Za-z0-9_]", "_", text)
    return name if name[:1].isalpha() else f"n{name}"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _comment(text: str) -> list[str]:
    return [f"* {line}" for line in wrap(_one_line(text), WIDTH - 2)]
