"""Question kind: which readings tell soonest which of the named suspects it is?

Options are sets of acts joined by " ; ", voltmeter readings against the frame. The key tells
every two suspects apart and takes clearly less time than any other option that does. Figures of
an option: `minutes`, each place reached once, and `alike`, pairs of suspects that it leaves.
The suspects are the figures of the proof whose unit is "suspect".
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from quizgen.base.errors import UnprovableError
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults import Fault, describe
from quizgen.faults.wording import point_name
from quizgen.items.act import Act
from quizgen.items.complaint import complaints, told
from quizgen.items.evidence import margin_volts
from quizgen.items.item import Figure, Item, Option, Proof
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.sentences import Sentences, capital, listed, the, volts_words
from quizgen.items.standing import Standing, reading_minutes
from quizgen.items.stem import write_stem
from quizgen.items.trials import either
from quizgen.solver.laws import FloatArray

NAME = "covering-checks"
GRADED = {"resistance", "weak"}
MOST_FAULTS, MOST_DRAWS = 8, 6
SUSPECTS = (5, 4)
MOST_READINGS = 3
MOST_ALIKE_POINTS = 3  # of points that part the suspects in the same way
CLEARLY, CLEARLY_MINUTES = 1.25, 1.0  # the key is quicker by so much
APART, ALIKE = 1.3, 0.5  # of the meter's margin: what lies between is too near to call
LONGEST_RATIO = 1.7
MISSES, DEAR, MORE = "leaves-two-alike", "long-way-round", "more-than-needed"


@dataclass(frozen=True)
class Choice:
    """Readings at some nodes, the minutes, and pairs of suspects told apart, as bits."""

    nodes: tuple[str, ...]
    minutes: float
    apart: int


@dataclass(frozen=True)
class Group:
    """The suspects to be told apart, and what a meter shows with each at every point."""

    dictionary: FaultDictionary
    row: int
    suspects: tuple[Fault, ...]

    @cached_property
    def volts(self) -> FloatArray:
        """(points, suspects)."""
        rows = [self.dictionary.row(fault) for fault in self.suspects]
        return np.asarray(self.dictionary.low[:, rows])

    @property
    def pairs(self) -> list[tuple[int, int]]:
        return list(combinations(range(len(self.suspects)), 2))

    @property
    def all_apart(self) -> int:
        """Every pair."""
        return (1 << len(self.pairs)) - 1

    def parted(self, node: str) -> int | None:
        """Pairs that a reading tells apart; None where it is too near to call."""
        volts = self.volts[self.dictionary.points.index(node)]
        found = 0
        for bit, (i, j) in enumerate(self.pairs):
            gap = abs(volts[i] - volts[j]) / margin_volts(max(abs(volts[i]), abs(volts[j])))
            if ALIKE < gap < APART:
                return None
            found |= (gap >= APART) << bit
        return found

    def show(self, node: str, suspect: int) -> float:
        """Volts at a node with one suspect."""
        return float(self.volts[self.dictionary.points.index(node), suspect])

    @cached_property
    def choices(self) -> list[Choice]:
        """Sets of up to three readings, the quickest first."""
        circuit = self.dictionary.circuit
        by_parted: dict[int, list[tuple[float, str]]] = {}
        for node in self.dictionary.points:
            minutes, parted = reading_minutes(circuit, [node]), self.parted(node)
            if minutes is not None and parted:
                by_parted.setdefault(parted, []).append((minutes, node))
        points = {
            node: parted
            for parted, some in by_parted.items()
            for _, node in sorted(some)[:MOST_ALIKE_POINTS]
        }
        found = []
        for count in range(1, MOST_READINGS + 1):
            for nodes in combinations(points, count):
                apart = 0
                for node in nodes:
                    apart |= points[node]
                minutes = reading_minutes(circuit, nodes)
                assert minutes is not None  # of points that can be reached
                found.append(Choice(nodes, minutes, apart))
        return sorted(found, key=lambda c: (c.minutes, c.nodes))


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about a fault of the material's dictionary.

    Raises UnprovableError when no suspects tried are told apart by a few readings.
    """
    for row in complaints(material.dictionary, request.used, rng, MOST_FAULTS):
        for group in _groups(material.dictionary, row, rng):
            options = _options(group, request.options, rng)
            if options:
                return _write(group, options, material, rng)
    raise UnprovableError(
        f"{material.template}: no suspects tried are told apart by a few readings with "
        f"{dict(material.moves)}; try other positions or parameters"
    )


