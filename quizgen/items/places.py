"""Where a claim sits in the circuit: its two ends, and on which side of the load."""

from __future__ import annotations

from typing import Literal

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim

Side = Literal["feed", "load", "ground"]
Nature = Literal["open", "resistance", "short", "other"]

OPEN_MODES = {"open", "blown", "missing", "burned-out", "not-making", "coil-open", "stuck-open"}
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
    if isinstance(part, c.Relay):
        if claim.mode.startswith("coil"):
            return part.node("86"), part.node("85")
        return part.node("30"), part.node("87" if "87" in part.terminals else "87a")
    if isinstance(part, c.ResistorPack):
        section = int(claim.place or "1")
        return part.nodes[section - 1], part.nodes[section]
    return part.nodes[0], part.nodes[-1]


def side(circuit: Circuit, claim: Claim, sound_volts: dict[str, float]) -> Side:
    """Feed or ground side of the load, judged by the potentials of the sound circuit."""
    part = circuit.by_id[claim.part]
    if isinstance(part, c.LOADS):
        return "load"
    supply = max(abs(v) for v in sound_volts.values()) or 1.0
    middle = sum(abs(sound_volts.get(n, 0.0)) for n in ends(circuit, claim)) / 2.0
    return "feed" if middle > 0.5 * supply else "ground"
