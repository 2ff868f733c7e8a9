"""Electrical depth: how far down the current has come at each node.

Every conducting path counts as a resistance, all contacts closed at once: a load 30, a
contact 1, a conductor 0.02, the working contact of a changeover relay 50 (it would else feed
its resting side backwards). The supply is at 1, the reference at 0. The potentials of that
network order the nodes from feed to ground without a cycle, whatever the switches do.
"""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx
import numpy as np

from quizgen.circuit.components import (
    LOADS,
    Alternator,
    Battery,
    Connector,
    Flasher,
    Ground,
    Part,
    Relay,
    Resistor,
    ResistorPack,
    Source,
    Splice,
    StarterSolenoid,
    Switch,
    TwoSpeedMotor,
)  # fmt: skip
from quizgen.circuit.netlist import Circuit

LOAD_OHM, WORKING_OHM, CONTACT_OHM, CONDUCTOR_OHM = 30.0, 50.0, 1.0, 0.02
SENSE_OHM = 1000.0  # a path that draws next to nothing
DEVICES: dict[type[Part], tuple[tuple[str, str, float], ...]] = {
    Alternator: (("B+", "31", SENSE_OHM), ("D+", "31", LOAD_OHM)),
    StarterSolenoid: (
        ("50", "31", LOAD_OHM),
        ("50", "45", LOAD_OHM / 3),
        ("30", "45", CONTACT_OHM),
    ),
    Flasher: (("49", "49a", CONTACT_OHM), ("49", "31", SENSE_OHM)),
    TwoSpeedMotor: (("53", "31", LOAD_OHM), ("53i", "31", LOAD_OHM)),
}
SAME = 1e-7  # potentials closer than this are equal


def paths(part: Part) -> Iterator[tuple[str, str, float]]:
    """Pairs of terminals between which `part` can conduct, with the weight of the path."""
    if isinstance(part, Battery | Source | Splice):
        return
    if isinstance(part, Switch):
        yield from ((c.a, c.b, CONTACT_OHM) for c in part.contacts)
    elif isinstance(part, Relay):
        yield "86", "85", LOAD_OHM
        working = WORKING_OHM if part.contact == "changeover" else CONTACT_OHM
        for throw, ohm in (("87", working), ("87a", CONTACT_OHM)):
            if throw in part.terminals:
                yield "30", throw, ohm
    elif type(part) in DEVICES:
        yield from ((a, b, ohm) for a, b, ohm in DEVICES[type(part)] if b in part.terminals)
    elif isinstance(part, Connector):
        yield from ((c + "a", c + "b", CONDUCTOR_OHM) for c in part.cavities)
    elif isinstance(part, ResistorPack):
        yield from ((a, b, 3.0) for a, b in zip(part.terminals, part.terminals[1:], strict=False))
    else:
        heavy = isinstance(part, (*LOADS, Resistor))
        yield part.terminals[0], part.terminals[1], LOAD_OHM if heavy else CONDUCTOR_OHM


def depths(circuit: Circuit) -> dict[str, float]:
    """Node → potential between 1 (supply) and 0 (reference); 0.5 where nothing leads to either."""
    fixed = {circuit.reference: 0.0}
    for part in circuit.parts:
        if isinstance(part, Battery | Source):
            fixed.setdefault(part.node("+"), 1.0)
            fixed.setdefault(part.node("-"), 0.0)
        if isinstance(part, Ground):
            fixed.setdefault(part.node("31"), 0.0)
    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(circuit.nodes)
    for part in circuit.parts:
        for a, b, ohm in paths(part):
            u, v = part.node(a), part.node(b)
            before = graph.get_edge_data(u, v, {"g": 0.0})["g"]
            graph.add_edge(u, v, g=before + 1 / ohm)
    free = [
        node
        for group in nx.connected_components(graph)
        if any(node in fixed for node in group)
        for node in circuit.nodes
        if node in group and node not in fixed
    ]
    found = dict.fromkeys(circuit.nodes, 0.5) | fixed
    if not free:
        return found
    at = {node: i for i, node in enumerate(free)}
    matrix, right = np.zeros((len(free), len(free))), np.zeros(len(free))
    for node, row in at.items():
        for other, data in graph[node].items():
            if other == node:
                continue
            matrix[row, row] += data["g"]
            if other in at:
                matrix[row, at[other]] -= data["g"]
            else:
                right[row] += data["g"] * found[other]
    return found | dict(zip(free, map(float, np.linalg.solve(matrix, right)), strict=True))
