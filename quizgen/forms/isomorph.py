"""Which items are the same question in other clothes.

Two items are isomorphic when network, fault and probe are: same kind of question, and graphs
of parts and nodes that the Weisfeiler-Lehman test cannot tell apart once the part at fault and
the points measured are marked (Shervashidze et al. 2011, J. Machine Learning Research 12:2539,
from memory). Names, values and wording do not matter. The test may call two different graphs
equal; it then keeps two items apart that could have met, which does no harm.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import networkx as nx

from quizgen.base.errors import InputError
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template
from quizgen.faults import parse_fault
from quizgen.items.item import Item

ROUNDS = 5  # of refinement: far enough to see from a load to its fuse and its ground


@lru_cache(maxsize=4096)  # asked of every pair of items of a set
def isomorph(item: Item) -> str:
    """A text that isomorphic items share."""
    origin = item.origin
    circuit = _circuit(origin.template, origin.parameters)
    graph = _graph(circuit, dict(_part_marks(item)), dict(_node_marks(item, circuit)))
    shape = nx.weisfeiler_lehman_graph_hash(
        graph, edge_attr="terminal", node_attr="label", iterations=ROUNDS
    )
    return f"{item.kind} {item.response} {shape}"


@lru_cache(maxsize=64)
def _circuit(template: str, parameters: tuple[tuple[str, object], ...]) -> Circuit:
    return find_template(template).build(dict(parameters))


def _graph(circuit: Circuit, parts: dict[str, str], nodes: dict[str, str]) -> nx.Graph[str]:
    graph: nx.Graph[str] = nx.Graph()
    for node in circuit.nodes:
        graph.add_node(f"node {node}", label=f"node{nodes.get(node, '')}")
    for part in circuit.parts:
        graph.add_node(f"part {part.id}", label=f"{part.kind}{parts.get(part.id, '')}")
        for terminal, node in zip(part.terminals, part.nodes, strict=True):
            graph.add_edge(f"part {part.id}", f"node {node}", terminal=terminal)
    return graph


def _part_marks(item: Item) -> Iterator[tuple[str, str]]:
    """The part at fault with its mode; switches with the position they are moved to."""
    for control, position in item.origin.positions:
        yield control, f" at {position}"
    for text in (item.origin.fault, *item.told):
        if text:
            fault = parse_fault(text)
            yield fault.part, f" {fault.mode}"
    for claim in item.key_claims:
        part = claim.partition(":")[0]
        yield part, f" key{claim.removeprefix(part)}"


def _node_marks(item: Item, circuit: Circuit) -> Iterator[tuple[str, str]]:
    """The points where leads are."""
    for reading in item.readings:
        yield reading.red_node, f" red of {reading.instrument}"
    claim = " ".join(item.key_claims)
    for word in claim.replace("=", " ").replace(",", " ").replace(">", " ").split():
        try:
            yield circuit.point(word), " in the answer"
        except InputError:
            continue
