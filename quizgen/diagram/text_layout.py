"""Layout in characters: as much said as there is room for, within a number of columns.

Steps as on paper: scheme → rows → order → places → characters. All labels are tried in full
first. Where that is too wide, the row that makes it so is found and its longest label is
shortened, step by step; what a step drops stands in the lists below the drawing. A row that is
too wide with the shortest labels is folded: half of it moves into a row of its own below.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import ceil
from random import Random

from quizgen.base.errors import InputError
from quizgen.circuit.netlist import Circuit
from quizgen.diagram.columns import Placer
from quizgen.diagram.hints import columns_of
from quizgen.diagram.layout import ODD, oddness
from quizgen.diagram.order import Grid, Member, Order, make_grid
from quizgen.diagram.programme import Programme
from quizgen.diagram.rows import assign_rows
from quizgen.diagram.scheme import Scheme, make_scheme
from quizgen.diagram.sifting import candidates
from quizgen.diagram.text_compose import Sheet, TextComposer
from quizgen.diagram.text_hand import BARE, LEAST_PITCH, TextHand
from quizgen.diagram.text_labels import CHARACTERS, TextLabels

WIDER = (0, 1, 2, 4, 8, 16, 32, 64)  # added to the pitch of all boxes until conductors fit between
ORDERS = 8  # of the good orders that are placed
FOLDS = 12  # rows that may be folded before a drawing is given up


@dataclass(frozen=True)
class _Wording:
    """How much is said: by block for parts, by channel for wires; higher is less.

    Links in `moved` bear their labels at the other end.
    """

    blocks: Mapping[str, int] = field(default_factory=dict)
    channels: Mapping[int, int] = field(default_factory=dict)
    moved: frozenset[int] = frozenset()


class Plan:
    """The rows of one circuit, and good orders for them. `rows` are by block, as on paper if not
    given.
    """

    def __init__(self, circuit: Circuit, rows: tuple[int, ...] | None = None) -> None:
        self.circuit = circuit
        self.scheme = make_scheme(circuit, TextHand())
        self.grid: Grid = make_grid(self.scheme, rows or assign_rows(self.scheme, circuit.by_id))
        hints = columns_of(circuit, self.scheme)
        found = candidates(self.scheme, self.grid, hints, Random(circuit.name))
        good = [order for n, order in found if n == found[0][0]]
        left = [order for order in good if _starts_row(order, ("block", 0))]  # the supply, mostly
        self.orders = (left or good)[:ORDERS]

    @property
    def bundle(self) -> int:
        """Columns that the conductors at one terminal take, however the drawing is folded."""
        return 2 * max(map(len, self.scheme.uses.values()), default=0)

    def placers(self, wording: _Wording, orders: Sequence[Order]) -> list[tuple[Placer, Programme]]:
        """A placer for each order, with its programme; none where conductors cannot fit."""
        for more in WIDER:
            scheme, labels = self._scheme(wording, more)
            found = []
            for order in orders:
                placer = Placer(scheme, self.grid, order, labels, CHARACTERS)
                programme = placer.programme()
                if programme.least() is not None:
                    found.append((placer, programme))
            if found:
                return found
        return []

    def folded(self, placer: Placer, row: int) -> Plan:
        """A plan in which the right half of a row, by width, stands in a row of its own."""
        members = [i for kind, i in placer.order.rows[row] if kind == "block"]
        wide = [placer.symbol(i).left + placer.symbol(i).right for i in members]
        sums = [sum(wide[: n + 1]) for n in range(len(members))]
        moved = {i for i, total in zip(members, sums, strict=True) if total > sums[-1] / 2}
        moved -= set(members[:1])
        rows = tuple(r + 1 if r > row or i in moved else r for i, r in enumerate(self.grid.rows))
        return Plan(self.circuit, rows)

    def _scheme(self, wording: _Wording, more: int) -> tuple[Scheme, TextLabels]:
        """Scheme and labels with every box as wide as its labels want."""
        labels = TextLabels(self.scheme, self.grid.rows, wording.channels, wording.moved)
        pitches = {key: pitch + more for key, pitch in _pitches(self.scheme, labels).items()}
        scheme = make_scheme(self.circuit, TextHand(pitches, wording.blocks))
        return scheme, TextLabels(scheme, self.grid.rows, wording.channels, wording.moved)


def _starts_row(order: Order, member: Member) -> bool:
    """Whether no block stands left of this one."""
    row = next((row for row in order.rows if member in row), [member])
    return all(kind != "block" for kind, _ in row[: row.index(member)])


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


def set_out(plan: Plan, columns: int) -> Sheet:
    """The drawing in at most `columns` characters a line.

    Raises InputError when it cannot be so narrow.
    """
    for _ in range(FOLDS):
        found = _narrowed(plan, columns)
        if isinstance(found, Sheet):
            return found
        placer, crowded = found
        row = min(crowded, default=0)
        if plan.bundle > columns or not crowded or len(placer.order.rows[row]) < 2:
            break
        plan = plan.folded(placer, row)
    raise InputError(
        f"{plan.circuit.name}: the diagram does not fit {columns} columns; ask for more"
    )


def _narrowed(plan: Plan, columns: int) -> Sheet | tuple[Placer, frozenset[int]]:
    """The drawing of a plan with its labels shortened until it is narrow enough.

    If it is still too wide: what was tried last, and the rows that make it wide.
    """
    wording = _Wording()
    orders = plan.orders
    while True:
        tried = plan.placers(wording, orders)
        if any(_width(programme) <= columns for _, programme in tried):
            every = plan.placers(wording, plan.orders)
            return _best([p for p, programme in every if _width(programme) <= columns], columns)
        if not tried:
            raise InputError(f"{plan.circuit.name}: the diagram cannot be drawn in characters")
        placer, programme = min(tried, key=lambda t: _width(t[1]))
        orders = [placer.order]  # the others would hardly be narrower
        shorter = _shortened(wording, placer, programme)
        if shorter is None:
            return placer, frozenset(plan.grid.rows[i] for i in _critical(programme))
        wording = shorter


def _width(programme: Programme) -> int:
    at = programme.least()
    assert at is not None
    return at["end"] - at["edge"]


def _best(fitting: list[Placer], columns: int) -> Sheet:
    """The drawing with the straightest conductors, parts in order."""

    def cost(placer: Placer) -> int:
        found = placer.cost(columns)
        assert found is not None
        return found + ODD * oddness(placer.scheme, placer.order)

    placer = min(fitting, key=cost)
    assert isinstance(placer.labels, TextLabels)
    return TextComposer(placer, placer.solve(columns), placer.labels).sheet()


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
    moved = {n for n in links if labels.movable(n)}
    if moved:
        choices.append((4, 0, replace(wording, moved=wording.moved | moved)))
    return min(choices, key=lambda c: c[:2])[2] if choices else None


def _critical(programme: Programme) -> frozenset[int]:
    """Blocks on the longest chain of distances from edge to edge."""
    at = programme.least()
    assert at is not None
    before: dict[Hashable, list[Hashable]] = {}
    for (a, b), steps in programme.apart.items():
        if at[a] + steps == at[b]:
            before.setdefault(b, []).append(a)
    chain: dict[Hashable, None] = {"end": None}
    while (here := next(reversed(chain))) != "edge":
        after = next((a for a in before.get(here, ()) if a not in chain), None)
        if after is None:
            break
        chain[after] = None
    return frozenset(v[1] for v in chain if isinstance(v, tuple) and v[0] in ("block", "slot"))
