"""What a scenario is made of: frozen records, read from the files of one folder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import takewhile

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest

Value = str | int | float | bool


@dataclass(frozen=True)
class Person:
    """Somebody invented. `id` is unique within a role ("S-007")."""

    id: str
    name: str
    role: str


@dataclass(frozen=True)
class Carried:
    """A circuit family on one machine: what the driver calls it, which parameters are fixed."""

    family: str
    called: str
    settings: tuple[tuple[str, Value], ...]


@dataclass(frozen=True)
class Machine:
    """One machine of the fleet."""

    id: str
    name: str
    system_volts: int
    about: str
    carries: tuple[Carried, ...]
    places: tuple[tuple[str, str], ...] = ()  # the template's word for a place → the machine's

    @property
    def title(self) -> str:
        """As a heading: "Street sweeper, 24 V"."""
        return f"{self.name[:1].upper()}{self.name[1:]}, {self.system_volts} V"

    def carried(self, family: str) -> Carried:
        """The circuit `family` on this machine. Raises InputError when it has none."""
        for carried in self.carries:
            if carried.family == family:
                return carried
        hint = suggest(family, (c.family for c in self.carries))
        raise InputError(f"{self.id} carries no circuit {shown(family)}{hint}")

    def settings(self, family: str) -> dict[str, Value]:
        """Template parameters that this machine fixes, its nominal voltage included."""
        return {"system": self.system_volts, **dict(self.carried(family).settings)}

    def place(self, words: str) -> str:
        """Where something is on this machine; `words` themselves where it has no other name."""
        return dict(self.places).get(words, words)


@dataclass(frozen=True)
class Complaint:
    """Sentences for one observation: a part does something (instead of something else)."""

    family: str
    parts: tuple[str, ...]
    does: str
    instead_of: str  # "" where it does not matter
    says: tuple[str, ...]


@dataclass(frozen=True)
class Wording:
    """How drivers talk. `when` maps (family, control, position) to a phrase."""

    frames: tuple[str, ...]
    when: Mapping[tuple[str, str, str], str]
    complaints: tuple[Complaint, ...]

    def sentences(self, family: str, part: str, does: str, instead_of: str = "") -> tuple[str, ...]:
        """Sentences, still with placeholders, for what a part was seen to do.

        Those written for the very thing it should have done come first; then those that fit
        whatever it should have done; none when nobody has written any.
        """
        fitting = [
            c for c in self.complaints if c.family == family and part in c.parts and c.does == does
        ]
        special = [c for c in fitting if c.instead_of and c.instead_of == instead_of]
        general = [c for c in fitting if not c.instead_of]
        return tuple(words for c in special or general for words in c.says)

    def situation(self, family: str, positions: Mapping[str, str]) -> str:
        """The phrases for `positions`, joined: "with the left door open and the cab switch on"."""
        found = (self.when.get((family, name, at), "") for name, at in positions.items())
        phrases = [p.split() for p in dict.fromkeys(filter(None, found))]
        if not phrases:
            return ""
        # the words all have in common are said once; the last of them may be an article
        columns = zip(*phrases, strict=False)
        same = len(list(takewhile(lambda words: len(set(words)) == 1, columns)))
        keep = max(same - 1, 1) if same else 0
        first = " ".join(phrases[0])
        rest = [" ".join(p[keep:]) for p in phrases[1:]]
        return f"{', '.join([first, *rest[:-1]])} and {rest[-1]}" if rest else first
