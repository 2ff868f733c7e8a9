"""Sections of a circuit's wiring: what wires and splices join, and where each section ends.

Between two places where it can be parted (a fuse, a switch, a plug, a load) a harness is one
piece for every test that cuts no wire: an unwanted contact anywhere on it shows the same.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.reach import conducting_pairs, reached
from quizgen.faults import Fault
from quizgen.faults.wires import end_node
from quizgen.faults.wording import point_name

CONTACTS = ("short-to-ground", "short-to-supply", "short-to")


@dataclass(frozen=True)
class Section:
    """Nodes that wires join, and those of them at which something else is connected."""

    nodes: frozenset[str]
    ends: tuple[str, ...]

    @property
    def claim(self) -> str:
        """As options claim it: `between F2.2 and S1.30`, more ends after further `and`s."""
        return f"between {' and '.join(self.ends)}"


def sections(circuit: Circuit) -> tuple[Section, ...]:
    """Every section that has at least two ends, in the circuit's order."""
    wires = [pair for p in circuit.parts if isinstance(p, c.Wire) for pair in conducting_pairs(p)]
    found: dict[frozenset[str], Section] = {}
    for node, _ in wires:
        joined = reached(node, wires)
        ends = tuple(n for n in circuit.nodes if n in joined and _is_end(circuit, n))
        if len(ends) > 1:
            found.setdefault(joined, Section(joined, ends))
    return tuple(found.values())


def _is_end(circuit: Circuit, node: str) -> bool:
    parts = [circuit.by_id[part] for part, _ in circuit.terminals_at[node]]
    return any(not isinstance(p, c.Wire | c.Splice) for p in parts)


def section_words(circuit: Circuit, section: Section) -> str:
    """`between F2 terminal 2 and S1 terminal 30`; no capital, no full stop."""
    names = [point_name(circuit, node, names=False) for node in section.ends]
    return f"between {', '.join(names[:-1])} and {names[-1]}"


def touches(circuit: Circuit, fault: Fault, section: Section) -> bool:
    """The fault is an unwanted contact of a wire in this section."""
    if fault.mode not in CONTACTS or not isinstance(circuit.by_id[fault.part], c.Wire):
        return False
    wires = [fault.part, *([fault.detail] if fault.mode == "short-to" else [])]
    return any(end_node(circuit, wire, 0) in section.nodes for wire in wires)
