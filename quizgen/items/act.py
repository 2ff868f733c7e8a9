"""An act: what a technician does to learn something, as text that an item can carry.

    voltmeter red=K1.87 black=chassis S1=on
    ohmmeter red=M1/1 black=M1/2 unplugged=GB1,M1
    look S1=on S2=2

The first word is an instrument of `quizgen.instruments` or `look`: watch the loads and listen
for the relays. Points are as `Circuit.point` reads them (see `instruments.Measurement`), what
else stands there moves a control, in that order. Nothing here has blanks within it but
positions, which are written with underscores.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.base.errors import InputError
from quizgen.items.item import Moves

LOOK = "look"
_LISTS = ("apart", "removed", "unplugged")


@dataclass(frozen=True, kw_only=True)
class Act:
    """An instrument, its leads, the state of the machine, what is taken apart beforehand."""

    instrument: str
    red: str = ""
    black: str = ""
    moves: Moves = ()
    apart: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    unplugged: tuple[str, ...] = ()

    def __str__(self) -> str:
        words = [self.instrument]
        words += [f"{k}={getattr(self, k)}" for k in ("red", "black") if getattr(self, k)]
        words += [f"{name}={position.replace(' ', '_')}" for name, position in self.moves]
        words += [f"{k}={','.join(getattr(self, k))}" for k in _LISTS if getattr(self, k)]
        return " ".join(words)


def parse_act(text: str) -> Act:
    """The act that `text` describes. Raises InputError for a word that is no pair.

    >>> str(parse_act("voltmeter red=K1.87 black=chassis S1=on apart=X1"))
    'voltmeter red=K1.87 black=chassis S1=on apart=X1'
    """
    instrument, *words = text.split() or [""]
    found: dict[str, str] = {}
    for word in words:
        name, equals, value = word.partition("=")
        if not (name and equals and value):
            raise InputError(f"{text!r}: {word!r} is no pair such as red=K1.87 or S1=on")
        found[name] = value
    lists = {k: tuple(found.pop(k).split(",")) for k in _LISTS if k in found}
    red, black = found.pop("red", ""), found.pop("black", "")
    moves = tuple((name, value.replace("_", " ")) for name, value in found.items())
    return Act(instrument=instrument, red=red, black=black, moves=moves, **lists)
