"""Which node each terminal sits on, and whether the network hangs together.

A terminal is a node of its own, called `K1.87`, until `at` puts it on a named node. A part
that is one point (a splice, a ground) gives its node its own name.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from quizgen.base.errors import FileError
from quizgen.base.suggest import shown, suggest
from quizgen.circuit.components import Battery, Ground, Part, Source, Splice, Wire
from quizgen.circuit.reach import reached
from quizgen.circuit.specs import NODE, PartSpec
from quizgen.circuit.values import Names, text, texts
from quizgen.circuit.yaml_reader import Listing, Table, Tree, fail, found

POINTS = (Splice, Ground)


@dataclass
class Joints:
    """The parts of one setting and the nodes of their terminals."""

    reference: str
    known: Mapping[str, tuple[PartSpec, ...]]  # every part of the template
    parts: dict[str, Part] = field(default_factory=dict)  # present, their nodes not yet set
    specs: dict[str, PartSpec] = field(default_factory=dict)
    moved: dict[tuple[str, str], str] = field(default_factory=dict)  # by `at`

    def place_terminals(self, names: Names) -> None:
        """Read every `at`: names of nodes first, then terminals of other parts."""
        later: dict[tuple[str, str], Tree] = {}
        for part_id, part in self.parts.items():
            tree = self.specs[part_id].table.get("at")
            for terminal, value in _pairs(part, tree) if tree else ():
                words = text(value, names)
                if "." in words or words in self.known:
                    later[part_id, terminal] = value
                elif NODE.match(words):
                    self.moved[part_id, terminal] = words
                else:
                    fail(value, f"{shown(words)} cannot be the name of a node; use letters, digits")
        for key, tree in later.items():
            words = text(tree, names)
            if tuple(words.split(".", 1)) in later:
                fail(tree, f"{words} has an 'at' itself; put both on a node with a name of its own")
            self.moved[key] = self.named(words, tree)

    def nodes(self, part: Part) -> tuple[str, ...]:
        """The nodes of a part's terminals, in their order."""
        return tuple(self.node(part, terminal) for terminal in part.terminals)

    def node(self, part: Part, terminal: str) -> str:
        """The node of one terminal."""
        if isinstance(part, POINTS):
            return part.id if terminal == "1" else self.reference
        return self.moved.get((part.id, terminal), f"{part.id}.{terminal}")

    def point(self, tree: Tree, names: Names) -> str:
        """The node that a wire's end or a feed names: `K1.87`, `G1`, or a named node."""
        return self.named(text(tree, names), tree)

    def named(self, words: str, tree: Tree) -> str:
        """The node that `words` mean; `tree` is where they stand."""
        if words == self.reference or words in self.moved.values():
            return words
        part_id, _, terminal = words.partition(".")
        part = self._part(part_id, tree, words)
        if not terminal:
            if isinstance(part, POINTS):
                return part.id
            ends = ", ".join(f"{part.id}.{t}" for t in part.terminals)
            fail(tree, f"{part.id} has several terminals; choose from {ends}")
        if terminal not in part.terminals:
            hint = suggest(terminal, part.terminals)
            fail(tree, f"{part.id} has no terminal {shown(terminal)}{hint}")
        return self.node(part, terminal)

    def _part(self, part_id: str, tree: Tree, words: str) -> Part:
        if part_id in self.parts:
            return self.parts[part_id]
        if part_id in self.known:
            fail(tree, f"{part_id} is absent here: none of its 'when' holds")
        fail(tree, f"no part or node {shown(words)}{suggest(part_id, self.parts)}")


def _pairs(part: Part, tree: Tree) -> Iterator[tuple[str, Tree]]:
    """The (terminal, node) pairs of an `at`."""
    if isinstance(part, POINTS):
        fail(tree, f"a {part.kind} is a point itself; put other terminals at {part.id}")
    match tree:
        case Listing():
            if len(tree.items) != len(part.terminals):
                terminals = ", ".join(part.terminals)
                fail(tree, f"expected one node each for {terminals}; found {len(tree.items)}")
            yield from zip(part.terminals, tree.items, strict=True)
        case Table():
            for terminal, value in tree.entries.items():
                if terminal not in part.terminals:
                    hint = suggest(terminal, part.terminals)
                    fail(value, f"{part.id} has no terminal {shown(terminal)}{hint}")
                yield terminal, value
        case _:
            fail(tree, f"expected a list of nodes or nodes by terminal, {found(tree)}")


def check_joints(
    parts: Iterable[Part], specs: Mapping[str, PartSpec], reference: str, names: Names, root: Table
) -> None:
    """Raise FileError for terminals that lead nowhere and for a network that cannot work."""
    everything = tuple(parts)
    at: dict[str, list[tuple[Part, str]]] = {}
    for part in everything:
        for terminal, node in zip(part.terminals, part.nodes, strict=True):
            at.setdefault(node, []).append((part, terminal))
    if not any(isinstance(p, Battery | Source) for p in everything):
        fail(root.entries["parts"], "no battery and no source at this setting")
    if reference not in at:
        problem = f"nothing is connected to {reference}, the reference of all voltages"
        fail(root.get("reference") or root.entries["parts"], problem)
    for part in everything:
        if len(set(part.nodes)) == 1 < len(part.nodes):
            both = "from and to are" if isinstance(part, Wire) else "all terminals are"
            problem = f"{part.id}: {both} the same point, {part.nodes[0]}"
            raise FileError(specs[part.id].place, problem)
    for part in everything:
        _check_terminals(part, specs[part.id], at, reference, names)
    if any(isinstance(p, Wire) for p in everything):
        _check_whole(everything, specs, reference)


def _check_terminals(
    part: Part,
    spec: PartSpec,
    at: Mapping[str, list[tuple[Part, str]]],
    reference: str,
    names: Names,
) -> None:
    tree = spec.table.get("unused")
    unused = () if tree is None else texts(tree, names)
    for terminal in unused:
        if tree is not None and terminal not in part.terminals:
            hint = suggest(terminal, part.terminals)
            fail(tree, f"{part.id} has no terminal {shown(terminal)}{hint}")
    for terminal, node in zip(part.terminals, part.nodes, strict=True):
        others = [p for p, _ in at[node] if p is not part]
        if tree is not None and terminal in unused and (others or node == reference):
            by = f" to {others[0].id}" if others else ""
            fail(tree, f"terminal {terminal} is connected{by}; it cannot be unused")
        if not others and terminal not in unused and node != reference:
            problem = f"terminal {part.id}.{terminal} is connected to nothing"
            raise FileError(spec.place, f"{problem}; add a wire, or list it in 'unused'")
    if isinstance(part, Splice) and len(at[part.nodes[0]]) < 3:
        raise FileError(spec.place, f"splice {part.id} joins fewer than two things")


def _check_whole(parts: tuple[Part, ...], specs: Mapping[str, PartSpec], reference: str) -> None:
    """A circuit with wires must be in one piece, a part counting as joining its terminals."""
    joined = reached(reference, (pair for part in parts for pair in pairwise(part.nodes)))
    for part in parts:
        if part.nodes[0] not in joined:
            problem = f"{part.id} has no connection to {reference}, not even through other parts"
            raise FileError(specs[part.id].place, problem)
