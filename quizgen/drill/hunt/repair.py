"""Mending what was named, and operating the machine to see whether the complaint is gone."""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.states import telling_states
from quizgen.drill.hunt import standing as st
from quizgen.drill.hunt.engine import Hunt
from quizgen.drill.hunt.naming import Named
from quizgen.drill.hunt.standing import Standing
from quizgen.solver import solve_cases
from quizgen.solver.observation import against, observe, visible
from quizgen.solver.operating_point import Moves

MOST_STATES = 6  # in which the machine is tried, beside the driver's


@dataclass(frozen=True)
class Amiss:
    """A load that does not do what it should."""

    moves: Moves
    load: str
    level: str
    should: str


@dataclass(frozen=True)
class Trying:
    """The machine after the repair. `beside`: the trouble was in the very next place."""

    named: Named
    beside: bool
    amiss: tuple[Amiss, ...]  # the driver's state first
    blown: tuple[str, ...]  # fuses that went while it was tried

    @property
    def is_gone(self) -> bool:
        """Everything works again."""
        return not self.amiss and not self.blown


def try_repair(hunt: Hunt, named: Named, alike: bool) -> Trying:
    """Repair the named place, put everything together, operate it.

    `alike`: no test tells the named place from the faulty one, so that whoever finds the one sound
    looks at the other next. Raises CircuitError if the circuit cannot be solved.
    """
    mends = named.mends(hunt.case.fault)
    sound = hunt.case.circuit
    mended = sound if mends or alike else _with_new_part(hunt, named)
    states = (hunt.case.moves, *telling_states(sound, MOST_STATES))
    amiss: list[Amiss] = []
    blown: list[str] = []
    for moves in dict.fromkeys(states):
        new, gone = _tried(sound, mended, moves)
        amiss += new
        blown += gone
        if gone:  # a blown fuse stays blown in the next state
            mended = st.as_it_stands(sound, mended, Standing(opened=gone))
    return Trying(named, alike and not mends, tuple(amiss), tuple(dict.fromkeys(blown)))


def _with_new_part(hunt: Hunt, named: Named) -> Circuit:
    """The circuit with its fault, a sound part in the named place, fuses as they are now."""
    still = tuple(name for name in hunt.standing.opened if name != named.part)
    standing = Standing(opened=still, renewed=hunt.standing.renewed)
    now = st.as_it_stands(hunt.case.circuit, hunt.faulty, standing)
    if named.part == hunt.case.fault.part:  # another cavity of the faulty connector
        return now
    return now.with_parts(changed=[hunt.case.circuit.part(named.part)])


def _tried(sound: Circuit, mended: Circuit, moves: Moves) -> tuple[list[Amiss], tuple[str, ...]]:
    both = solve_cases([sound, mended], [(0, moves), (1, moves)])
    should = {o.load: o for o in observe(both.point(0))}
    point = both.point(1)
    found = []
    for seen in visible(sound, observe(point)):
        level = against(should[seen.load], seen).level
        if level != should[seen.load].level:
            found.append(Amiss(moves, seen.load, level, should[seen.load].level))
    return found, st.blown(point, Standing())
