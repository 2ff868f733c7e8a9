"""Question kind: which loads fail together when one feed or ground is lost?

The fault is told. Of several answers each option is a load (claim `E1`), right if it no longer
works as it did; of one answer each is a set of loads (claim `E1,M1`). Everything at work is told
and is sure to change or not to; what is idle stays idle. Figures: `volts across E1 before` and
`volts across E1 now`.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import islice

from quizgen.base.errors import UnprovableError
from quizgen.circuit import components as c
from quizgen.faults import describe
from quizgen.faults.wording import part_name
from quizgen.items.item import Figure, Item, Observed, Option, Proof, Response
from quizgen.items.kind import Kind
from quizgen.items.material import IDLE, Material, Request
from quizgen.items.path_words import EN_DASH
from quizgen.items.sentences import (
    Sentences,
    capital,
    listed,
    predicate,
    state_words,
    the,
    volts_words,
)
from quizgen.items.sharing import Loss, losses

NAME = "shared-path"
KIND_FILE = "shared_path"
ENOUGH = 16  # losses to choose from
FEWEST_LOADS = 3  # to choose from where several answers may be right
FEW_LETTERS, LONGEST_RATIO = 10, 1.7  # of the texts of sets
LONGEST_KEY = 1.5  # of the mean of the wrong ones
LAST_RESORT = ("one-left-out", "all-dead", "branches-mixed-up")
MOST_TOLD = 2  # loads that a rationale speaks of


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about a part whose loss is told, in the material's state or another.

    Raises UnprovableError when no loss tried surely hits some loads and gives wrong answers.
    """
    asked = {(i.told, i.origin.positions) for i in request.used if i.family == material.template}
    found = [
        loss
        for loss in islice(losses(material, rng), ENOUGH)
        if ((str(loss.fault),), loss.material.moves) not in asked
    ]
    for response in KIND.ways(request, rng):
        pool = list(found)
        while pool:
            loss = rng.choices(pool, [_interest(loss) for loss in pool])[0]
            pool.remove(loss)
            writer = Writer(loss, rng)
            item = _several(writer) if response == "several" else _one(writer, request.options)
            if item is not None:
                return item
    raise UnprovableError(
        f"{material.template}: no lost feed or ground surely hits some loads and leaves wrong "
        "answers; try other parameters"
    )


def _interest(loss: Loss) -> float:
    """Several loads, not all of them; a relay that lets go; a load that is only weaker."""
    some = len(loss.changed) < len(loss.loads)
    by_coil = bool(loss.changed - loss.hanging) and bool(loss.relays)
    weak = any(loss.level(load) not in IDLE for load in loss.changed)
    shared = len(loss.changed) > 1
    return (4.0 if some else 0.3) * (3.0 if shared else 0.5) * (1.0 + 2.0 * by_coil + weak)


@dataclass
class Writer:
    """Says what becomes of loads; each figure told is written down."""

    loss: Loss
    rng: random.Random
    figures: dict[str, Figure] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.sentences = Sentences(KIND_FILE, self.rng)
        self.why = Sentences("misconceptions", self.rng, "sentences")

    @property
    def part(self) -> str:
        """What lets nothing through: the part, or the one cavity or contact of it."""
        part, detail = self.loss.part, self.loss.fault.detail
        form = {c.Connector: "place_cavity", c.Switch: "place_contact"}.get(type(part))
        if form is None or not detail:
            return the(part)
        return self.sentences.say(form, part=the(part), pins=detail.replace("-", EN_DASH))

    def say(self, name: str, **words: str) -> str:
        """A sentence of this kind."""
        return capital(self.sentences.say(name, **words))

    def words(self, load: str) -> dict[str, str]:
        """A load with its volts before and now."""
        part = self.loss.circuit.by_id[load]
        words = {"load": the(part), "part": self.part}
        words["does"] = predicate([part], self.loss.level(load))
        for name, when, point in (
            ("was", "before", self.loss.sound),
            ("now", "now", self.loss.real),
        ):
            volts = round(self.loss.volts(load, point), 4) + 0.0
            words[name] = volts_words(volts)
            what = f"volts across {load} {when}"
            self.figures[what] = Figure(name=what, value=volts, unit="V")
        if self.loss.relays:
            words["relay"] = the(self.loss.relays[0])
        return words

    def taken(self) -> tuple[Figure, ...]:
        """The figures told since the last call."""
        found = tuple(self.figures.values())
        self.figures.clear()
        return found

    def next(self) -> str:
        """What to learn for the bench."""
        loss = self.loss
        name = "next" if len(loss.changed) > 1 else "next_alone"
        name = "next_all" if len(loss.changed) == len(loss.loads) else name
        return self.say(name, part=self.part)


# --- several answers: a load each ------------------------------------------------------


def _several(writer: Writer) -> Item | None:
    loss = writer.loss
    if len(loss.loads) < FEWEST_LOADS or len(loss.changed) == len(loss.loads):
        return None
    said: set[str] = set()
    options = [_load_option(writer, load, said) for load in loss.loads]
    writer.rng.shuffle(options)
    return _frame(writer, "several", options)


def _load_option(writer: Writer, load: str, said: set[str]) -> Option:
    """`said` are the misconceptions spoken of already."""
    loss = writer.loss
    right = load in loss.changed
    rationale = [writer.say(_fate(loss, load), **writer.words(load))]
    misconception = "" if right else _why_named(loss, load, said)
    if misconception and misconception not in said:
        rationale.append(writer.why.say(misconception))
        said.add(misconception)
    return Option(
        claim=load,
        text=capital(part_name(loss.circuit.by_id[load])),
        is_key=right,
        rationale=tuple(rationale),
        misconception=misconception,
        figures=writer.taken(),
    )


