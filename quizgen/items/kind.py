"""A question kind: what it is called, what it asks of a student, and who makes its items."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from quizgen.items.item import Item, Response
from quizgen.items.material import Material, Request

Make = Callable[[Material, Request, random.Random], Item]
"""Makes a proved item. Raises UnprovableError where this material gives none."""


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind. `about` is a line for plans and reports; of `responses` the usual comes first."""

    name: str
    about: str
    level: str
    responses: tuple[Response, ...]
    make: Make
