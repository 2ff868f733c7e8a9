"""Is a circuit fit for teaching? Checks of its design, without and with faults.

A sound circuit must let every load work in some state of its controls, must open no
protector, must leave no doubt about what happens, and each position of a control must do
something of its own. Faults that change nothing in any state are named: they are no mistake
of the file, but no question can be asked about them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from quizgen.base.errors import CircuitError
from quizgen.circuit.components import Breaker, Fuse, FusibleLink
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import Template
from quizgen.diagnosis.fault_table import SAME_VOLTS, build_table
from quizgen.diagnosis.states import after_release, all_states, state_name, telling_states
from quizgen.solver import Solutions, solve_cases
from quizgen.solver.laws import FloatArray
from quizgen.solver.observation import Observation, observe
from quizgen.solver.operating_point import Moves

WORKING = frozenset(
    {
        "bright", "hot", "turns", "turns backwards", "sounds", "pulled", "low", "in the middle",
        "high", "flashes", "flashes fast", "comes and goes",
    }
)  # fmt: skip
PROTECTORS = (Fuse, FusibleLink, Breaker)
FIRST_STATES = 16  # faults that these do not show are looked at in more states
MORE_STATES = 128
MOST_REPEATS = 4  # times as many draws as settings wanted: then there are no more new ones


@dataclass(frozen=True)
class Finding:
    """One thing to look at. `words` name the part and what is wrong with it.

    `is_failure` False: worth knowing, nothing to repair.
    """

    words: str
    state: str = ""  # the first state in which it was seen
    is_failure: bool = True


@dataclass(frozen=True)
class Result:
    """The findings about one setting of a template."""

    setting: Mapping[str, object]
    findings: tuple[Finding, ...]


def check_template(template: Template, draws: int, rng: random.Random) -> Iterator[Result]:
    """Check the default setting and `draws` random ones, each as it is reached and none twice.

    Raises FileError when the template makes no circuit of a setting.
    """
    setting: Mapping[str, object] = template.defaults
    seen = {_key(setting)}
    yield check_setting(template, setting)
    for _ in range(MOST_REPEATS * draws):
        if len(seen) > draws:
            return
        setting = template.draw(rng)
        if _key(setting) not in seen:
            seen.add(_key(setting))
            yield check_setting(template, setting)


def _key(setting: Mapping[str, object]) -> frozenset[tuple[str, object]]:
    return frozenset(setting.items())


def check_setting(template: Template, setting: Mapping[str, object]) -> Result:
    """Check the circuit that a template makes of one setting."""
    return Result(setting, check_circuit(template.build(setting)))


def check_circuit(circuit: Circuit) -> tuple[Finding, ...]:
    """Every check on one circuit; a circuit that cannot be solved is a finding too."""
    try:
        pressed = all_states(circuit)
        states = pressed + after_release(circuit, pressed)
        solutions = solve_cases([circuit], [(0, moves) for moves in states])
        return (
            *_loads_that_never_work(circuit, solutions),
            *_unrest(circuit, solutions, states),
            *_positions_that_do_nothing(circuit, solutions, pressed),
            *_hidden_faults(circuit),
        )
    except CircuitError as error:
        return (Finding(str(error)),)


def _loads_that_never_work(circuit: Circuit, solutions: Solutions) -> Iterator[Finding]:
    works: dict[str, list[Observation]] = {}
    for case in range(len(solutions)):
        for seen in observe(solutions.point(case)):
            works.setdefault(seen.load, [])
            if seen.level in WORKING:
                works[seen.load].append(seen)
    for load, times in works.items():
        name = f"{circuit.by_id[load].name} {load}".strip()
        if not times:
            yield Finding(f"{name} works in no position")
        elif all(seen.doubtful for seen in times):
            yield Finding(f"{name} only works so weakly that people would disagree")


def _unrest(circuit: Circuit, solutions: Solutions, states: Sequence[Moves]) -> Iterator[Finding]:
    """Protectors that open, relays that do not rest, outcomes in doubt; each once."""
    found: dict[str, Finding] = {}
    # a flasher opens and closes as it should
    protectors = {p.id for p in circuit.parts if isinstance(p, PROTECTORS)}
    for case, moves in enumerate(states):
        point = solutions.point(case)
        opened = [e.part for e in point.events if e.change == "opens" and e.part in protectors]
        moving = [e.part for e in point.events if e.change in ("chatters", "depends on the order")]
        told = [f"{part} opens without a fault" for part in dict.fromkeys(opened)]
        told += [f"{part} does not come to rest" for part in dict.fromkeys(moving)]
        told += [f"in doubt: {reason}" for reason in point.ambiguous]
        for words in told:
            found.setdefault(words, Finding(words, state_name(moves)))
    yield from found.values()


def _positions_that_do_nothing(
    circuit: Circuit, solutions: Solutions, states: Sequence[Moves]
) -> Iterator[Finding]:
    """Pairs of positions of a control that are alike whatever else is switched."""
    volts = np.array([solutions.volts(node) for node in circuit.nodes])
    column = {frozenset(moves): case for case, moves in enumerate(states)}
    for control in circuit.controls:
        for one, other in combinations(control.positions, 2):
            pairs = [
                (column[_with(moves, control.name, one, control.rest)], case)
                for moves, case in column.items()
                if dict(moves).get(control.name, control.rest) == other
                and _with(moves, control.name, one, control.rest) in column
            ]
            if pairs and all(_alike(volts[:, a], volts[:, b]) for a, b in pairs):
                yield Finding(f"{control.name} does the same in positions {one} and {other}")


def _with(
    moves: frozenset[tuple[str, str]], control: str, position: str, rest: str
) -> frozenset[tuple[str, str]]:
    others = {move for move in moves if move[0] != control}
    return frozenset(others if position == rest else others | {(control, position)})


def _alike(a: FloatArray, b: FloatArray) -> bool:
    return np.allclose(a, b, rtol=0.0, atol=SAME_VOLTS, equal_nan=True)


def _hidden_faults(circuit: Circuit) -> Iterator[Finding]:
    table = build_table(circuit, telling_states(circuit, FIRST_STATES))
    hidden = frozenset(table.hidden)
    suspects = [item for item in table.faults if item.fault in hidden]
    if not suspects:
        return
    pressed = all_states(circuit, MORE_STATES)
    more = pressed + after_release(circuit, pressed)
    for fault in build_table(circuit, more, suspects).hidden:
        yield Finding(f"{fault} changes nothing in any position", is_failure=False)