def _fate(loss: Loss, load: str) -> str:
    """Which sentence tells what becomes of a load."""
    if load in loss.changed:
        by_coil = "hit_by_coil" if loss.relays else "hit_otherwise"
        return "hit" if load in loss.hanging else by_coil
    return "spared_other_way" if load in loss.hanging else "spared"


def _why_named(loss: Loss, load: str, said: set[str]) -> str:
    """The wrong model that takes a load for one that is hit; one that has not been told first."""
    models = []
    if load in loss.behind_the_joint:
        models.append("branch-for-trunk")
    if any(load in loss.sharing(x, other_side=True) for x in loss.changed):
        models.append("feed-and-ground-mixed")
    models.append("branches-mixed-up")
    return next((name for name in models if name not in said), models[0])


# --- one answer: a set of loads ---------------------------------------------------------


def _one(writer: Writer, count: int) -> Item | None:
    loss = writer.loss
    wrong = _wrong_sets(loss, count - 1, writer.rng)
    if len(wrong) < min(count - 1, 2) or _gives_itself_away(loss, [loads for loads, _ in wrong]):
        return None
    options = [_key_option(writer)]
    options += [_wrong_option(writer, loads, why) for loads, why in wrong]
    writer.rng.shuffle(options)
    return _frame(writer, "one", options)


def _wrong_sets(loss: Loss, count: int, rng: random.Random) -> list[tuple[frozenset[str], str]]:
    """Different sets for different reasons, of like length."""
    pool = [(s, why) for s, why in loss.wrong_sets() if s and s != loss.changed]
    pool = [(s, why) for i, (s, why) in enumerate(pool) if s not in {t for t, _ in pool[:i]}]
    rng.shuffle(pool)
    pool.sort(key=lambda found: found[1] in LAST_RESORT)
    chosen: list[tuple[frozenset[str], str]] = []
    for fresh in (True, False):
        for loads, why in pool:
            sets = [loss.changed, *(s for s, _ in chosen)]
            lengths = [len(_set_text(loss, s)) for s in (*sets, loads)]
            fits = max(lengths) <= LONGEST_RATIO * max(min(lengths), FEW_LETTERS)
            known = why in {name for _, name in chosen}
            if fits and loads not in sets and known != fresh and len(chosen) < count:
                chosen.append((loads, why))
    return chosen


def _gives_itself_away(loss: Loss, wrong: Sequence[frozenset[str]]) -> bool:
    """The right set is much the longest text."""
    right, others = len(_set_text(loss, loss.changed)), [len(_set_text(loss, s)) for s in wrong]
    return right > FEW_LETTERS and right * len(others) > LONGEST_KEY * sum(others)


def _in_order(loss: Loss, loads: Iterable[str]) -> list[str]:
    return [load for load in loss.loads if load in loads]


def _set_text(loss: Loss, loads: Iterable[str]) -> str:
    return listed(_in_order(loss, loads))


def _key_option(writer: Writer) -> Option:
    loss = writer.loss
    loads = _in_order(loss, loss.changed)
    told = [writer.words(load) for load in loads]
    if len(loads) == 1:
        said = [writer.say("key_one", **told[0])]
    else:
        each = [writer.sentences.say("key_load", **words) for words in told]
        said = [writer.say("key_more", all="; ".join(each))]
    by_coil = [load for load in loads if _fate(loss, load) == "hit_by_coil"]
    if by_coil:
        said.append(writer.say("by_coil", **writer.words(by_coil[0])))
    return Option(
        claim=",".join(loads),
        text=_set_text(loss, loads),
        is_key=True,
        rationale=(*said, writer.next()),
        figures=writer.taken(),
    )


def _wrong_option(writer: Writer, loads: frozenset[str], why: str) -> Option:
    loss = writer.loss
    missing = _in_order(loss, loss.changed - loads)[:MOST_TOLD]
    extra = _in_order(loss, loads - loss.changed)[:MOST_TOLD]
    said = [writer.say("left_out", **writer.words(load)) for load in missing]
    said += [writer.say("named_too", **writer.words(load)) for load in extra]
    return Option(
        claim=",".join(_in_order(loss, loads)),
        text=_set_text(loss, loads),
        is_key=False,
        rationale=(*said, writer.why.say(why)),
        misconception=why,
        figures=writer.taken(),
    )


# --- the rest of the item ---------------------------------------------------------------


def _frame(writer: Writer, response: Response, options: Sequence[Option]) -> Item:
    loss = writer.loss
    circuit, moves = loss.circuit, loss.material.moves
    names = listed([the(circuit.by_id[load]) for load in loss.loads])
    state = state_words(circuit, dict(moves))
    claim = describe(circuit, loss.fault, severity=False, names=False)
    stem = (
        writer.say("stem" if state else "stem_at_rest", state=state, loads=names),
        f"{writer.say('lost', claim=claim)} {writer.say('counts')}",
    )
    for load in loss.loads:
        writer.words(load)
    return Item(
        **KIND.label(loss.material, writer.rng),
        key_kind=loss.part.kind,
        stem=stem,
        readings=(),
        question=writer.say(f"question_{response}"),
        options=tuple(options),
        origin=loss.material.origin(str(loss.fault)),
        proof=Proof(observed=_seen(loss), figures=writer.taken()),
        response=response,
        told=(str(loss.fault),),
        solution=(writer.next(),) if response == "several" else (),
    )


def _seen(loss: Loss) -> tuple[Observed, ...]:
    """What the loads do before anything is wrong."""
    levels = {o.load: o.level for o in loss.material.seen}
    return tuple(Observed(part=load, level=levels[load]) for load in loss.loads)


KIND = Kind(
    name=NAME,
    about="which loads fail together when a feed or a ground is lost",
    level="read",
    responses=("several", "one"),
    make=make,
)
