"""Question kind: which of these checks may be done as it stands, and tells something?

A fault is hidden; several others would look the same. The right check is safe and shows two of
them differently. Every other one is unsafe or shows nothing whatever is wrong, judged on the
sound circuit: who looks for a break does not know yet that it makes a wire harmless.

The claim of an option is its act (`items.act`); a bare wire is called `unfused-jumper`. The
key's figures are named after the two faults that it tells apart.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from quizgen.base.errors import UnprovableError
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.reach import conducting_pairs, load_pairs
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults import Fault, describe, inject
from quizgen.instruments.measurement import Shown
from quizgen.items.act import Act
from quizgen.items.act_words import UNFUSED, display, say_act, say_point, say_shown, take
from quizgen.items.calm import surely_apart
from quizgen.items.complaint import complaints, told
from quizgen.items.item import Figure, Item, Option, Proof
from quizgen.items.kind import Kind
from quizgen.items.lookalikes import alike, rows_alike
from quizgen.items.material import Material, Request
from quizgen.items.sentences import Sentences, volts_words
from quizgen.items.stem import write_stem

NAME = "safe-procedure"
FILE = "safe_procedure"
MOST_FAULTS = 8  # hidden ones tried
MOST_KEYS = 6  # checks tried for one
LEAST_VOLTS = 5.0  # between two points for a short or a live point to be worth a warning
LONGEST_RATIO = 1.7
LIKE_THE_KEY = 0.5  # how often a wrong check with the key's instrument comes first
SETTLED = "tests-what-is-ruled-out"
OFTEN_SETTLED = 0.7  # how often a check that is safe and idle is among the wrong ones
SAME_VOLTS = 0.04  # between all suspects, for a point that tells nothing
CONTACTS = (c.Switch, c.Relay, c.Fuse)
ON_DEAD = ("ohmmeter", "self-powered-lamp")


@dataclass(frozen=True)
class Draft:
    """The right check, what it shows under two faults, and the wrong checks by sort."""

    row: int
    key: Act
    faults: tuple[Fault, Fault]
    shown: tuple[Shown, Shown]
    wrong: tuple[tuple[str, Act], ...]


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item. Raises UnprovableError when no safe check tells two like faults apart."""
    d = material.dictionary
    if _several_supplies(d.circuit):
        raise UnprovableError(f"{material.template}: more than a battery feeds it")
    same = [i for i in request.used if i.kind == NAME]
    for row in complaints(d, same, rng, MOST_FAULTS):
        draft = _draft(d, row, same, request.options, rng)
        if draft is not None:
            return _write(draft, material, rng)
    raise UnprovableError(
        f"{material.template}: no check tells two like faults apart with "
        f"{dict(material.moves)}; try other positions or parameters"
    )


def _several_supplies(circuit: Circuit) -> bool:
    supplies = [p for p in circuit.parts if isinstance(p, c.Battery | c.Source | c.Alternator)]
    return len(supplies) != 1 or not isinstance(supplies[0], c.Battery)


# --- the checks -----------------------------------------------------------------------------


def _draft(
    d: FaultDictionary, row: int, used: Sequence[Item], options: int, rng: random.Random
) -> Draft | None:
    hidden = d.members[row].fault
    assert hidden is not None  # a complaint has a fault behind it
    others = alike(d, row)
    perhaps = {d.claims[d.members[r].claim].part for r in rows_alike(d, row) if r}
    rng.shuffle(others)
    keys = [key for other in others[:4] for key in _keys(d, row, other, rng)]
    had = [i.key.claim.split(maxsplit=1)[0] for i in used]
    rng.shuffle(keys)
    keys.sort(key=lambda key: had.count(key[0].instrument))
    for act, other in keys[:MOST_KEYS]:
        faults = hidden, other
        shown = _told_apart(d.circuit, act, faults)
        clear = {hidden.part, *perhaps}
        wrong = _wrong(d, row, act, clear, options - 1, rng) if shown else ()
        if shown and len(wrong) >= max(2, options - 2):
            return Draft(row, act, faults, shown, wrong)
    return None


def _keys(
    d: FaultDictionary, row: int, other: Fault, rng: random.Random
) -> list[tuple[Act, Fault]]:
    """Checks that may show the hidden fault and another differently."""
    theirs, circuit = d.row(other), d.circuit
    gaps = [abs(float(d.low[p, row] - d.low[p, theirs])) for p in range(len(d.points))]
    points = [d.points[p] for p, gap in enumerate(gaps) if gap > LEAST_VOLTS]
    found = [
        Act(instrument=instrument, red=point, black=circuit.reference, moves=d.moves)
        for point in rng.sample(points, min(3, len(points)))
        for instrument in ("voltmeter", "test-lamp")
    ]
    hidden = d.members[row].fault
    for fault in (hidden, other):
        part = circuit.by_id[fault.part] if fault else None
        found += [_isolated(d, part, i) for i in ON_DEAD] if _comes_off(part) else []
    return [(act, other) for act in found if act is not None]


