"""From the cells of a plan to slots: which circuit and which kind of question meets which cell.

An integer program (`scipy.optimize.milp`, HiGHS). Unknowns are how many questions of each kind
on each circuit family stand for each cell. Every cell gets exactly its count; among all ways
to do that the one is taken that spreads the families, the kinds, and pairs of both evenly.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from quizgen.base.errors import UnprovableError
from quizgen.base.seeds import Seed
from quizgen.base.suggest import LISTED
from quizgen.forms.plan import ANY, Cell, Plan, topics_of
from quizgen.forms.slots import Slot, Wanted, in_order
from quizgen.items.kinds import KINDS

Pair = tuple[str, str]  # family, kind

PAIR_COST, FAMILY_COST, KIND_COST = 4.0, 1.0, 1.0  # of the fullest of each sort
CHANCE = 0.05  # how much a drawn preference weighs, far less than any of these


@dataclass(frozen=True)
class Choice:
    """One unknown: questions of a kind on a family that stand for a cell.

    `cost` is a drawn preference between 0 and 1, the same whatever else may be chosen.
    """

    cell: int
    family: str
    kind: str
    topic: str
    cost: float


def allot(plan: Plan, seed: Seed, barren: Collection[Pair] = ()) -> tuple[Slot, ...]:
    """The slots that meet the plan's cells; `barren` are pairs found to give no questions.

    Raises UnprovableError that names a cell which cannot be met, and what would help.
    """
    choices = [c for c in _choices(plan, seed) if (c.family, c.kind) not in barren]
    for number, cell in enumerate(plan.cells):
        if not any(choice.cell == number for choice in choices):
            raise UnprovableError(_why_not(plan, cell, barren))
    counts = _solve(plan, choices)
    wanted = [
        Wanted(c.family, c.kind, c.topic, KINDS[c.kind].level)
        for c, count in zip(choices, counts, strict=True)
        for _ in range(count)
    ]
    return in_order(wanted, seed)


def _choices(plan: Plan, seed: Seed) -> list[Choice]:
    """All there are. Who leaves some out meets the others again as they were, so that a plan
    allotted anew for want of a pair keeps nearly all of its slots."""
    rng = seed.under("blueprint").rng()
    return [
        Choice(number, family, kind, topic, rng.random())
        for number, cell in enumerate(plan.cells)
        for family in plan.circuits
        for kind in plan.kinds
        if cell.level in (ANY, KINDS[kind].level)
        for topic in _topics(cell, family)
    ]


def _topics(cell: Cell, family: str) -> tuple[str, ...]:
    """What a question on the family may stand for in the cell; a free cell takes the first."""
    if cell.topic == ANY:
        return topics_of(family)[:1] or (ANY,)
    return (cell.topic,) if cell.topic in topics_of(family) else ()


def _solve(plan: Plan, choices: Sequence[Choice]) -> list[int]:
    """How many of each choice: least of the fullest pair, family and kind."""
    groups: list[tuple[float, list[Hashable]]] = [
        (PAIR_COST, [(c.family, c.kind) for c in choices]),
        (FAMILY_COST, [c.family for c in choices]),
        (KIND_COST, [c.kind for c in choices]),
    ]
    n = len(choices)
    cost = np.array([CHANCE * c.cost for c in choices] + [weight for weight, _ in groups])
    exact = lil_array((len(plan.cells), n + len(groups)))
    for column, choice in enumerate(choices):
        exact[choice.cell, column] = 1.0
    counts = [float(cell.count) for cell in plan.cells]
    limits = [LinearConstraint(exact.tocsr(), counts, counts)]
    for g, (_, names) in enumerate(groups):
        rows = {name: i for i, name in enumerate(dict.fromkeys(names))}
        fullest = lil_array((len(rows), n + len(groups)))
        for column, name in enumerate(names):
            fullest[rows[name], column] = 1.0
        fullest[:, n + g] = -1.0
        limits.append(LinearConstraint(fullest.tocsr(), -np.inf, 0.0))
    found = milp(
        cost,
        integrality=np.ones(n + len(groups), dtype=int),
        bounds=Bounds(0.0, np.inf),
        constraints=limits,
    )
    if found.x is None:  # every cell has a choice, and nothing bounds a choice from above
        raise UnprovableError(f"{plan.name}: the blueprint cannot be met ({found.message})")
    return [round(x) for x in found.x[:n]]


def _why_not(plan: Plan, cell: Cell, barren: Collection[Pair]) -> str:
    """One line: which cell, why, and what would help."""
    what = f"{plan.name}: the cell {cell} cannot be met"
    fitting = [f for f in plan.circuits if cell.topic == ANY or cell.topic in topics_of(f)]
    if not fitting:
        return f"{what}: none of its circuits is about {cell.topic}; add one under circuits"
    able = [k for k in KINDS.values() if cell.level in (ANY, k.level)]
    allowed = [k for k in able if k.name in plan.kinds]
    if not allowed:
        names = ", ".join(k.name for k in able) or "none yet"
        return f"{what}: no kind of question allowed asks at that level; kinds that do: {names}"
    tried = ", ".join(sorted({f for f, k in barren if f in fitting})[:LISTED])
    return (
        f"{what}: {tried} gave no question of {', '.join(k.name for k in allowed)}; "
        "allow more circuits or kinds, a wider difficulty, or ask for fewer"
    )
