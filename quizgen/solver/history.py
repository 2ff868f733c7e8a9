"""What happened while cases settled, and how they stand afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from quizgen.solver.laws import FloatArray
from quizgen.solver.network import IntArray


@dataclass(frozen=True)
class Event:
    """Something moved: `seconds` after the control move `after` ("" is connecting the battery)."""

    after: str
    seconds: float
    part: str
    change: str
    because: str


@dataclass
class History:
    """What happened to one case while it settled."""

    behaviour: str = "steady"
    events: list[Event] = field(default_factory=list)
    ambiguous: list[str] = field(default_factory=list)
    cycle: tuple[tuple[IntArray, float], ...] = ()  # states (slots,) and how long each lasts
    seconds: float = 0.0
    after: str = ""

    def note(self, part: str, change: str, because: str) -> None:
        """Add an event at the present moment."""
        self.events.append(Event(self.after, self.seconds, part, change, because))

    def go_on(self, after: str) -> History:
        """The history to write on after the next control move."""
        return History(events=list(self.events), ambiguous=list(self.ambiguous), after=after)


class Histories:
    """The histories of m cases; most stay empty, so one is made only when it is asked for.

    `after` names the control move that each case has just made.
    """

    def __init__(self, after: Sequence[str] = ()) -> None:
        self._after = after
        self._begun: dict[int, History] = {}

    def __getitem__(self, case: int) -> History:
        if case not in self._begun:
            self._begun[int(case)] = History(after=self._after[case] if self._after else "")
        return self._begun[int(case)]

    def __setitem__(self, case: int, history: History) -> None:
        self._begun[int(case)] = history

    def get(self, case: int) -> History | None:
        """The history of a case in which anything happened, else None."""
        return self._begun.get(int(case))

    def items(self) -> list[tuple[int, History]]:
        """(case, history) of the cases in which anything happened, in order of cases."""
        return sorted(self._begun.items(), key=lambda pair: pair[0])


@dataclass
class Settled:
    """m settled cases. Arrays are (rows, m): volts and island by node, the rest by branch."""

    state: IntArray
    siemens: FloatArray
    emf: FloatArray
    volts: FloatArray
    island: NDArray[np.int32]
    amps: FloatArray
    histories: Histories
