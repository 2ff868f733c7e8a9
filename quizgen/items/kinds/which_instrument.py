"""Question kind: which check, with which result, confirms a suspicion?

A fault is in the circuit and named as a suspicion. Options are an instrument, two points, what
is taken apart, and what it shows. The key's check is safe, shows that on the faulty circuit and
something plainly different on the sound one. Wrong ones give the sound circuit's result, or one
that a wrong model expects, or show the same either way, or are unsafe.

The claim of an option is `ACT -> shown`; the figures are what the check shows on the faulty and
on the sound circuit, as far as it may be done.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from quizgen.base.errors import InputError, UnprovableError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults import Fault, describe, inject
from quizgen.instruments.measurement import Shown, distinguishable
from quizgen.items.act import Act
from quizgen.items.act_words import display, say_act, say_point, say_shown, take
from quizgen.items.complaint import complaints, told
from quizgen.items.item import Figure, Item, Option, Proof
from quizgen.items.kind import Kind
from quizgen.items.lookalikes import alike
from quizgen.items.material import Material, Request
from quizgen.items.places import ends, nature
from quizgen.items.sentences import Sentences, volts_words
from quizgen.items.stem import write_stem

NAME = "which-instrument"
FILE = "which_instrument"
MOST_FAULTS = 10
LONGEST_RATIO = 1.7
DECLINED = 0.6  # of keys longer than all other options, so that length tells nothing
ON_DEAD = ("ohmmeter", "self-powered-lamp")
CLEARLY = 0.5  # of what an instrument can tell apart: nobody may argue about the rest
SUSPECTED = ("open", "resistance")
OPEN_OR_SHUT = ("OL", "0.0 Ω")
NO_VOLTS, FULL_SHARE = 0.3, 0.9  # of the supply: nothing, and as good as everything
NEAR = 0.1  # share by which an ohmmeter may differ from the resistance that was added
LIVE_VOLTS = 1.0  # that a warning can point at


@dataclass(frozen=True)
class Check:
    """An act, and what it shows on the faulty and on the sound circuit. `wires` leads to it."""

    act: Act
    bad: Shown
    good: Shown

    @property
    def unsafe(self) -> bool:
        return bool(self.good.refused)

    @property
    def sure(self) -> bool:
        """Anybody would see one thing, and nothing speaks against doing it."""
        both = (self.bad, self.good)
        swings = any(s.low != s.high for s in both)
        return not swings and not any(s.refused or s.warnings or s.doubts for s in both)

    @property
    def decides(self) -> bool:
        return self.sure and distinguishable(self.bad, self.good)

    @property
    def hopeless(self) -> bool:
        """Nobody would see a difference, also not somebody with a better eye for the last digit."""
        if not self.sure or self.bad.shown == self.good.shown:
            return self.sure
        apart = abs((self.bad.raw or 0.0) - (self.good.raw or 0.0))
        slack = self.bad.tolerance + self.good.tolerance + self.bad.resolution
        return apart < CLEARLY * slack


@dataclass(frozen=True)
class Choice:
    """An option before it is written: the check, what it is said to show, why it is wrong."""

    check: Check
    said: str
    sort: str  # "" for the key, else the misconception


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item. Raises UnprovableError when no suspicion can be decided in this state."""
    d = material.dictionary
    supplies = [p for p in d.circuit.parts if isinstance(p, c.Battery | c.Source | c.Alternator)]
    if len(supplies) != 1 or not isinstance(supplies[0], c.Battery):
        raise UnprovableError(f"{material.template}: more than a battery feeds it")
    same = [i for i in request.used if i.kind == NAME]
    for row in complaints(d, same, rng, MOST_FAULTS):
        claim = d.claims[d.members[row].claim]
        if nature(claim) not in SUSPECTED or isinstance(d.circuit.part(claim.part), c.Battery):
            continue
        choices = _choices(d, row, claim, same, request.options, rng)
        if choices:
            return _write(d, row, choices, material, rng)
    raise UnprovableError(
        f"{material.template}: no suspicion can be decided with {dict(material.moves)}; "
        "try other positions or parameters"
    )