def _comes_off(part: c.Part | None) -> bool:
    return isinstance(part, c.Fuse | c.Relay | c.Solenoid | c.Heater | c.Lamp | c.Motor)


def _isolated(d: FaultDictionary, part: c.Part | None, instrument: str) -> Act:
    """A part off its wires, the battery off as well."""
    assert part is not None  # as asked before
    out = isinstance(part, c.Fuse | c.Relay | c.Lamp)
    first, second = part.terminals[:2]
    return Act(
        instrument=instrument, red=f"{part.id}/{first}", black=f"{part.id}/{second}",
        moves=d.moves,
        removed=(part.id,) if out else (),
        unplugged=(_battery(d.circuit).id, *(() if out else (part.id,))),
    )  # fmt: skip


def _battery(circuit: Circuit) -> c.Part:
    return next(p for p in circuit.parts if isinstance(p, c.Battery))


def _told_apart(
    circuit: Circuit, act: Act, faults: tuple[Fault, Fault]
) -> tuple[Shown, Shown] | None:
    """What the check shows under each fault, if it is safe and the two differ."""
    sound, *shown = take([circuit, *(inject(circuit, fault) for fault in faults)], act)
    if any(s.refused or s.warnings or s.doubts for s in (sound, *shown)):
        return None
    one, other = shown
    return (one, other) if surely_apart(one, other) else None


# --- the wrong checks -----------------------------------------------------------------------


def _wrong(
    d: FaultDictionary, row: int, key: Act, suspects: set[str], count: int, rng: random.Random
) -> tuple[tuple[str, Act], ...]:
    """Checks of different sorts, at times one of them with the key's own instrument.

    Often one is safe and tells nothing: who only looks for the harmless one has two to choose from.
    """
    found = list(_candidates(d, suspects, rng))
    rng.shuffle(found)
    if rng.random() < LIKE_THE_KEY:
        found.sort(key=lambda pair: pair[1].instrument != key.instrument)
    if rng.random() < OFTEN_SETTLED:
        found = [*_settled(d, row, rng), *found]
    chosen: list[tuple[str, Act]] = []
    for sort, act in found:
        if len(chosen) == count:
            break
        others = [key, *(a for _, a in chosen)]
        again = sum(a.instrument == act.instrument for a in others) > 1
        if again or any(sort == s for s, _ in chosen) or act in others:
            continue
        lengths = [len(say_act(d.circuit, a)) for a in (*others, act)]
        if max(lengths) <= LONGEST_RATIO * min(lengths) and _is_wrong(d.circuit, sort, act):
            chosen.append((sort, act))
    return tuple(chosen)


def _settled(d: FaultDictionary, row: int, rng: random.Random) -> list[tuple[str, Act]]:
    """A voltmeter where every suspect, and the sound circuit too, gives the same."""
    rows = [0, row, *rows_alike(d, row)]
    spread = d.high[:, rows].max(axis=1) - d.low[:, rows].min(axis=1)
    points = [p for p, gap in zip(d.points, spread.tolist(), strict=True) if gap < SAME_VOLTS]
    frame = d.circuit.reference
    return [
        (SETTLED, Act(instrument="voltmeter", red=point, black=frame, moves=d.moves))
        for point in rng.sample(points, min(2, len(points)))
    ]


def _is_wrong(circuit: Circuit, sort: str, act: Act) -> bool:
    """The sound circuit forbids it, or it has nothing to show."""
    if act.instrument == UNFUSED or sort == SETTLED:
        return True
    shown = take([circuit], act)[0]
    return bool(shown.warnings) if sort in ("no-supply", "ammeter-beside-the-path") else bool(
        shown.refused
    )  # fmt: skip