def _groups(d: FaultDictionary, row: int, rng: random.Random) -> Iterator[Group]:
    """Suspects of different parts, the hidden fault among them, not all of them wires."""
    hidden = d.members[row].fault
    assert hidden is not None  # a complaint has a fault behind it
    if hidden.mode in GRADED:
        return
    sure = [f for f in Standing(d, row).sure.values() if f.mode not in GRADED]
    able = [f for f in sure if f.part != hidden.part]
    for _ in range(MOST_DRAWS):
        for count in SUSPECTS:
            pool = rng.sample(able, len(able))
            pool.sort(key=lambda f: d.circuit.by_id[f.part].kind == "wire" and rng.random() < 0.5)
            chosen = [hidden, *pool[: count - 1]]
            if len(chosen) == count:
                order = [p.id for p in d.circuit.parts]
                yield Group(d, row, tuple(sorted(chosen, key=lambda f: order.index(f.part))))


def _options(group: Group, count: int, rng: random.Random) -> list[tuple[Choice, str]]:
    """The key, then wrong sets with what is wrong with them; none if there are too few."""
    full = [c for c in group.choices if c.apart == group.all_apart]
    if not full or len(full[0].nodes) < 2:
        return []
    key = full[0]
    slower = CLEARLY * key.minutes, key.minutes + CLEARLY_MINUTES
    dear = [c for c in full if c.minutes >= max(slower)]
    dear = [c for c in dear if c.minutes <= 4.0 * key.minutes][:40]
    missing = [c for c in group.choices if c.apart != group.all_apart]
    missing = [c for c in missing if len(c.nodes) >= 2 and c.minutes <= 1.5 * key.minutes + 2.0]
    rng.shuffle(dear)
    rng.shuffle(missing)
    missing.sort(key=lambda c: (group.all_apart & ~c.apart).bit_count())
    chosen = [(key, "")]
    for pool, most in ((dear, 1), (missing, count - 2), (dear, 2), (missing, count)):
        for choice in pool:
            sort = MISSES
            if pool is dear:
                sort = MORE if len(choice.nodes) > len(key.nodes) else DEAR
            had = sum((s == MISSES) == (sort == MISSES) for _, s in chosen[1:])
            if len(chosen) < count and had < most and _fits(group, chosen, choice):
                chosen.append((choice, sort))
    return chosen if len(chosen) >= max(3, count - 1) else []


def _fits(group: Group, chosen: Sequence[tuple[Choice, str]], choice: Choice) -> bool:
    """Of like length, and no set that another holds within it."""
    others = [c for c, _ in chosen]
    if any(set(choice.nodes) <= set(c.nodes) or set(choice.nodes) >= set(c.nodes) for c in others):
        return False
    lengths = [len(_text(group, c)) for c in (*others, choice)]
    return max(lengths) <= LONGEST_RATIO * min(lengths)


# --- words ----------------------------------------------------------------------------


def _point(group: Group, node: str) -> str:
    return point_name(group.dictionary.circuit, node, names=False)


def _text(group: Group, choice: Choice) -> str:
    points = listed([_point(group, node) for node in choice.nodes])
    return f"{capital(points)} ({choice.minutes:.1f} min)"


def _claim(group: Group, choice: Choice) -> str:
    d = group.dictionary
    acts = [
        Act(instrument="voltmeter", red=node, black=d.circuit.reference, moves=d.moves)
        for node in choice.nodes
    ]
    return " ; ".join(map(str, acts))