# --- the checks -----------------------------------------------------------------------------


def _checks(d: FaultDictionary, row: int, claim: Claim) -> list[Check]:
    """Everything that somebody might think of at the two ends of the suspected spot."""
    fault = d.members[row].fault
    assert fault is not None  # a complaint has a fault behind it
    faulty = inject(d.circuit, fault)
    found = []
    for act in dict.fromkeys(_acts(d, claim)):
        try:
            bad, good = take([faulty, d.circuit], act)
        except InputError:  # both leads on one point, nothing left at a terminal
            continue
        found.append(Check(act, bad, good))
    return found


def _acts(d: FaultDictionary, claim: Claim) -> Iterator[Act]:
    circuit, moves = d.circuit, d.moves
    a, b = ends(circuit, claim)
    part, battery = circuit.part(claim.part), _battery(circuit)
    if _sound(d, a) < _sound(d, b):
        a, b = b, a
    yield Act(instrument="voltmeter", red=a, black=b, moves=moves)
    yield Act(instrument="ohmmeter", red=a, black=b, moves=moves)
    yield Act(instrument="ohmmeter", red=a, black=b, moves=moves, unplugged=(battery.id,))
    yield Act(instrument="self-powered-lamp", red=a, black=b, moves=moves)
    for node in (a, b):
        for instrument in ("voltmeter", "test-lamp"):
            yield Act(instrument=instrument, red=node, black=circuit.reference, moves=moves)
    load = _load_of(d, claim)
    if load is not None and load.id != part.id:
        for node in (a, b):
            yield Act(
                instrument="voltmeter", red=node, black=circuit.reference, moves=moves,
                unplugged=(load.id,),
            )  # fmt: skip
    if isinstance(part, (*c.LOADS, c.Fuse, c.Relay)):
        yield from _off_its_wires(part, battery, moves, d)


def _off_its_wires(
    part: c.Part, battery: c.Part, moves: tuple[tuple[str, str], ...], d: FaultDictionary
) -> Iterator[Act]:
    out = isinstance(part, c.Fuse | c.Relay | c.Lamp)
    first, second = part.terminals[:2]
    for instrument in ON_DEAD:
        yield Act(
            instrument=instrument, red=f"{part.id}/{first}", black=f"{part.id}/{second}",
            moves=moves, removed=(part.id,) if out else (),
            unplugged=(battery.id, *(() if out else (part.id,))),
        )  # fmt: skip


def _load_of(d: FaultDictionary, claim: Claim) -> c.Part | None:
    """A load that fails under the claim."""
    row = d.row(claim.usual)
    failing = [
        now.load
        for now, sound in zip(d.seen[row], d.seen[0], strict=True)
        if now.level != sound.level
    ]
    return d.circuit.part(failing[0]) if failing else None


def _battery(circuit: Circuit) -> c.Part:
    return next(p for p in circuit.parts if isinstance(p, c.Battery))


def _sound(d: FaultDictionary, node: str) -> float:
    return 0.0 if node == d.circuit.reference else float(d.low[d.points.index(node), 0])


# --- the options ----------------------------------------------------------------------------


