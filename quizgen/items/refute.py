"""The proof table: for every claim of the circuit, what rules it out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quizgen.items.evidence import Evidence
from quizgen.items.item import Refutation
from quizgen.items.sentences import volts_words


@dataclass(frozen=True)
class Refuter:
    """Finds refutations by the chosen readings (`points`) and `observations` of an item."""

    evidence: Evidence
    points: list[int]
    observations: list[int]

    def refute(self, claim: int) -> Refutation | None:
        """What rules `claim` out (−1: that nothing is wrong); None if nothing does."""
        mine = np.flatnonzero(self.evidence.cells[0] == claim)
        name = "" if claim < 0 else self.evidence.dictionary.claims[claim].key
        gap = self.evidence.gap[np.ix_(np.array(self.points, dtype=np.intp), mine)]
        worst = gap.min(axis=1) if len(self.points) else np.zeros(0)
        if len(worst) and worst.max() > 0:
            return self._by_reading(name, int(worst.argmax()), mine)
        unseen = self.evidence.unseen[np.ix_(np.array(self.observations, dtype=np.intp), mine)]
        for i, observation in enumerate(self.observations):
            if unseen[i].all():
                return self._by_observation(name, observation, mine)
        if ((gap > 0).any(axis=0) | unseen.any(axis=0)).all():
            return Refutation(claim=name, reading=-2, low=0.0, high=0.0, found="")
        return None

    def _by_reading(
        self, name: str, reading: int, cells: np.ndarray[tuple[int], np.dtype[np.intp]]
    ) -> Refutation:
        point = self.points[reading]
        low, high = self.evidence.bounds
        shown = self.evidence.shown[point]
        return Refutation(
            claim=name,
            reading=reading,
            low=round(float(low[point, cells].min()), 4) + 0.0,
            high=round(float(high[point, cells].max()), 4) + 0.0,
            found=volts_words(float(shown)),
        )

    def _by_observation(
        self, name: str, observation: int, cells: np.ndarray[tuple[int], np.dtype[np.intp]]
    ) -> Refutation:
        d = self.evidence.dictionary
        row = int(self.evidence.cells[1][cells[0]])
        loads = d.seen[self.evidence.row]
        if observation < len(loads):
            found, instead = loads[observation], d.seen[row][observation]
            part, levels = found.load, (found.level, instead.level)
        else:
            clicker = observation - len(loads)
            part = d.clickers[clicker]
            heard = d.heard[clicker]
            levels = str(heard[self.evidence.row]), str(heard[row])
        return Refutation(
            claim=name, reading=-1, low=0.0, high=0.0, part=part,
            found=levels[0], instead=levels[1],
        )  # fmt: skip