def _candidates(
    d: FaultDictionary, suspects: set[str], rng: random.Random
) -> Iterator[tuple[str, Act]]:
    circuit, frame = d.circuit, d.circuit.reference
    for a, b in _across(d, rng):
        hot, cold = (a, b) if _sound(d, a) > _sound(d, b) else (b, a)
        yield "live-ohmmeter", Act(instrument="ohmmeter", red=hot, black=cold, moves=d.moves)
        yield (
            "live-continuity",
            Act(instrument="self-powered-lamp", red=hot, black=frame, moves=d.moves),
        )
        yield (
            "jumper-across-load",
            Act(instrument="fused-jumper", red=hot, black=cold, moves=d.moves),
        )
        yield "ammeter-across-supply", Act(instrument="ammeter", red=hot, black=cold, moves=d.moves)
        off = (_battery(circuit).id,)
        for instrument in ("voltmeter", "test-lamp"):
            yield (
                "no-supply",
                Act(instrument=instrument, red=hot, black=cold, moves=d.moves, unplugged=off),
            )
    contacts = [p for p in circuit.parts if isinstance(p, CONTACTS)]
    for part in rng.sample(contacts, min(3, len(contacts))):
        a, b = rng.choice(conducting_pairs(part))
        yield "unfused-jumper", Act(instrument=UNFUSED, red=a, black=b, moves=d.moves)
        if part.id not in suspects:  # a break there would make it a fair check
            yield (
                "ammeter-beside-the-path",
                Act(instrument="ammeter", red=a, black=b, moves=d.moves),
            )


def _across(d: FaultDictionary, rng: random.Random) -> list[tuple[str, str]]:
    """The ends of loads and coils that have their voltage when all is sound."""
    found = [
        pair
        for part in d.circuit.parts
        if isinstance(part, (*c.LOADS, c.Relay))
        for pair in load_pairs(part)
        if abs(_sound(d, pair[0]) - _sound(d, pair[1])) > LEAST_VOLTS
    ]
    rng.shuffle(found)
    return found[:3]


def _sound(d: FaultDictionary, node: str) -> float:
    return 0.0 if node == d.circuit.reference else float(d.low[d.points.index(node), 0])


# --- the words ------------------------------------------------------------------------------


def _write(draft: Draft, material: Material, rng: random.Random) -> Item:
    d, circuit = material.dictionary, material.circuit
    sentences = Sentences(FILE, rng)
    why = Sentences("misconceptions", rng, "sentences")
    options = [_key(draft, circuit, sentences)]
    options += [_wrong_option(d, sort, act, sentences, why) for sort, act in draft.wrong]
    rng.shuffle(options)
    stem = write_stem(d, draft.row, material.complain, Sentences("fault_from_readings", rng))
    return Item(
        **KIND.label(material, rng),
        key_kind=circuit.part(draft.faults[0].part).kind,
        stem=(*stem, sentences.say("assumed")),
        readings=(),
        question=sentences.say("question"),
        options=tuple(options),
        origin=material.origin(str(draft.faults[0])),
        proof=Proof(observed=told(d, draft.row)),
    )


def _key(draft: Draft, circuit: Circuit, sentences: Sentences) -> Option:
    """Why it is safe, and what it shows under the two faults."""
    clauses = [describe(circuit, f, severity=False, names=False) for f in draft.faults]
    shown = [say_shown(s) for s in draft.shown]
    name = "key_dead" if draft.key.instrument in ON_DEAD else "key_live"
    return Option(
        claim=str(_claimed(draft.key)),
        text=say_act(circuit, draft.key),
        is_key=True,
        rationale=(
            sentences.say(
                name, first=clauses[0], second=clauses[1],
                shows_first=shown[0], shows_second=shown[1],
            ),
            sentences.say("next_key"),
        ),
        figures=tuple(
            Figure(name=f"{fault}: {display(s)}", value=_finite(s.raw), unit=s.unit)
            for fault, s in zip(draft.faults, draft.shown, strict=True)
        ),
    )  # fmt: skip


def _finite(raw: float | None) -> float:
    """OL is written −1."""
    return -1.0 if raw is None or raw == float("inf") else raw


def _claimed(act: Act) -> Act:
    """Without the moves, which are the item's own."""
    return replace(act, moves=())


def _wrong_option(
    d: FaultDictionary, sort: str, act: Act, sentences: Sentences, why: Sentences
) -> Option:
    red, black = _sound(d, act.red), _sound(d, act.black)
    hot = act.red if abs(red) >= abs(black) else act.black
    volts = volts_words(max(abs(red), abs(black)) if sort.startswith("live") else abs(red - black))
    return Option(
        claim=str(_claimed(act)),
        text=say_act(d.circuit, act),
        is_key=False,
        rationale=(
            sentences.say(sort, hot=say_point(d.circuit, hot), volts=volts),
            why.say(sort),
        ),
        misconception=sort,
    )


KIND = Kind(
    name=NAME,
    about="which check is safe as it stands, and tells something",
    level="choose",
    responses=("one",),
    make=make,
)