def _choices(
    d: FaultDictionary, row: int, claim: Claim, used: Sequence[Item], options: int,
    rng: random.Random,
) -> list[Choice]:  # fmt: skip
    """The key first; empty if nothing decides or too few wrong ones are left."""
    checks = _checks(d, row, claim)
    keys = [check for check in checks if check.decides]
    rivals = alike(d, row, perhaps=True)
    rng.shuffle(keys)
    had = [i.key.claim.split(maxsplit=1)[0] for i in used]
    keys.sort(key=lambda check: had.count(check.act.instrument))
    for check in keys:
        if not (_foreseen(d, claim, check) and _confirms(d.circuit, check, rivals)):
            continue
        key = Choice(check, display(check.bad), "")
        found = list(_wrong(d, claim, checks, rng))
        rng.shuffle(found)
        found.sort(key=lambda choice: choice.check is check)  # its mirror image last
        chosen = [key]
        for choice in found:
            if len(chosen) < options and _fits_in(d.circuit, chosen, choice):
                chosen.append(choice)
        if len(chosen) > max(2, options - 2) and not (
            _key_is_longest(d.circuit, chosen) and rng.random() < DECLINED
        ):
            return chosen
    return []


def _key_is_longest(circuit: Circuit, chosen: Sequence[Choice]) -> bool:
    key, *others = (len(_text(circuit, choice)) for choice in chosen)
    return key > max(others)


def _foreseen(d: FaultDictionary, claim: Claim, check: Check) -> bool:
    """Somebody who thinks it over can say beforehand what the check shows.

    Of an open spot: nothing or everything. Not what a parallel path of unknown resistance or a
    light-emitting diode makes of it.
    """
    raw, supply = check.bad.raw, abs(_sound(d, d.circuit.supply))
    if raw is None:
        return False
    if check.act.instrument == "ohmmeter":
        added = float(str(claim.usual).rpartition("=")[2].rpartition(":")[2]) if claim.graded else 0
        return display(check.bad) == "OL" or abs(raw - added) <= NEAR * raw
    if check.act.instrument == "voltmeter" and nature(claim) == "open":
        return abs(raw) < NO_VOLTS or abs(raw) > FULL_SHARE * supply
    return True


def _confirms(circuit: Circuit, check: Check, rivals: Sequence[Fault]) -> bool:
    """No other fault that would look the same gives the same reading."""
    if not rivals:
        return True
    seen = take([inject(circuit, fault) for fault in rivals], check.act)
    return all(distinguishable(check.bad, shown) for shown in seen)


def _fits_in(circuit: Circuit, chosen: list[Choice], choice: Choice) -> bool:
    """Another sort, another act but for one, of like length."""
    if any(o.sort == choice.sort for o in chosen):
        return False
    acts = [o.check.act for o in chosen]
    if choice.check.act in acts[1:]:
        return False
    lengths = [len(_text(circuit, o)) for o in (*chosen, choice)]
    return max(lengths) <= LONGEST_RATIO * min(lengths)


def _wrong(
    d: FaultDictionary, claim: Claim, checks: list[Check], rng: random.Random
) -> Iterator[Choice]:
    loaded = checks[0]  # the voltmeter across the spot, as the machine stands
    for check in checks:
        act = check.act
        if check.unsafe and act.instrument in ON_DEAD:
            said = "dark" if act.instrument == "self-powered-lamp" else "OL"
            sort = "live-continuity" if act.instrument == "self-powered-lamp" else "live-ohmmeter"
            yield Choice(check, said, sort)
        elif check.decides:
            yield Choice(check, display(check.good), _mirrored(d.circuit, check, claim))
        elif check.hopeless:
            yield Choice(check, display(check.bad), "cannot-tell")
            poor = nature(claim) == "resistance"
            if poor and act.unplugged and act.instrument == "voltmeter":
                other = next((k for k in checks if k.decides and _same_place(k, check)), loaded)
                if other.decides and distinguishable(other.bad, check.bad):
                    yield Choice(check, display(other.bad), "unloaded-is-loaded")
            if act.instrument == "ohmmeter" and not poor and display(check.bad) != "OL":
                yield Choice(check, "OL", "parallel-path")


def _same_place(one: Check, other: Check) -> bool:
    return replace(other.act, unplugged=()) == one.act


