"""A question kind: what it is called, what it asks of a student, and who makes its items."""

from __future__ import annotations

import random
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TypedDict

from quizgen.base.errors import UnprovableError
from quizgen.items.item import Item, Response
from quizgen.items.lint import lint_item
from quizgen.items.lint.item_rules import key_is_longest
from quizgen.items.material import Material, Request
from quizgen.items.subjects import subjects

TRIES = 4

Make = Callable[[Material, Request, random.Random], Item]
"""Makes a proved item. Raises UnprovableError where this material gives none."""


class Label(TypedDict):
    """The fields of an `Item` that its kind and its material decide."""

    id: str
    kind: str
    level: str
    topics: tuple[str, ...]
    family: str
    machine: str


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind. `about` is a line for plans and reports; of `responses` the usual comes first.

    Of its items whose key is the longest option the share `retried` is made again: in some kinds
    the key is long by nature, and length must not give it away.
    """

    name: str
    about: str
    level: str
    responses: tuple[Response, ...]
    make: Make
    retried: float = 0.0

    def label(self, material: Material, rng: random.Random) -> Label:
        """What every item of the kind says of itself, with a name of its own."""
        return Label(
            id=f"{rng.getrandbits(40):010x}",
            kind=self.name,
            level=self.level,
            topics=material.circuit.topics,
            family=material.template,
            machine=material.machine,
        )

    def ways(self, request: Request, rng: random.Random) -> tuple[Response, ...]:
        """The ways to answer to be tried: the one asked for, or all in a random order."""
        if request.response is not None:
            return (request.response,)
        return tuple(rng.sample(self.responses, len(self.responses)))

    def item(self, material: Material, request: Request, rng: random.Random) -> Item:
        """An item that breaks no rule of item writing, with the topics that it is about.

        Raises UnprovableError when `TRIES` proved ones all do, or none can be proved.
        """
        for _ in range(TRIES):
            item = self._even(material, request, rng)
            broken = [remark for remark in lint_item(item) if remark.severity == "error"]
            if not broken:
                about = subjects(item, material.circuit, material.sound)
                return replace(item, subjects=about)
        raise UnprovableError(f"{material.template}, {self.name}: {broken[0]}")

    def _even(self, material: Material, request: Request, rng: random.Random) -> Item:
        """A proved item; one with a telling length is made again as often as `retried` says."""
        item = self.make(material, request, rng)
        if self.retried and key_is_longest(item) and rng.random() < self.retried:
            with suppress(UnprovableError):
                return self.make(material, request, rng)
        return item
