"""The circuit as a frozen record: parts, what joins them, what a person can operate.

A *node* is a point of one potential. Each terminal sits on a node; a wire is a part of its
own between two nodes, so a terminal that only wires reach has its node to itself and the
node is called `K1.87`. Terminals put on the same named node are joined without resistance.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from quizgen.base.errors import InputError
from quizgen.circuit.components import Battery, Part, Source

CHASSIS = "chassis"


@dataclass(frozen=True, kw_only=True)
class Control:
    """Something that has positions: a switch for a hand, or a condition of the machine."""

    name: str
    positions: tuple[str, ...]
    rest: str
    label: str = ""  # "blower switch", "coolant"
    by: Literal["hand", "condition"] = "hand"
    momentary: bool = False


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """A circuit with its values filled in. Parts keep the order of the template."""

    name: str
    title: str
    system_volts: float
    parts: tuple[Part, ...]
    controls: tuple[Control, ...] = ()
    reference: str = CHASSIS
    summary: str = ""
    topics: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    unobserved: frozenset[str] = frozenset()  # loads that the driver cannot see or hear
    feeds: tuple[tuple[str, str], ...] = ()  # (node, "live with the ignition on")
    layout: tuple[tuple[str, Mapping[str, object]], ...] = field(default=(), compare=False)
    parameters: tuple[tuple[str, object], ...] = ()

    @cached_property
    def by_id(self) -> dict[str, Part]:
        """Part id → part."""
        return {p.id: p for p in self.parts}

    @cached_property
    def by_control(self) -> dict[str, Control]:
        """Control name → control."""
        return {c.name: c for c in self.controls}

    @cached_property
    def nodes(self) -> tuple[str, ...]:
        """Every node, reference first, then in order of first mention."""
        seen = dict.fromkeys([self.reference])
        for part in self.parts:
            seen.update(dict.fromkeys(part.nodes))
        return tuple(seen)

    @cached_property
    def terminals_at(self) -> dict[str, tuple[tuple[str, str], ...]]:
        """Node → the (part id, terminal) pairs that sit on it."""
        found: dict[str, list[tuple[str, str]]] = {}
        for part in self.parts:
            for terminal, node in zip(part.terminals, part.nodes, strict=True):
                found.setdefault(node, []).append((part.id, terminal))
        return {node: tuple(pairs) for node, pairs in found.items()}

    @cached_property
    def supply(self) -> str:
        """The node at the plus pole of the first battery or source."""
        for part in self.parts:
            if isinstance(part, Battery | Source):
                return part.node("+")
        raise InputError(f"{self.name}: the circuit has no battery and no source")

    def part(self, part_id: str) -> Part:
        """The part called `part_id`. Raises InputError that names the parts there are."""
        try:
            return self.by_id[part_id]
        except KeyError:
            known = " ".join(sorted(self.by_id))
            raise InputError(f"{self.name}: no part {part_id!r}; parts: {known}") from None

    def rest_positions(self) -> dict[str, str]:
        """Every control at rest."""
        return {c.name: c.rest for c in self.controls}

    def with_parts(self, *, changed: Iterable[Part] = (), added: Iterable[Part] = ()) -> Circuit:
        """A copy with parts of the same id exchanged and new parts at the end."""
        new = {p.id: p for p in changed}
        kept = tuple(new.get(p.id, p) for p in self.parts)
        return replace(self, parts=kept + tuple(added))

    def check_positions(self, positions: Mapping[str, str]) -> None:
        """Raises InputError for an unknown control or position."""
        for name, position in positions.items():
            control = self.by_control.get(name)
            if control is None:
                known = " ".join(self.by_control) or "none"
                raise InputError(f"{self.name}: no control {name!r}; controls: {known}")
            if position not in control.positions:
                raise InputError(
                    f"{self.name}: {name} has no position {position!r}; "
                    f"positions: {' '.join(control.positions)}"
                )

    def point(self, text: str) -> str:
        """The node that a person means by `text`: a node, a terminal `K1.87`, or a one-node part.

        Raises InputError when there is none.
        """
        if text in self.terminals_at or text == self.reference:
            return text
        part_id, _, terminal = text.rpartition(".")
        part = self.by_id.get(part_id or text)
        if part is not None:
            if terminal in part.terminals and part_id:
                return part.node(terminal)
            if not part_id and len(set(part.nodes)) == 1:
                return part.nodes[0]
            raise InputError(
                f"{self.name}: {part.id} has no point {text!r}; "
                f"points: {' '.join(f'{part.id}.{t}' for t in part.terminals)}"
            )
        raise InputError(f"{self.name}: no point {text!r}; name a terminal such as K1.87")
