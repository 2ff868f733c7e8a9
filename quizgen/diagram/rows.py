"""Rows: which blocks stand side by side.

Row r lies between channel r above it and channel r + 1 below it. A link may run level or
down from channel to channel, never up; each block takes the first row that allows this
(longest path). Then the cavities of a connector are pulled into one row, and so are all loads,
where that does not add a row; grounds stand in the last row. A link that closes a loop (a
relay that holds itself) is left out of the rule and runs up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from quizgen.circuit.components import LOADS, Part
from quizgen.diagram.scheme import Block, End, Link, Scheme

Rule = tuple[int, int, int]  # row of the second is at least row of the first plus this


def assign_rows(scheme: Scheme, parts: Mapping[str, Part]) -> tuple[int, ...]:
    """The row of every block."""
    count = len(scheme.blocks)
    rules: list[Rule] = []
    for link in sorted(scheme.links, key=lambda k: _reach(scheme, k)):
        rule = (link.upper.block, link.lower.block, _reach(scheme, link))
        if link.upper.block != link.lower.block and _allowed(rules, rule, count):
            rules.append(rule)
    ground = [i for i, b in enumerate(scheme.blocks) if _is_ground(b, parts)]
    for group in _groups(scheme.blocks, parts):
        _level(rules, group, count)
    rows = _longest(rules, count) or [0] * count
    last = max((rows[i] for i in range(count) if i not in ground), default=-1) + 1
    return tuple(last if i in ground else row for i, row in enumerate(rows))


def channel(scheme: Scheme, rows: tuple[int, ...], end: End) -> int:
    """The channel in which a link leaves this end."""
    block = scheme.blocks[end.block]
    return rows[end.block] + (block.symbol.ports[end.port].side == "bottom")


def _reach(scheme: Scheme, link: Link) -> int:
    """Rows that the lower block must stay below the upper one."""
    sides = [scheme.blocks[e.block].symbol.ports[e.port].side for e in (link.upper, link.lower)]
    return (sides[0] == "bottom") - (sides[1] == "bottom")


def _is_ground(block: Block, parts: Mapping[str, Part]) -> bool:
    return (
        block.key.startswith("frame ")
        or (block.part and parts[block.part].kind == "ground") is True
    )


def _groups(blocks: tuple[Block, ...], parts: Mapping[str, Part]) -> Iterable[list[int]]:
    """Blocks that look best in one row: cavities of a connector, then all loads."""
    cavities: dict[str, list[int]] = {}
    for i, block in enumerate(blocks):
        if "/" in block.key and block.part:
            cavities.setdefault(block.part, []).append(i)
    yield from cavities.values()
    yield [i for i, b in enumerate(blocks) if b.part and isinstance(parts[b.part], LOADS)]


def _level(rules: list[Rule], group: list[int], count: int) -> None:
    """Add the rules that put members of a group in one row, as far as no row is added."""
    deepest = max(_longest(rules, count) or [0])
    for i, first in enumerate(group):
        for other in group[i + 1 :]:
            pair = [(first, other, 0), (other, first, 0)]
            rows = _longest([*rules, *pair], count)
            if rows is not None and max(rows) <= deepest:
                rules.extend(pair)


def _allowed(rules: list[Rule], rule: Rule, count: int) -> bool:
    return _longest([*rules, rule], count) is not None


def _longest(rules: list[Rule], count: int) -> list[int] | None:
    """The least rows that obey all rules, or None when they contradict each other."""
    rows = [0] * count
    for _ in range(count + 1):
        changed = False
        for a, b, step in rules:
            if rows[a] + step > rows[b]:
                rows[b] = rows[a] + step
                changed = True
        if not changed:
            return rows
    return None
