"""Invented people, always the same for the same seed."""

from __future__ import annotations

import random
from collections.abc import Sequence

from quizgen.base.errors import InputError
from quizgen.scenario.records import Person

MOST = 2000
NAMES = ["faker.providers.person"]  # addresses, banks and the like take 0.2 s to load


def invent_people(role: str, count: int, seed: int, locales: Sequence[str]) -> tuple[Person, ...]:
    """`count` people with different names, drawn from the name lists of `locales`.

    The same arguments give the same people with the same release of the name lists. Raises
    InputError for a locale that the lists do not have, or more than `MOST` people.
    """
    if not 0 <= count <= MOST:
        raise InputError(f"{count} people asked for; 0 to {MOST} can be invented")
    from faker import Faker  # noqa: PLC0415  slow to load, and only a few commands need it

    rng = random.Random(f"{seed} {role}")
    try:
        lists = [Faker(locale, providers=NAMES) for locale in locales]
    except AttributeError:
        raise InputError(f"no list of names for one of: {' '.join(locales)}") from None
    for names in lists:
        names.seed_instance(rng.getrandbits(64))
    found: dict[str, None] = {}
    while len(found) < count:
        names = rng.choice(lists)
        found[f"{names.first_name()} {names.last_name()}"] = None
    return tuple(
        Person(f"{role[0].upper()}-{n:03d}", name, role) for n, name in enumerate(found, 1)
    )
