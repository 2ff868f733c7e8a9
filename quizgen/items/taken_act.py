"""A test that a technician takes once: lamp, ohmmeter, jumper, or a meter with something off.

Worked out on the circuit of every fault that the complaint leaves, fuses that have blown with it
staying blown. With a jumper it is the loads complained of that tell, and relays that pull in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults import Fault
from quizgen.faults.wording import part_name, point_name
from quizgen.items.act import Act
from quizgen.items.act_words import take
from quizgen.items.calm import at_rest, burns
from quizgen.items.certainty import TakenTest
from quizgen.items.complaint import telling
from quizgen.items.evidence import Evidence
from quizgen.items.fuse_holder import between_digits
from quizgen.items.item import Figure, Reading
from quizgen.items.outcome import (
    CLICKS,
    LAMP,
    NO_CLICK,
    Outcome,
    alike,
    figure_of,
    outcome_of,
    plainly_apart,
    ruled_out,
)
from quizgen.items.sentences import Sentences, capital, listed, predicate, state_words, the
from quizgen.items.standing import Standing
from quizgen.solver import OperatingPoint

UNITS = {"voltmeter": "V", "ohmmeter": "ohm", "test-lamp": "", "fused-jumper": "A"}
PLAIN_LEVELS = frozenset(("turns slowly", "turns too fast"))  # told against a sound machine only
SEVERAL = 3  # parts that do the same: they are called by name once


@dataclass(frozen=True)
class After(Standing):
    """The suspects after complaint and test: rows that may agree, and those that surely do."""

    agreeing: frozenset[int] = field(default=frozenset())
    certain: frozenset[int] = field(default=frozenset())

    def agrees(self, row: int) -> bool:
        """With the test as well."""
        return row in self.agreeing and super().agrees(row)

    def surely(self, row: int) -> bool:
        """The test shows the same beyond doubt."""
        return row in self.certain


@dataclass(frozen=True)
class TakenAct(TakenTest):
    """An act on the machine in the item's own state, and what it shows under every suspect."""

    act: Act
    found: Outcome
    outcomes: dict[int, Outcome] = field(repr=False, compare=False)  # by row
    alive: tuple[tuple[int, int, int], ...] = field(repr=False)  # cells the complaint leaves

    @property
    def name(self) -> str:
        """By the instrument, and by what is off for it."""
        off = bool(self.act.unplugged or self.act.removed)
        match self.act.instrument:
            case "voltmeter" if self.act.removed:
                return "out"
            case "voltmeter":
                return "off" if off else "apart"
            case "test-lamp":
                return "lamp_off" if off else "lamp"
            case "ohmmeter":
                return "ohm"
            case _:
                return "jumper"

    @cached_property
    def claims_left(self) -> set[int]:
        """Claims of which some severity agrees with the test too."""
        return {
            claim
            for claim, a, b in self.alive
            if not ruled_out(self.found, self.outcomes[a], self.outcomes[b])
        }

    @cached_property
    def standing(self) -> Standing:
        """After the test."""
        agreeing = (r for r, o in self.outcomes.items() if not ruled_out(self.found, o, o))
        certain = (r for r, o in self.outcomes.items() if alike(self.found, o))
        return After(
            self.dictionary, self.row, pool=self.before.cases,
            agreeing=frozenset(agreeing), certain=frozenset(certain),
        )  # fmt: skip

    def speaks_against(self, fault: Fault) -> bool:
        """Beyond doubt and plain to see."""
        return plainly_apart(self.found, self.outcomes[self.dictionary.row(fault)])

    def readings(self, sentences: Sentences) -> tuple[Reading, ...]:
        """One row."""
        act, circuit = self.act, self.dictionary.circuit
        state = state_words(circuit, dict(act.moves))
        return (
            Reading(
                instrument=act.instrument,
                red_node=act.red,
                black_node=act.black,
                red=point_name(circuit, act.red, names=False),
                black=self._black(sentences),
                state=capital(", ".join([state, *self._off(sentences)])),
                shown=self.found.text,
                volts=figure_of(self.found.shown),
                apart=act.apart,
                removed=act.removed,
                unplugged=act.unplugged,
            ),
        )

    def _black(self, sentences: Sentences) -> str:
        circuit = self.dictionary.circuit
        if self.act.black == circuit.reference:
            return sentences.say("shared_black")
        return point_name(circuit, self.act.black, names=False)

    def _off(self, sentences: Sentences) -> Iterator[str]:
        circuit = self.dictionary.circuit
        for word, names in (
            ("row_apart", self.act.apart), ("row_out", self.act.removed),
            ("row_unplugged", self.act.unplugged),
        ):  # fmt: skip
            for name in names:
                part = circuit.part(name)
                battery = isinstance(part, c.Battery | c.Source)
                said = part_name(replace(part, name=""))
                yield sentences.say("row_isolated" if battery else word, part=said)

    def figures(self, fault: Fault) -> tuple[Figure, ...]:
        """`FAULT -> what would be shown`, and the figure behind it."""
        would = self.outcomes[self.dictionary.row(fault)]
        unit = UNITS[self.act.instrument]
        return (Figure(name=f"{fault} -> {would.text}", value=figure_of(would.shown), unit=unit),)

    def words(self, fault: Fault, sentences: Sentences) -> dict[str, str]:
        """Clauses: what would be shown, what was found; and the points and parts of the act."""
        circuit, act = self.dictionary.circuit, self.act
        would = self.outcomes[self.dictionary.row(fault)]
        differ = [p for p in self.found.words if would.words[p] != self.found.words[p]]
        parts = differ or list(self.found.words)
        off = [the(circuit.part(p)) for p in (*act.apart, *act.removed, *act.unplugged)]
        return {
            "would": _clause(circuit, would, parts, sentences, ""),
            "found": _clause(circuit, self.found, parts, sentences, "_it"),
            "red": point_name(circuit, act.red, names=False),
            "black": self._black(sentences),
            "off": listed(off),
        }


