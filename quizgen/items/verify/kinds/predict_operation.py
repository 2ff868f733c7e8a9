"""Verifies "what do the loads do".

1. the told fault is the one put in, and the machine comes to rest with it, beyond doubt
2. each option speaks of the same loads, all of them such as can be watched
3. what the key says of each load is all that anybody could report; every other option says of
   at least one load what nobody could
4. texts say what claims say, stems tell fault and moves in their order, figures are true
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property

import yaml

from quizgen.base.paths import data_folder
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults import Fault, describe, inject, parse_fault
from quizgen.items.item import Figure, Item, Option
from quizgen.items.verify.bench import Bench, Benches, Outcome
from quizgen.items.verify.meter import HALF_DIGIT, MINUS
from quizgen.items.verify.stillness import restless, smoking
from quizgen.solver import OperatingPoint

FIGURE = re.compile(r"(?<!under )(?<![\w.])([−-]?\d+(?:\.\d+)?) V(?!\w)")
FIGURE_VOLTS = 0.002


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    if item.told != (item.origin.fault,) or not item.origin.fault:
        yield f"the stem tells {item.told}; the fault put in is {item.origin.fault!r}"
        return
    if item.response != "one":
        yield f"an item of this kind is not answered by {item.response}"
        return
    if item.readings:
        yield "an item of this kind has no readings"
        return
    bench = benches.at(item.origin.positions)
    case = Case(item, bench, parse_fault(item.origin.fault))
    unfit = tuple(_check_fit(case))
    yield from unfit
    if not unfit:
        yield from _check_state(case)
        yield from _check_levels(case)
        yield from _check_words(case)
        yield from _check_figures(case)


@dataclass(frozen=True, eq=False)
class Case:
    """An item on the bench."""

    item: Item
    bench: Bench
    fault: Fault

    @cached_property
    def ways(self) -> tuple[Outcome, ...]:
        """How the fault may turn out."""
        return self.bench.ways(self.fault)

    @cached_property
    def circuit(self) -> Circuit:
        """With the fault in it."""
        return inject(self.bench.circuit, self.fault)

    @cached_property
    def loads(self) -> list[str]:
        """What the options speak of."""
        return list(said(self.item.options[0]))

    def levels(self, load: str) -> frozenset[str]:
        """All that somebody might report of a load."""
        return self.bench.levels(load, (self.ways,))


def said(option: Option) -> dict[str, str]:
    """Load → level, as the claim of an option has it.

    >>> said(Option(claim="E1=dark M1=turns_slowly", text="", is_key=True, rationale=()))
    {'E1': 'dark', 'M1': 'turns slowly'}
    """
    pairs = [word.partition("=") for word in option.claim.split()]
    return {load: level.replace("_", " ") for load, _, level in pairs}


@cache
def _predicates() -> dict[str, dict[str, list[str]]]:
    """Kind of part → level → what one and several loads do, as the sentences have it."""
    text = (data_folder("templates") / "wording" / "loads.yaml").read_text(encoding="utf-8")
    found: dict[str, dict[str, list[str]]] = yaml.safe_load(text)
    return found


def _check_fit(case: Case) -> Iterator[str]:
    loads = set(case.loads)
    if not loads:
        yield "the options speak of no load"
    for option in case.item.options:
        if set(said(option)) != loads:
            yield f"option {option.claim} does not speak of {' '.join(sorted(loads))}"
    for load in loads:
        part = case.bench.circuit.by_id.get(load)
        if part is None or not isinstance(part, c.LOADS):
            yield f"{load} is no load"
        elif load in case.bench.circuit.unobserved:
            yield f"nobody can watch {load}"
        else:
            known = _predicates().get(part.kind, {})
            for option in case.item.options:
                level = said(option).get(load, "")
                if level not in known:
                    yield f"option {option.claim}: {load} cannot be {level!r}"


def _check_state(case: Case) -> Iterator[str]:
    point = case.ways[0].point
    for what, at in (("the faulty circuit", point), ("the sound one", case.bench.sound[0].point)):
        yield from restless(what, at)
    yield from (f"wire {w} would smoke before anybody looked" for w in smoking(point))
    kind = case.bench.circuit.part(case.fault.part).kind
    if case.item.key_kind != kind:
        yield f"the kind of part at fault is {case.item.key_kind!r}; it is {kind!r}"


def _check_levels(case: Case) -> Iterator[str]:
    for option in case.item.options:
        told = said(option)
        false = [load for load in case.loads if told[load] not in case.levels(load)]
        if option.is_key:
            for load in case.loads:
                if case.levels(load) != {told[load]}:
                    yield f"the key says {load} is {told[load]}; it is {_either(case.levels(load))}"
        elif not false:
            yield f"option {option.claim} is true as well"
        if not option.is_key and not option.misconception:
            yield f"option {option.claim} has no wrong model behind it"
        if not option.rationale:
            yield f"option {option.claim} has no rationale"


def _either(levels: frozenset[str]) -> str:
    return " or ".join(sorted(levels))


# --- words -----------------------------------------------------------------------------------


def _check_words(case: Case) -> Iterator[str]:
    stem = " ".join(case.item.stem).casefold()
    clause = describe(case.bench.circuit, case.fault, names=False)
    if clause.casefold() not in stem:
        yield f"the stem does not tell that {clause}"
    moves = case.item.origin.positions
    ordered = len(dict(moves)) < len(moves)
    place = stem.find(clause.casefold()) + len(clause) if clause.casefold() in stem else 0
    for control, position in moves:
        label = case.bench.circuit.by_control[control].label
        names = [n for n in (control, label) if n]
        at = _find(names, position, stem, place)
        if at < 0:
            yield f"the stem does not say {control}={position}" + (", in its order" * ordered)
        elif ordered:
            place = at
    for option in case.item.options:
        yield from _check_text(case, option)


def _find(names: list[str], position: str, text: str, start: int) -> int:
    """Where a control and then its position are told after `start`; −1 if nowhere."""
    ends = []
    for name in names:
        pattern = rf"(?<!\w){re.escape(name.casefold())}(?!\w)[^,;.]*?(?<!\w)"
        found = re.search(pattern + rf"{re.escape(position.casefold())}(?!\w)", text[start:])
        if found:
            ends.append(start + found.end())
    return min(ends, default=-1)


def _check_text(case: Case, option: Option) -> Iterator[str]:
    """Each load is named in a clause that says its level, and in no other."""
    clauses = option.text.split("; ")
    for load, level in said(option).items():
        part = case.bench.circuit.part(load)
        mine = [k for k in clauses if re.search(rf"(?<!\w){re.escape(load)}(?!\w)", k)]
        if len(mine) != 1:
            yield f"option {option.claim}: its text names {load} {len(mine)} times"
        elif not mine[0].endswith(tuple(f" {w}" for w in _predicates()[part.kind][level])):
            yield f"option {option.claim}: its text does not say that {load} is {level}"


def _check_figures(case: Case) -> Iterator[str]:
    """Volts across loads: those of the records exactly, those of the words as printed."""
    real, sound = case.ways[0].point, case.bench.sound[0].point
    by_load = {load: _across(real, load) for load in case.loads}
    for where, figures in [("the proof", case.item.proof.figures)] + [
        (f"option {o.claim}", o.figures) for o in case.item.options
    ]:
        yield from (f"{where}: {line}" for line in _wrong_figures(figures, by_load))
    known = [*by_load.values(), *(_across(sound, load) for load in case.loads)]
    for option in case.item.options:
        for digits in FIGURE.findall(" ".join(option.rationale)):
            value = float(digits.replace(MINUS, "-"))
            if not any(abs(value - k) <= HALF_DIGIT for k in known):
                yield f"option {option.claim}: no load that it speaks of has {digits} V"


def _wrong_figures(figures: tuple[Figure, ...], by_load: dict[str, float]) -> Iterator[str]:
    for figure in figures:
        volts = by_load.get(figure.name)
        if volts is None:
            yield f"a figure of {figure.name}, which no option speaks of"
        elif not abs(figure.value - volts) <= FIGURE_VOLTS:
            yield f"across {figure.name} there are {volts:.3f} V, not {figure.value:g}"


def _across(point: OperatingPoint, load: str) -> float:
    part = point.circuit.part(load)
    return max(map(abs, point.across(part)))
