"""Hunting an unwanted contact: what might be wrong, what each reading shows, which to take.

The same for a fuse that blows (`fuse_holder`) and for a load that works unbidden (`unbidden`):
of all single faults that explain the complaint some are left by each reading, and the readings
are chosen so that those left all touch one section of the wiring.
"""

from __future__ import annotations

import random
from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import ClassVar, Generic, TypeVar

from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, WeightedFault, universe
from quizgen.instruments import Measurement, Shown
from quizgen.items.calm import surely_apart
from quizgen.items.material import Material
from quizgen.items.sections import Section, section_words, touches

MOST_ENDS = 4  # of a section that is an option
MOST_ROWS = 5
LONGEST_RATIO = 1.5  # of option lengths, our threshold
BY_THE_COMPLAINT = -1  # instead of the number of a reading


@dataclass(frozen=True)
class Hunt:
    """What explains a complaint, and what it would show in each of several acts."""

    circuit: Circuit
    faults: tuple[Fault, ...]  # single faults that explain the complaint in the item's own state
    acts: tuple[Measurement, ...]  # the item's own state first
    shown: tuple[tuple[Shown, ...], ...]  # act, fault
    sections: tuple[Section, ...]
    unsure: frozenset[Fault]  # of the faults, those that may not explain it after all
    complaint_comes_first: ClassVar[bool] = False  # the first reading is the complaint, measured

    @cached_property
    def places(self) -> tuple[tuple[Section, ...], ...]:
        """By fault: the sections that it touches; none for one inside a part."""
        return tuple(
            tuple(s for s in self.sections if touches(self.circuit, fault, s))
            for fault in self.faults
        )

    def inside(self, section: Section) -> list[int]:
        """Numbers of the faults that touch a section."""
        return [f for f, places in enumerate(self.places) if section in places]

    def refutes(self, act: int, hidden: int, fault: int) -> bool:
        """With that fault nobody could see in this act what is seen with the hidden one."""
        return surely_apart(self.shown[act][fault], self.shown[act][hidden])

    def left(self, acts: Sequence[int], hidden: int) -> set[int]:
        """Faults that agree with what the acts show."""
        faults = range(len(self.faults))
        return {f for f in faults if not any(self.refutes(a, hidden, f) for a in acts)}

    @abstractmethod
    def plain(self, shown: Shown) -> bool:
        """Everybody would see the same, and it means one thing."""

    @abstractmethod
    def spares(self, section: Section) -> bool:
        """A contact anywhere in the section surely does not lead to the complaint."""


H = TypeVar("H", bound=Hunt)


@lru_cache(maxsize=4)
def cases_of(material: Material) -> tuple[WeightedFault, ...]:
    """The fault universe of a material, which several hunts ask for."""
    return universe(material.circuit)


@dataclass(frozen=True)
class Draft(Generic[H]):
    """The decisions behind an item, before any sentence is written."""

    hunt: H
    hidden: int
    key: Section
    acts: tuple[int, ...]
    wrong: tuple[tuple[Section, int], ...]  # section, number of the reading that rules it out

    @property
    def fault(self) -> Fault:
        """The hidden one."""
        return self.hunt.faults[self.hidden]


def key_section(hunt: Hunt, hidden: int) -> Section | None:
    """Where a fault is, if that is one place and others are suspected; known without a reading."""
    place = hunt.places[hidden]
    if len(place) != 1 or len(place[0].ends) > MOST_ENDS:
        return None
    if all(section == place[0] for places in hunt.places for section in places):
        return None  # the complaint alone would tell
    return place[0]


def draft_of(hunt: H, hidden: int, options: int, rng: random.Random) -> Draft[H] | None:
    """Readings that leave no suspect outside one section; None if there are none."""
    key = key_section(hunt, hidden)
    if key is None:
        return None
    usable = [a for a, row in enumerate(hunt.shown) if hunt.plain(row[hidden])]
    acts = _choose_acts(hunt, hidden, key, usable) if 0 in usable else None
    if acts is None:
        return None
    wrong = _wrong(hunt, hidden, key, acts, options - 1, rng)
    if len(wrong) < options - 1 or all(n == BY_THE_COMPLAINT for _, n in wrong):
        return None
    return Draft(hunt, hidden, key, acts, tuple(wrong))


def _choose_acts(
    hunt: Hunt, hidden: int, key: Section, usable: Sequence[int]
) -> tuple[int, ...] | None:
    """Few, the item's own state first, that rule out every suspect outside the key's section."""
    outside = set(range(len(hunt.faults))) - set(hunt.inside(key))
    chosen, left = [0], outside & hunt.left([0], hidden)
    while left:
        gains = {a: sum(hunt.refutes(a, hidden, f) for f in left) for a in usable}
        best = max(usable, key=lambda a: gains[a])
        if gains[best] == 0 or len(chosen) == MOST_ROWS:
            return None
        chosen.append(best)
        left &= hunt.left([best], hidden)
    for act in chosen[1:]:
        rest = [a for a in chosen if a != act]
        if not outside & hunt.left(rest, hidden):
            chosen = rest
    return tuple(chosen) if len(chosen) > 1 else None


def _wrong(
    hunt: Hunt, hidden: int, key: Section, acts: Sequence[int], count: int, rng: random.Random
) -> list[tuple[Section, int]]:
    """Sections whose every suspect one and the same reading rules out.

    Where these are few, sections nearby in which a contact would not lead to the complaint.
    """
    left = hunt.left(acts, hidden)
    found: list[tuple[Section, int]] = []
    pool = [s for s in hunt.sections if s != key and len(s.ends) <= MOST_ENDS]
    rng.shuffle(pool)
    lengths = [len(section_words(hunt.circuit, key))]
    near = _near(hunt)
    for section in sorted(pool, key=lambda s: _distance(hunt, s, near)):
        length = len(section_words(hunt.circuit, section))
        if len(found) == count:
            break
        if max([*lengths, length]) > LONGEST_RATIO * min([*lengths, length]):
            continue
        mine = hunt.inside(section)
        by = [n for n, a in enumerate(acts) if all(hunt.refutes(a, hidden, f) for f in mine)]
        by = by[by[:1] == [0] and hunt.complaint_comes_first :]
        if not mine:
            by = [BY_THE_COMPLAINT] if hunt.spares(section) else []
        doubt = any(hunt.faults[f] in hunt.unsure for f in mine)
        if by and not doubt and not left.intersection(mine):
            used = [n for _, n in found]
            found.append((section, min(by, key=lambda n: (used.count(n), n))))
            lengths.append(length)
    return found


def _near(hunt: Hunt) -> set[str]:
    """Parts at which the sections with suspects end."""
    ends = {n for places in hunt.places for s in places for n in s.ends}
    return {part for n in ends for part, _ in hunt.circuit.terminals_at[n]}


def _distance(hunt: Hunt, section: Section, near: set[str]) -> int:
    """0: it has suspects; 1: it ends at a part where one of these does; 2: elsewhere."""
    if hunt.inside(section):
        return 0
    mine = {part for n in section.ends for part, _ in hunt.circuit.terminals_at[n]}
    return 1 if near & mine - {hunt.circuit.reference} else 2
