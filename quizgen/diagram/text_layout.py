"""Layout in characters: as much said as there is room for, within a number of columns.

Steps as on paper: scheme → rows → order → places → characters. All labels are tried in full
first. Where that is too wide, the row that makes it so is found and its longest label is
shortened, step by step; what a step drops stands in the lists below the drawing.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import ceil
from random import Random

from quizgen.circuit.netlist import Circuit
from quizgen.diagram.columns import Placer
from quizgen.diagram.hints import columns_of
from quizgen.diagram.layout import ODD, oddness
from quizgen.diagram.order import Grid, make_grid
from quizgen.diagram.programme import Programme
from quizgen.diagram.rows import assign_rows
from quizgen.diagram.scheme import Scheme, make_scheme
from quizgen.diagram.sifting import candidates
from quizgen.diagram.text_compose import Sheet, TextComposer
from quizgen.diagram.text_hand import BARE, LEAST_PITCH, TextHand
from quizgen.diagram.text_labels import CHARACTERS, TextLabels

WIDER = (0, 1, 2, 4, 8, 16)  # added to the pitch of all boxes until conductors fit between
ORDERS = 4  # of the good orders that are placed


@dataclass(frozen=True)
class _Wording:
    """How much is said: by block for parts, by channel for wires; higher is less."""

    blocks: Mapping[str, int] = field(default_factory=dict)
    channels: Mapping[int, int] = field(default_factory=dict)


class Plan:
    """All about one circuit that does not depend on the width."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        scheme = make_scheme(circuit, TextHand())
        self.grid: Grid = make_grid(scheme, assign_rows(scheme, circuit.by_id))
        hints = columns_of(circuit, scheme)
        found = candidates(scheme, self.grid, hints, Random(circuit.name))
        self.orders = [order for n, order in found if n == found[0][0]][:ORDERS]

    def placers(self, wording: _Wording) -> Iterator[tuple[Placer, Programme]]:
        """A placer for every order, with its programme; none where labels cannot fit."""
        for more in WIDER:
            scheme, labels = self._scheme(wording, more)
            for order in self.orders:
                placer = Placer(scheme, self.grid, order, labels, CHARACTERS)
                programme = placer.programme()
                if programme.least() is None:
                    break
                yield placer, programme
            else:
                return

    def _scheme(self, wording: _Wording, more: int) -> tuple[Scheme, TextLabels]:
        """Scheme and labels with every box as wide as its labels want."""
        hand = TextHand(levels=wording.blocks)
        scheme = make_scheme(self.circuit, hand)
        labels = TextLabels(scheme, self.grid.rows, wording.channels)
        pitches = {key: pitch + more for key, pitch in _pitches(scheme, labels).items()}
        scheme = make_scheme(self.circuit, replace(hand, pitches=pitches))
        return scheme, TextLabels(scheme, self.grid.rows, wording.channels)


def _pitches(scheme: Scheme, labels: TextLabels) -> dict[str, int]:
    """Block → the pitch at which the labels of wires fit between its leads."""
    bearing: dict[tuple[int, int], list[int]] = {}
    for n, end in enumerate(labels.ends):
        bearing.setdefault((end.block, end.port), []).append(n)
    found = {}
    for i, block in enumerate(scheme.blocks):
        steps = {x: n for n, x in enumerate(sorted({p.x for p in block.symbol.ports}))}
        wide = [LEAST_PITCH]
        for side in ("top", "bottom"):
            ports = [k for k, p in enumerate(block.symbol.ports) if p.side == side]
            ports.sort(key=lambda k: block.symbol.ports[k].x)
            for a, b in pairwise(ports):
                apart = steps[block.symbol.ports[b].x] - steps[block.symbol.ports[a].x]
                for k in (a, b):  # either may be the left one, if the block is mirrored
                    rooms = [labels.room(n, ("block", i, k)) for n in bearing.get((i, k), ())]
                    wide += (ceil((room + CHARACTERS.half_gap) / apart) for room in rooms)
        found[block.key] = max(wide)
    return found


def set_out(plan: Plan, columns: int) -> Sheet | None:
    """The drawing in at most `columns` characters a line, or None when it cannot be so narrow."""
    wording = _Wording()
    while True:
        tried = list(plan.placers(wording))
        if not tried:
            return None
        widths = [_width(programme) for _, programme in tried]
        fitting = [t for t, width in zip(tried, widths, strict=True) if width <= columns]
        if fitting:
            return _best(plan, fitting, columns)
        placer, programme = tried[widths.index(min(widths))]
        shorter = _shortened(wording, placer, programme)
        if shorter is None:
            return None
        wording = shorter


def _width(programme: Programme) -> int:
    at = programme.least()
    assert at is not None
    return at["end"] - at["edge"] - round(CHARACTERS.between) + 1


def _best(plan: Plan, fitting: list[tuple[Placer, Programme]], columns: int) -> Sheet:
    """The drawing with the straightest conductors, parts in order."""
    most = columns + CHARACTERS.between - 1

    def cost(placer: Placer) -> int:
        found = placer.cost(most)
        assert found is not None
        return found + ODD * oddness(placer.scheme, placer.order)

    placer = min((placer for placer, _ in fitting), key=cost)
    assert isinstance(placer.labels, TextLabels)
    return TextComposer(placer, placer.solve(most), placer.labels).sheet()


def _shortened(wording: _Wording, placer: Placer, programme: Programme) -> _Wording | None:
    """Less said in the row that makes the drawing wide, or None when it says the least."""
    labels = placer.labels
    assert isinstance(labels, TextLabels)
    scheme = placer.scheme
    blocks = _critical(programme)
    links = [n for n, end in enumerate(labels.ends) if end.block in blocks]
    choices: list[tuple[int, int, _Wording]] = []
    for n in links:
        c = labels.channel(n)
        level = wording.channels.get(c, 0)
        if scheme.links[n].wire is not None and level < BARE:
            rank = (0, 2)[level]
            less = replace(wording, channels={**wording.channels, c: level + 1})
            choices.append((rank, -len(labels.text(n)), less))
    for i in blocks:
        key = scheme.blocks[i].key
        level = wording.blocks.get(key, 0)
        if scheme.blocks[i].part and level < BARE:
            wide = int(placer.symbol(i).right)
            less = replace(wording, blocks={**wording.blocks, key: level + 1})
            choices.append(((1, 3)[level], -wide, less))
    return min(choices, key=lambda c: c[:2])[2] if choices else None


def _critical(programme: Programme) -> frozenset[int]:
    """Blocks on the longest chain of distances from edge to edge."""
    at = programme.least()
    assert at is not None
    blocks: set[int] = set()
    here: Hashable = "end"
    while here != "edge":
        here = next(
            a for (a, b), steps in programme.apart.items() if b == here and at[a] + steps == at[b]
        )
        if isinstance(here, tuple) and here[0] in ("block", "slot"):
            blocks.add(here[1])
    return frozenset(blocks)
