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
from quizgen.diagram.columns import Columns, Placer
from quizgen.diagram.compose import Composer
from quizgen.diagram.drawing import LEAST_TEXT, Drawing
from quizgen.diagram.labels import Labels, rigid_channels, widest_label
from quizgen.diagram.order import Grid, Order, candidates, make_grid
from quizgen.diagram.pen import Style, on_grid
from quizgen.diagram.rows import assign_rows
from quizgen.diagram.scheme import Scheme, make_scheme

SIZES = (2.6, 2.9, 3.2)  # text, mm
OUT_OF_ORDER = 5000  # what E2 left of E1 costs; a conductor stepped by 1 mm costs 1920
SUPPLY_INSIDE = 100_000  # what it costs when the first part is not the leftmost of its row
HOPELESS = 0.75  # larger text wins back a fifth at most
LOOSER = (1.0, 1.5, 2.5, 4.0)  # factors on the pitch of ports, until conductors fit between


@lru_cache(maxsize=64)
def lay_out(circuit: Circuit) -> Drawing:
    """The first drawing of `circuit` that prints with text of 7 pt or more, else the best.

    Raises InputError for a circuit without a battery or source.
    """
    best: Drawing | None = None
    plan: _Plan | None = None
    for size in SIZES:
        plan = _plan(circuit, size, plan)
        for stacked in _stackings(plan):
            drawing = _draw(plan, stacked)
            if drawing.least_text >= LEAST_TEXT - 1e-9:
                return drawing
            if best is None or drawing.least_text > best.least_text:
                best = drawing
        if best is not None and best.least_text < HOPELESS * LEAST_TEXT:
            break
    assert best is not None  # there is at least one size and one way to set the labels
    return best


@dataclass(frozen=True)
class _Plan:
    """All that does not depend on how labels are set."""

    scheme: Scheme
    grid: Grid
    orders: tuple[tuple[int, Order], ...]
    style: Style


def _plan(circuit: Circuit, size: float, before: _Plan | None) -> _Plan:
    """The plan for a text size. Rows and orders are the same for all sizes."""
    pitch = max((widest_label(w, size) for w in circuit.parts if isinstance(w, Wire)), default=9.0)
    style = Style(size=size, pitch=2 * on_grid(max(pitch, 9.0) / 2))
    scheme = make_scheme(circuit, style)
    if before is None:
        grid = make_grid(scheme, assign_rows(scheme, circuit.by_id))
        found = candidates(scheme, grid, Random(circuit.name))
        orders = tuple(f for f in found if f[0] == found[0][0])
    else:
        grid, orders = before.grid, before.orders
    for factor in LOOSER:
        loose = replace(style, pitch=style.pitch * factor)
        plan = _Plan(make_scheme(circuit, loose), grid, orders, loose)
        if _fits(plan):
            break
    return plan


def _fits(plan: _Plan) -> bool:
    """Whether conductors fit between the ports of every symbol."""
    every = frozenset(range(len(plan.grid.channels)))
    labels = Labels(plan.scheme, plan.grid.rows, plan.style, every)
    return all(
        Placer(plan.scheme, plan.grid, order, labels).programme().feasible()
        for _, order in plan.orders
    )


def _stackings(plan: _Plan) -> Iterator[frozenset[int]]:
    """Sets of channels whose labels take two lines, growing from what must to all."""
    labels = Labels(plan.scheme, plan.grid.rows, plan.style, frozenset())
    must = rigid_channels(labels)
    rest = sorted(set(labels.channels) - must, key=lambda c: (-labels.channels.count(c), c))
    for count in sorted({0, 1, 2, len(rest) // 2, len(rest)}):
        yield must | frozenset(rest[:count])


def _oddness(scheme: Scheme, order: Order) -> int:
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


def _draw(plan: _Plan, stacked: frozenset[int]) -> Drawing:
    labels = Labels(plan.scheme, plan.grid.rows, plan.style, stacked)
    best: tuple[int, Placer, Columns] | None = None
    for _, order in plan.orders:
        placer = Placer(plan.scheme, plan.grid, order, labels)
        columns = placer.solve()
        cost = columns.cost + _oddness(plan.scheme, order)
        if best is None or cost < best[0]:
            best = (cost, placer, columns)
    assert best is not None  # there is at least one order
    return replace(Composer(best[1], best[2]).drawing(), crossings=plan.orders[0][0])