def _mirrored(circuit: Circuit, check: Check, claim: Claim) -> str:
    """Why one expects of a bad spot what a sound one shows."""
    act = check.act
    if act.instrument == "ohmmeter" and (display(check.bad), display(check.good)) == OPEN_OR_SHUT:
        return "nothing-for-open"
    if act.instrument == "voltmeter" and act.black != circuit.reference and (
        nature(claim) == "open"
    ):  # fmt: skip
        return "no-current-no-voltage"
    return "reads-it-backwards"


def _text(circuit: Circuit, choice: Choice) -> str:
    shown = {"lit bright": "lit"}.get(choice.said, choice.said)
    return f"{say_act(circuit, choice.check.act)}: {shown}"


# --- the words ------------------------------------------------------------------------------


def _write(
    d: FaultDictionary, row: int, choices: list[Choice], material: Material, rng: random.Random
) -> Item:
    circuit, fault = d.circuit, d.members[row].fault
    assert fault is not None  # a complaint has a fault behind it
    sentences = Sentences(FILE, rng)
    why = Sentences("misconceptions", rng, "sentences")
    options = [_option(d, choice, sentences, why) for choice in choices]
    rng.shuffle(options)
    stem = write_stem(d, row, material.complain, Sentences("fault_from_readings", rng))
    suspected = sentences.say("suspected", claim=_clause(circuit, fault))
    return Item(
        **KIND.label(material, rng),
        key_kind=circuit.part(fault.part).kind,
        stem=(*stem, suspected),
        readings=(),
        question=sentences.say("question"),
        options=tuple(options),
        origin=material.origin(str(fault)),
        proof=Proof(observed=told(d, row)),
        told=(str(fault),),
    )


def _clause(circuit: Circuit, fault: Fault) -> str:
    return describe(circuit, fault, names=False)


def _option(d: FaultDictionary, choice: Choice, sentences: Sentences, why: Sentences) -> Option:
    check = choice.check
    words = {"said": {"lit bright": "lit"}.get(choice.said, choice.said)}
    if not check.unsafe:
        words |= {"bad": say_shown(check.bad), "good": say_shown(check.good)}
    figures = () if check.unsafe else (
        Figure(name=f"with the fault: {display(check.bad)}", value=_finite(check.bad.raw),
               unit=check.bad.unit),
        Figure(name=f"sound: {display(check.good)}", value=_finite(check.good.raw),
               unit=check.good.unit),
    )  # fmt: skip
    if not choice.sort:
        rationale = (sentences.say("key", **words), sentences.say("next_open", **words))
    else:
        rationale = (_against(d, choice, words, sentences), why.say(choice.sort))
    return Option(
        claim=f"{replace(check.act, moves=())} -> {choice.said}",
        text=_text(d.circuit, choice),
        is_key=not choice.sort,
        rationale=rationale,
        misconception=choice.sort,
        figures=figures,
    )


def _against(
    d: FaultDictionary, choice: Choice, words: dict[str, str], sentences: Sentences
) -> str:
    """What the check would show instead, or why nobody does it."""
    if choice.check.unsafe:
        act = choice.check.act
        hot = max((act.red, act.black), key=lambda node: abs(_sound(d, node)))
        volts = abs(_sound(d, hot))
        name = "unsafe" if volts > LIVE_VOLTS else "unsafe_low"
        return sentences.say(name, volts=volts_words(volts), hot=say_point(d.circuit, hot))
    if choice.sort == "cannot-tell":
        same = words["bad"] == words["good"]
        return sentences.say("cannot_tell" if same else "cannot_tell_near", **words)
    if choice.sort == "unloaded-is-loaded":
        return sentences.say("wrong_unloaded", **words)
    name = "wrong_other" if choice.sort == "parallel-path" else "wrong_reading"
    return sentences.say(name, **words)


def _finite(raw: float | None) -> float:
    """OL is written −1."""
    return -1.0 if raw is None or raw == float("inf") else raw


KIND = Kind(
    name=NAME,
    about="which check confirms a suspicion, and what it shows",
    level="choose",
    responses=("one",),
    make=make,
)
