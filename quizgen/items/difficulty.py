"""How hard an item is likely to be: a hypothesis from its structure, until answers are in.

The predicted share of right answers is

    p = g + (1 − g) / (1 + exp(−(b + Σ w·x)))

with g the share that guessing gets, x the features below, w their weights in logits. The weights
are judgements of what makes electrical fault-finding hard (common practice, no source; that
designed features explain most of the difficulty of generated items is reported by several
studies of automatic item generation, second-hand). `quizgen.items.calibration` replaces
them as soon as real answers allow; until then a report calls them predictions.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import exp, log2

import networkx as nx

from quizgen.base.errors import QuizgenError
from quizgen.circuit.components import Relay
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template
from quizgen.faults import parse_fault
from quizgen.items.item import LEVELS, Item

BASE_LOGIT = 1.9
WEIGHTS: dict[str, float] = {
    "level": -0.25,  # steps above reading the diagram
    "several": -0.6,  # every option is a question of its own
    "order": -0.5,  # one slip and the order is wrong
    "number": -0.4,  # nothing to choose from
    "suspects": -0.08,  # doublings of the number of claims to rule out
    "readings": -0.05,  # to keep in mind, each
    "states": -0.1,  # positions to keep in mind, beyond the first
    "relays": -0.15,  # in the circuit, up to three: two circuits that act on each other
    "distance": -0.04,  # parts between the supply and the fault
    "ground side": -0.3,  # the way back is the forgotten half
    "poor joint": -0.3,  # something still flows
    "short": -0.2,  # current where none should be
    "taken apart": -0.2,  # the circuit measured is not the circuit drawn
}
MOST_RELAYS = 3


@dataclass(frozen=True)
class Difficulty:
    """The numbers of the formula; `calibrated` once real answers stand behind them."""

    base: float
    weights: Mapping[str, float]
    calibrated: bool = False

    def share(self, item: Item) -> float:
        """The share of a class that is expected to answer right, 0 to 1."""
        logit = self.base + sum(self.weights[n] * x for n, x in features(item).items())
        guess = guessed(item)
        return guess + (1.0 - guess) / (1.0 + exp(-logit))


HYPOTHESIS = Difficulty(BASE_LOGIT, WEIGHTS)


def predicted_share(item: Item) -> float:
    """By the hypothesis."""
    return HYPOTHESIS.share(item)


def guessed(item: Item) -> float:
    """The share of right answers that blind guessing gets."""
    if item.response == "one" and item.options:
        return 1.0 / len(item.options)
    return 0.0


def features(item: Item) -> dict[str, float]:
    """What `WEIGHTS` weigh, by name; 0 where an item has nothing of it."""
    states = {item.origin.positions, *(o.moves for o in item.proof.observed if o.moves is not None)}
    apart = any(r.apart or r.removed or r.unplugged for r in item.readings)
    found = dict.fromkeys(WEIGHTS, 0.0)
    found["level"] = float(LEVELS.index(item.level))
    if item.response in found:
        found[item.response] = 1.0
    found["suspects"] = log2(max(item.proof.claims, 1))
    found["readings"] = float(len(item.readings))
    found["states"] = float(len(states) - 1)
    found["taken apart"] = float(apart)
    return found | _of_the_circuit(item.origin.template, item.origin.parameters, item.origin.fault)


@lru_cache(maxsize=4096)
def _of_the_circuit(
    template: str, parameters: tuple[tuple[str, object], ...], fault_text: str
) -> dict[str, float]:
    circuit = find_template(template).build(dict(parameters))
    relays = sum(isinstance(part, Relay) for part in circuit.parts)
    found = {"relays": float(min(relays, MOST_RELAYS))}
    try:
        fault = parse_fault(fault_text)
        part = circuit.part(fault.part)
    except QuizgenError:
        return found  # about a sound circuit
    found["distance"] = float(_parts_between(circuit, circuit.supply, part.id))
    back = _parts_between(circuit, circuit.reference, part.id)
    found["ground side"] = float(part.kind == "ground" or back < found["distance"])
    found["poor joint"] = float(fault.mode == "resistance")
    found["short"] = float(fault.mode.startswith("short"))
    return found


def _parts_between(circuit: Circuit, node: str, part_id: str) -> int:
    """Parts on the shortest way from a node to a part, the battery left out."""
    graph: nx.Graph[str] = nx.Graph()
    for part in circuit.parts:
        if part.kind != "battery":
            graph.add_edges_from((f"part {part.id}", f"node {n}") for n in part.nodes)
    if f"node {node}" not in graph or f"part {part_id}" not in graph:
        return 0
    try:
        steps = int(nx.shortest_path_length(graph, f"node {node}", f"part {part_id}"))
    except nx.NetworkXNoPath:
        return 0
    return (steps - 1) // 2