def _write(
    group: Group, chosen: Sequence[tuple[Choice, str]], material: Material, rng: random.Random
) -> Item:
    d = group.dictionary
    sentences = Sentences("covering_checks", rng)
    why = Sentences("misconceptions", rng, "sentences")
    options = []
    for choice, sort in chosen:
        rationale = _wrong(group, chosen[0][0], choice, sentences) if sort else ()
        rationale = rationale or _right(group, choice, sentences)
        if sort:
            rationale += why.once(sort)
        options.append(_option(group, choice, sort, rationale))
    rng.shuffle(options)
    stem = write_stem(d, group.row, material.complain, Sentences("fault_from_readings", rng))
    clauses = "; ".join(_clause(group, i) for i in range(len(group.suspects)))
    assumed = sentences.say("assumed", suspects=clauses, n=str(len(group.suspects)))
    hidden = d.members[group.row].fault
    assert hidden is not None  # a complaint has a fault behind it
    return Item(
        **KIND.label(material, rng),
        key_kind=d.circuit.by_id[hidden.part].kind,
        stem=(*stem, assumed, sentences.say("method")),
        readings=(),
        question=sentences.say("question"),
        options=tuple(options),
        origin=material.origin(str(hidden)),
        proof=Proof(
            observed=told(d, group.row),
            figures=tuple(Figure(name=str(f), value=1.0, unit="suspect") for f in group.suspects),
        ),
    )


def _option(group: Group, choice: Choice, sort: str, rationale: tuple[str, ...]) -> Option:
    left = group.all_apart & ~choice.apart
    return Option(
        claim=_claim(group, choice),
        text=_text(group, choice),
        is_key=not sort,
        rationale=rationale,
        misconception=sort,
        figures=(
            Figure(name="minutes", value=choice.minutes, unit="min"),
            Figure(name="alike", value=left.bit_count()),
        ),
    )


def _clause(group: Group, suspect: int) -> str:
    return describe(group.dictionary.circuit, group.suspects[suspect], names=False)


def _right(group: Group, choice: Choice, sentences: Sentences) -> tuple[str, ...]:
    said = []
    for node in choice.nodes:
        by_volts: dict[str, list[str]] = {}
        for i, fault in enumerate(group.suspects):
            by_volts.setdefault(volts_words(group.show(node, i)), []).append(fault.part)
        told_of = [
            sentences.say("class_one", volts=volts, parts=either(parts, len(parts)))
            for volts, parts in by_volts.items()
        ]
        said.append(sentences.say("shows", point=_point(group, node), list=listed(told_of)))
    minutes = f"{choice.minutes:.1f} min"
    return (*said, *_opened(group, sentences), sentences.say("all_apart", minutes=minutes))


def _opened(group: Group, sentences: Sentences) -> Iterator[str]:
    """Fuses and breakers that a suspect has opened: a dead point would puzzle without that."""
    d = group.dictionary
    for i, fault in enumerate(group.suspects):
        point = d.solutions.point(d.row(fault))
        opened = dict.fromkeys(e.part for e in point.events if e.change == "opens")
        names = [the(d.circuit.part(part)) for part in opened if part != fault.part]
        if names:
            yield sentences.say("opened", one=_clause(group, i), protector=listed(names))


def _wrong(group: Group, key: Choice, choice: Choice, sentences: Sentences) -> tuple[str, ...]:
    left = group.all_apart & ~choice.apart
    words = {"minutes": f"{choice.minutes:.1f} min", "best": f"{key.minutes:.1f} min"}
    if not left:
        return (sentences.say("dear", **words),)
    i, j = next(pair for bit, pair in enumerate(group.pairs) if left >> bit & 1)
    same = [f"{volts_words(group.show(n, i))} at {_point(group, n)}" for n in choice.nodes]
    return (
        sentences.say("alike", one=_clause(group, i), other=_clause(group, j), same=listed(same)),
    )


KIND = Kind(
    name=NAME,
    about="the quickest readings that tell some suspects apart",
    level="choose",
    responses=("one",),
    make=make,
    retried=0.5,
)