def _clause(
    circuit: Circuit, outcome: Outcome, parts: Sequence[str], sentences: Sentences, it: str
) -> str:
    """`the lamp is bright`, `the meter shows OL`, `the pump M1 runs and relay K1 clicks`.

    With `it` the same after another clause about the same things, which need no names again.
    """
    if LAMP in outcome.words:
        return sentences.say(f"lamp_{outcome.word(LAMP)}{it}")
    if not outcome.words:
        return sentences.say(f"meter_shows{it}", shown=outcome.text)
    found = [circuit.part(p) for p in parts]
    does = {predicate([part, part], outcome.word(part.id)) for part in found}
    if it and len(found) >= SEVERAL and len(does) == 1:
        return sentences.say("they_all", does=does.pop())
    groups: dict[tuple[str, str], list[c.Part]] = {}
    for part in found:
        groups.setdefault((part.kind, outcome.word(part.id)), []).append(part)
    return listed(
        [
            f"{listed([the(p) for p in some])} {predicate(some, word)}"
            for (_, word), some in groups.items()
        ]
    )


# --- taking one -----------------------------------------------------------------------


@dataclass(frozen=True)
class Bench:
    """The machine of a complaint, once for all acts that are tried on it."""

    evidence: Evidence
    before: Standing
    alive: tuple[tuple[int, int, int], ...]
    circuits: dict[int, Circuit]  # by row

    @cached_property
    def first(self) -> list[int]:
        """The hidden fault and each part's likeliest: they tell if an act is worth more."""
        d = self.evidence.dictionary
        return list(dict.fromkeys([self.evidence.row, *map(d.row, self.before.sure.values())]))


