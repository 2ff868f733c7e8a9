"""Tests that a technician may do next, sorted by what they would tell about the suspects."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.checks import MINUTES, access
from quizgen.diagnosis.clicks import NOBODY_KNOWS, heard_again
from quizgen.faults import Fault, inject
from quizgen.faults.wording import point_name
from quizgen.items.act import LOOK, Act
from quizgen.items.item import Moves
from quizgen.items.sentences import listed, predicate, state_words, the, volts_words
from quizgen.items.standing import Classes, Standing, reading_minutes, told_apart
from quizgen.solver import Solutions, solve_cases
from quizgen.solver.observation import against, observe, visible

OHM_MODES = {"open", "blown", "burned-out", "shorted", "coil-open", "coil-shorted"}
OHM_PARTS = (c.Fuse, c.Relay, *c.LOADS)
SHAKE = (0.9, 1.1)  # a margin this much smaller or greater must cut the readings alike
MOST_LOOKS = 4
MOST_MOVED = 2  # controls, for a look
WIDEST_CLASS = 3.0  # volts; what spreads more is no clear outcome


@dataclass(frozen=True)
class Trial:
    """A test, the class it puts each suspect in, and what it shows with each class."""

    act: Act
    minutes: float
    classes: Classes
    shows: tuple[str, ...]
    bits: float
    even_bits: float  # with all parts equally likely

    @property
    def rate(self) -> float:
        """Bits a minute."""
        return self.bits / self.minutes

    @property
    def even_rate(self) -> float:
        """Bits a minute with all parts equally likely."""
        return self.even_bits / self.minutes


def trials(standing: Standing, states: Sequence[Moves]) -> list[Trial]:
    """All tests whose outcome under every suspect is beyond doubt.

    Voltmeter from each point to the frame as the controls stand; an ohmmeter across each fuse,
    load and relay coil, unplugged; a look at the loads in some of the other `states`.
    """
    found = [*_readings(standing), *_resistances(standing), *_looks(standing, states)]
    return [_trial(standing, *one) for one in found]


def act_words(standing: Standing, act: Act) -> str:
    """An act as an option says it, without its minutes."""
    circuit = standing.dictionary.circuit
    if act.instrument == LOOK:
        return f"look and listen with {state_words(circuit, changed(standing, act.moves))}"
    if act.instrument == "voltmeter":
        return f"voltmeter at {point_name(circuit, circuit.point(act.red), names=False)}"
    part = circuit.part(act.unplugged[0] if act.unplugged else act.removed[0])
    what = "the coil of " if isinstance(part, c.Relay) else ""
    out = "taken out" if act.removed else "unplugged"
    return f"ohmmeter across {what}{the(part)}, {out}"


def changed(standing: Standing, moves: Moves) -> dict[str, str]:
    """Controls that stand otherwise than now, and their positions."""
    rest = standing.dictionary.circuit.rest_positions()
    now, then = rest | dict(standing.dictionary.moves), rest | dict(moves)
    return {name: position for name, position in then.items() if position != now[name]}


def either(names: Sequence[str], most: int = 4) -> str:
    """`F1, S1 or W3`; of many the first and how many more.

    >>> either(["F1", "S1", "W3"]), either(["F1", "S1", "W3", "W4"], most=2)
    ('F1, S1 or W3', 'F1, S1 or one of 2 more')
    """
    if len(names) > most + 1:
        return f"{', '.join(names[:most])} or one of {len(names) - most} more"
    return " or ".join(part for part in (", ".join(names[:-1]), *names[-1:]) if part)


def _trial(
    standing: Standing, act: Act, minutes: float, classes: Classes, shows: tuple[str, ...]
) -> Trial:
    bits, even = (standing.bits(classes, even=even) for even in (False, True))
    return Trial(act, minutes, classes, shows, bits, even)


Found = tuple[Act, float, Classes, tuple[str, ...]]


def _readings(standing: Standing) -> Iterator[Found]:
    d = standing.dictionary
    for node in d.points:
        minutes = reading_minutes(d.circuit, [node])
        low, high = standing.volts(node)
        classes = told_apart(low, high)
        if minutes is None or any(told_apart(low, high, x) != classes for x in SHAKE):
            continue
        shows, too_wide = [], False
        for number in range(max(classes) + 1):
            mine = [i for i, of in enumerate(classes) if of == number]
            least, most = float(min(low[mine])), float(max(high[mine]))
            too_wide |= most - least > WIDEST_CLASS
            shows.append(_span(least, most))
        act = Act(instrument="voltmeter", red=node, black=d.circuit.reference, moves=d.moves)
        if not too_wide:
            yield act, minutes, classes, tuple(shows)


def _span(least: float, most: float) -> str:
    first, last = volts_words(least), volts_words(most)
    return first if first == last else f"{first.removesuffix(' V')} to {last}"


def _resistances(standing: Standing) -> Iterator[Found]:
    circuit = standing.dictionary.circuit
    for part in circuit.parts:
        if not isinstance(part, OHM_PARTS):
            continue
        where = access(circuit, part.nodes[0])
        pins = ("86", "85") if isinstance(part, c.Relay) else part.terminals[:2]
        if where is None:
            continue
        labels = [
            f.mode if f.part == part.id and f.mode in OHM_MODES else "" for f in _of(standing)
        ]
        order = sorted(set(labels))
        yield (
            Act(
                instrument="ohmmeter", red=f"{part.id}/{pins[0]}", black=f"{part.id}/{pins[1]}",
                unplugged=() if isinstance(part, c.Fuse) else (part.id,),
                removed=(part.id,) if isinstance(part, c.Fuse) else (),
            ),
            round(MINUTES["ohmmeter"] + part.access_minutes, 2),
            tuple(order.index(label) for label in labels),
            tuple(_resistance(label) for label in order),
        )  # fmt: skip


def _resistance(mode: str) -> str:
    """What an ohmmeter shows across a part that fails so; of one that does not, ""."""
    if not mode:
        return "a sound resistance"
    return "too low a resistance" if "shorted" in mode else "OL"


def _of(standing: Standing) -> list[Fault]:
    return list(standing.suspects)


def _looks(standing: Standing, states: Sequence[Moves]) -> Iterator[Found]:
    d = standing.dictionary
    others = _further(d.moves, states)
    circuits = [d.circuit, *(inject(d.circuit, fault) for fault in standing.suspects)]
    if not others:
        return
    cases = [(i, moves) for moves in others for i in range(len(circuits))]
    solutions = solve_cases(circuits, cases)
    for number, moves in enumerate(others):
        first = number * len(circuits)
        seen = _seen(solutions, range(first, first + len(circuits)), d.clickers)
        if seen is None:
            continue
        order = list(dict.fromkeys(seen))
        circuit = d.circuit
        names = [load for load, _ in order[0]]
        told = [n for n in names if len({dict(o)[n] for o in order}) > 1] or names[:1]
        shows = tuple(in_words(circuit, {n: dict(o)[n] for n in told}) for o in order)
        act = Act(instrument=LOOK, moves=moves)
        yield act, MINUTES[LOOK], tuple(order.index(o) for o in seen), shows


def in_words(circuit: Circuit, levels: Mapping[str, str]) -> str:
    """What several loads and relays do; those of a kind that do the same have one clause."""
    groups: dict[tuple[str, str], list[c.Part]] = {}
    for part_id, level in levels.items():
        part = circuit.part(part_id)
        groups.setdefault((part.kind, level), []).append(part)
    return "; ".join(
        f"{listed([the(p) for p in parts])} {predicate(parts, level)}"
        for (_, level), parts in groups.items()
    )


def _further(now: Moves, states: Sequence[Moves]) -> list[Moves]:
    """States that one or two more controls lead to, nothing moved back: the way there counts."""
    found = []
    for moves in states:
        more = tuple(pair for pair in moves if pair not in now)
        if set(now) <= set(moves) and 0 < len(more) <= MOST_MOVED:
            found.append((*now, *more))
    return found[:MOST_LOOKS]


def _seen(
    solutions: Solutions, cases: range, clickers: Sequence[str]
) -> list[tuple[tuple[str, str], ...]] | None:
    """What is seen and heard by suspect; None where anybody might doubt it."""
    sound = {o.load: o for o in observe(solutions.point(cases[0]))}
    found = []
    for case in cases[1:]:
        point = solutions.point(case)
        loads = [against(sound[o.load], o) for o in visible(point.circuit, observe(point))]
        heard = [(part, heard_again(point, part)) for part in clickers]
        if point.ambiguous or point.phases or any(o.doubtful for o in loads):
            return None
        if any(word == NOBODY_KNOWS for _, word in heard):
            return None
        found.append((*((o.load, o.level) for o in loads), *heard))
    return found
