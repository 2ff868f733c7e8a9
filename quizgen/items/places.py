"""Where a claim sits in the circuit: its two ends, and on which side of the load."""

from __future__ import annotations

from typing import Literal

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim

Side = Literal["feed", "load", "ground"]
Nature = Literal["open", "resistance", "short", "other"]

WINDINGS = {  # mode of a part that is no load → the terminals of the winding it is about
    "coil-open": ("86", "85"),
    "coil-shorted": ("86", "85"),
    "pull-open": ("50", "45"),
    "hold-open": ("50", "31"),
    "rotor-open": ("D+", "31"),
}
BRUSHES = {"low-brush-open": "53", "high-brush-open": "53i"}
OPEN_MODES = {
    "open", "blown", "missing", "burned-out", "not-making", "stuck-open", "coil-open",
    "pull-open", "hold-open", "rotor-open", *BRUSHES,
}  # fmt: skip
SHORT_MODES = {"short-to-ground", "short-to-supply", "short-to", "shorted", "coil-shorted"}


def nature(claim: Claim) -> Nature:
    """What sort of trouble a claim is about."""
    if claim.mode in OPEN_MODES:
        return "open"
    if claim.mode == "resistance":
        return "resistance"
    return "short" if claim.mode in SHORT_MODES else "other"


def ends(circuit: Circuit, claim: Claim) -> tuple[str, str]:
    """The two nodes between which the claim's trouble lies."""
    part = circuit.by_id[claim.part]
    if isinstance(part, c.Connector):
        cavity = claim.place or part.cavities[0]
        return part.node(cavity + "a"), part.node(cavity + "b")
    if isinstance(part, c.Switch) and "-" in claim.place:
        a, _, b = claim.place.partition("-")
        return part.node(a), part.node(b)
    if isinstance(part, c.ResistorPack):
        section = int(claim.place or "1")
        return part.nodes[section - 1], part.nodes[section]
    a, b = WINDINGS.get(claim.mode) or _terminals(part, claim)
    return part.node(a), part.node(b)


def _terminals(part: c.Part, claim: Claim) -> tuple[str, str]:
    """The terminals of the contact, the brush or the whole part."""
    match part:
        case c.Relay():
            return "30", "87" if "87" in part.terminals else "87a"
        case c.StarterSolenoid():
            return "30", "45"
        case c.Flasher():
            return "49", "49a"
        case c.Alternator():
            return "B+", "31"
        case c.TwoSpeedMotor():
            return BRUSHES.get(claim.mode, "53"), "31"
        case _:
            return part.terminals[0], part.terminals[-1]


def side(circuit: Circuit, claim: Claim, sound_volts: dict[str, float]) -> Side:
    """Feed or ground side of the load, judged by the potentials of the sound circuit."""
    part = circuit.by_id[claim.part]
    if isinstance(part, c.LOADS) or claim.mode in WINDINGS:
        return "load"
    supply = max(abs(v) for v in sound_volts.values()) or 1.0
    middle = sum(abs(sound_volts.get(n, 0.0)) for n in ends(circuit, claim)) / 2.0
    return "feed" if middle > 0.5 * supply else "ground"
