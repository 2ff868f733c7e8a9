"""Verifies items: makes the circuit again from an item's origin and calls its kind's check.

Shared with the writer of items are only the solver, the circuits, the faults and the record.
"""

from __future__ import annotations

from functools import lru_cache

from quizgen.base.errors import QuizgenError
from quizgen.circuit.template import find_template
from quizgen.items.item import Item
from quizgen.items.verify.bench import Benches
from quizgen.items.verify.kinds import CHECKS
from quizgen.items.verify.shape import check_shape


def verify_item(item: Item) -> tuple[str, ...]:
    """What is wrong with an item, a line each; empty if it is right.

    Raises nothing for an item that is wrong, even if its circuit cannot be built.
    """
    return Verifier().verify(item)


class Verifier:
    """Verifies items; those about one circuit share its solved faults.

    The last `remembered` circuits are kept.
    """

    def __init__(self, remembered: int = 1) -> None:
        self._benches = lru_cache(maxsize=remembered)(_build)

    def verify(self, item: Item) -> tuple[str, ...]:
        """As `verify_item`."""
        check = CHECKS.get(item.kind)
        if check is None:
            return (f"nobody can verify questions of the kind {item.kind!r}",)
        shapeless = tuple(check_shape(item))
        if shapeless:
            return shapeless
        try:
            origin = item.origin
            benches = self._benches(origin.template, origin.parameters)
            return tuple(check(item, benches))
        except QuizgenError as error:
            return (f"its circuit cannot be made again: {error}",)


def _build(template: str, parameters: tuple[tuple[str, object], ...]) -> Benches:
    return Benches(find_template(template).build(dict(parameters)))