def bench_of(evidence: Evidence, before: Standing) -> Bench:
    """The rows that a complaint leaves, with the circuits as they stand by now."""
    d = evidence.dictionary
    left = ~evidence.unseen[telling(d, evidence.row)].any(axis=0)
    cells = zip(*(x[left].tolist() for x in evidence.cells), strict=True)
    alive = tuple((int(claim), int(a), int(b)) for claim, a, b in cells)
    rows = sorted({evidence.row, *before.rows, *(r for _, a, b in alive for r in (a, b))})
    return Bench(evidence, before, alive, {row: aged(d.solutions.point(row)) for row in rows})


def aged(point: OperatingPoint) -> Circuit:
    """The circuit with the fuses blown that opened on the way to this point."""
    opened = {e.part for e in point.events if e.change == "opens"}
    fuses = [
        p for p in point.circuit.parts if p.id in opened and isinstance(p, c.Fuse | c.FusibleLink)
    ]
    return point.circuit.with_parts(changed=[replace(p, condition="blown") for p in fuses])


def take_act(bench: Bench, act: Act) -> TakenAct | None:
    """The test; None if the act is unsafe, tells nothing, or two people might differ."""
    row, d = bench.evidence.row, bench.evidence.dictionary
    off = act.apart or act.removed or act.unplugged
    if off and any(e.change == "opens" for e in d.solutions.point(row).events):
        return None  # what has opened would have to be told
    listened = _listened(d, row) if act.instrument == "fused-jumper" else []
    outcomes = _look(bench, act, listened, bench.first)
    if outcomes is None:
        return None
    found = outcomes[row]
    told = _told(d, row, found, listened)
    likeliest = [outcomes[r] for r in bench.first]
    if not _plain(found, told) or not any(plainly_apart(found, o) for o in likeliest):
        return None
    more = _look(bench, act, listened, [r for r in bench.circuits if r not in outcomes])
    if more is None:
        return None
    outcomes |= more
    if listened:
        outcomes = {r: o.only(told) for r, o in outcomes.items()}
    return TakenAct(bench.evidence, bench.before, act, outcomes[row], outcomes, bench.alive)


def _look(
    bench: Bench, act: Act, listened: Sequence[str], rows: Sequence[int]
) -> dict[int, Outcome] | None:
    """What an act comes to in some rows; None if it is unsafe in one."""
    sound = {o.load: o for o in bench.evidence.dictionary.seen[0]}
    shown = take([bench.circuits[row] for row in rows], act) if rows else ()
    if any(s.refused for s in shown):
        return None
    return {r: outcome_of(s, listened, sound) for r, s in zip(rows, shown, strict=True)}


def _listened(d: FaultDictionary, row: int) -> list[str]:
    """Loads that are not as they should be, and whatever clicks."""
    pairs = zip(d.seen[row], d.seen[0], strict=True)
    return [*(now.load for now, sound in pairs if now.level != sound.level), *d.clickers]


def _told(d: FaultDictionary, row: int, found: Outcome, listened: Sequence[str]) -> list[str]:
    """All loads listened to; of relays those that click now, or should have before."""
    pairs = zip(d.clickers, d.heard, strict=True)
    missed = {part for part, words in pairs if words[row] == NO_CLICK and words[0] == CLICKS}
    silent = set(d.clickers) - missed
    return [p for p in listened if p not in silent or found.word(p) == CLICKS]


def _plain(found: Outcome, told: Sequence[str]) -> bool:
    """Nothing about the hidden fault's outcome is in doubt, and nothing burns."""
    shown, point = found.shown, found.shown.point
    if shown.refused or shown.doubts or shown.warnings or shown.raw is None or point is None:
        return False
    if not at_rest(point) or burns(point):
        return False
    if shown.instrument == "fused-jumper":
        words = [found.word(part) for part in told]
        return "holds" in shown.shown and all(words) and not PLAIN_LEVELS.intersection(words)
    if shown.instrument == "ohmmeter" and shown.resolution:
        return not between_digits(shown.raw / shown.resolution)
    return True
