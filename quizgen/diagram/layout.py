"""Layout: from a circuit to the finished geometry.

Steps: scheme (blocks and links) → rows → order → columns → channels → drawing. Wire labels
are set in one line where the page is wide enough; channels with many labels get them in two
lines first. If the figure still prints too small, all text is set larger and tried again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from random import Random

from quizgen.circuit.components import Wire
from quizgen.circuit.netlist import Circuit
from quizgen.diagram.assembly import PaperHand
from quizgen.diagram.columns import Placer
from quizgen.diagram.compose import MARGIN, Composer
from quizgen.diagram.drawing import LEAST_TEXT, PAGE, Drawing
from quizgen.diagram.hints import columns_of
from quizgen.diagram.labels import Labels, rigid_channels, widest_label
from quizgen.diagram.order import Grid, Order, make_grid
from quizgen.diagram.pen import Style, on_grid
from quizgen.diagram.programme import Balance
from quizgen.diagram.rows import assign_rows
from quizgen.diagram.scheme import Scheme, make_scheme
from quizgen.diagram.sifting import candidates

SIZES = (2.6, 2.9, 3.2)  # text, mm
OUT_OF_ORDER = 1  # what E2 left of E1 costs a reader
SUPPLY_INSIDE = 24  # what it costs when the first part is not the leftmost of its row
BEND, ACROSS = 4, 12  # what a corner and a crossing cost
DRAWN = 4  # drawings of each kind that are compared
ODD = 5000  # what a pair out of order costs; a conductor stepped by 1 mm costs 1920
SLACK = 1.5  # between the outermost places and the outermost ink, mm
ALIKE = 0.99  # share of a text size that nobody sees
WORSE = 20  # more cost than this for being legible: larger letters may do better
LOOSER = (1.0, 1.5, 2.5, 4.0)  # factors on the pitch of ports, until conductors fit between


_Costed = tuple[int, Drawing]  # what a drawing costs a reader, and the drawing


def lay_out(circuit: Circuit) -> Drawing:
    """The first drawing of `circuit` that prints with text of 7 pt or more, else the best.

    Raises InputError for a circuit without a battery or source, and for a drawing hint that
    means nothing.
    """
    return laid_out(circuit, repr(circuit.layout))  # circuits are equal whatever their hints


@lru_cache(maxsize=64)
def laid_out(circuit: Circuit, hints: str) -> Drawing:
    plans: list[_Plan] = []
    tried: list[_Costed] = []
    legible: list[_Costed] = []
    for size in SIZES:
        plans.append(_plan(circuit, size, plans[-1] if plans else None))
        found = list(_drawings(plans[-1], fitting=True))
        good = [f for f in found if f[1].least_text >= LEAST_TEXT - 1e-9]
        legible += good
        if good and _least(good)[0] <= _least(found)[0] + WORSE:
            return _least(good)[1]
        tried += found
    if legible:
        return _least(legible)[1]
    for plan in plans if not tried else ():  # too wide whatever is done
        tried += _drawings(plan, fitting=False)
    largest = max(drawing.least_text for _, drawing in tried)
    return _least([f for f in tried if f[1].least_text >= ALIKE * largest])[1]


def _least(found: list[_Costed]) -> _Costed:
    """The one that costs a reader least, the first of equals."""
    return min(found, key=lambda f: f[0])


@dataclass(frozen=True)
class _Plan:
    """All that does not depend on how labels are set."""

    scheme: Scheme
    grid: Grid
    orders: tuple[Order, ...]  # the best first
    balances: tuple[Balance, ...]  # for each order
    style: Style

    @property
    def widest(self) -> float:
        """How wide a drawing may be to print with letters of the least size, mm."""
        return PAGE[0] * self.style.size / LEAST_TEXT - 2 * MARGIN + SLACK


def _plan(circuit: Circuit, size: float, before: _Plan | None) -> _Plan:
    """The plan for a text size. Rows and orders are the same for all sizes."""
    pitch = max((widest_label(w, size) for w in circuit.parts if isinstance(w, Wire)), default=9.0)
    style = Style(size=size, pitch=2 * on_grid(max(pitch, 9.0) / 2))
    scheme = make_scheme(circuit, PaperHand(style))
    if before is None:
        grid = make_grid(scheme, assign_rows(scheme, circuit.by_id))
        hints = columns_of(circuit, scheme)
        found = candidates(scheme, grid, hints, Random(circuit.name))
        orders = tuple(order for n, order in found if n == found[0][0])
        balances = tuple(Balance() for _ in orders)
    else:
        grid, orders, balances = before.grid, before.orders, before.balances
    for factor in LOOSER:
        loose = replace(style, pitch=style.pitch * factor)
        plan = _Plan(make_scheme(circuit, PaperHand(loose)), grid, orders, balances, loose)
        if _fits(plan):
            break
    return plan


def _fits(plan: _Plan) -> bool:
    """Whether conductors fit between the ports of every symbol."""
    every = frozenset(range(len(plan.grid.channels)))
    labels = Labels(plan.scheme, plan.grid.rows, plan.style, every)
    return all(
        Placer(plan.scheme, plan.grid, order, labels).programme().least() is not None
        for order in plan.orders
    )


def _stackings(plan: _Plan) -> Iterator[frozenset[int]]:
    """Sets of channels whose labels take two lines, growing from what must to all."""
    labels = Labels(plan.scheme, plan.grid.rows, plan.style, frozenset())
    must = rigid_channels(labels)
    rest = sorted(set(labels.channels) - must, key=lambda c: (-labels.channels.count(c), c))
    for count in sorted({0, 2, len(rest) // 2, len(rest)}):
        yield must | frozenset(rest[:count])


def oddness(scheme: Scheme, order: Order) -> int:
    """What it costs that parts do not stand as a reader expects: by number, supply left."""
    cost = 0
    for row in order.rows:
        found = [i for kind, i in row if kind == "block" and scheme.blocks[i].part]
        for n, i in enumerate(found):
            letter = scheme.blocks[i].key[0]
            later = [j for j in found[n + 1 :] if j < i and scheme.blocks[j].key[0] == letter]
            cost += OUT_OF_ORDER * len(later)
        if 0 in found[1:]:
            cost += SUPPLY_INSIDE
    return cost


def _drawings(plan: _Plan, fitting: bool) -> Iterator[tuple[int, Drawing]]:
    """Drawings with what they cost a reader, if `fitting` only those narrow enough for a page.

    Every order is tried with every way to set the labels; drawn is what promises the
    straightest conductors, and what promises the least height.
    """
    widest = plan.widest if fitting else None
    found: list[tuple[int, int, Placer]] = []
    for stacked in _stackings(plan):
        labels = Labels(plan.scheme, plan.grid.rows, plan.style, stacked)
        for order, balance in zip(plan.orders, plan.balances, strict=True):
            placer = Placer(plan.scheme, plan.grid, order, labels, balance=balance)
            cost = placer.cost(widest)
            if cost is not None:
                odd = oddness(plan.scheme, order)
                found.append((cost + ODD * odd, len(found), placer))
    straight = sorted(found)[:DRAWN]
    low = [f for f in found if f not in straight][:DRAWN]
    for _, _, placer in straight + low:
        drawing = Composer(placer, placer.solve(widest)).drawing()
        yield _trouble(drawing) + oddness(plan.scheme, placer.order), drawing


def _trouble(drawing: Drawing) -> int:
    """What the drawing as it came out costs a reader."""
    supply = next((p.x for p in drawing.placed if p.part), 0.0)
    inside = SUPPLY_INSIDE if supply > drawing.width / 2 else 0
    return ACROSS * drawing.crossings + BEND * drawing.bends + inside
