"""Verifies "which fault explains the complaint".

1. all that is said to be seen and heard is, in every state, without doubt, and nothing visible
   is passed over; something is wrong with it
2. the key is the fault put in
3. every wrong option is ruled out, at whatever severity, by the observation that it names, and
   no two of them do the same at their worst
4. the words and the figures are those of the circuit
"""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.circuit.components import LOADS
from quizgen.faults import Fault, describe, parse_fault
from quizgen.items.item import Item, Observed, Option
from quizgen.items.verify.bench import CLICKERS, Benches, claim_of
from quizgen.items.verify.meter import HALF_DIGIT, Moves
from quizgen.items.verify.tour import CALM, Tour, unsettled
from quizgen.items.verify.words import FIGURE, IDLE, controls_named, told_of

MOST_STATES = 8
NOTHING_WRONG = "sound"


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    fault = parse_fault(item.origin.fault)
    own = item.origin.positions
    seen = item.proof.observed
    states = tuple(dict.fromkeys([own, *(_moves(o, item) for o in seen)]))
    if len(states) > MOST_STATES:
        yield f"{len(states)} states are too many for one look at a machine"
        return
    if item.readings:
        yield "there are readings; nobody has put a meter on this machine"
    tour = Tour(benches, states)
    if item.key.claim != claim_of(benches.circuit, fault):
        yield f"the key is {item.key.claim}; the fault put in is {fault}"
    kind = benches.circuit.part(fault.part).kind.replace("_", " ")
    if item.key_kind.replace("_", " ") != kind:
        yield f"the kind of part at fault is {item.key_kind}; {fault.part} is a {kind}"
    unseen = [o.part for o in seen if not _watched(tour, o.part)]
    if unseen:
        yield f"{unseen[0]} is said to be seen; it is neither a load in sight nor a relay"
        return
    yield from _check_observed(item, tour, fault)
    yield from _check_stem(item, tour)
    for option in item.options:
        yield from _check_option(item, tour, option)
    yield from _alike(item, tour)


def _moves(observed: Observed, item: Item) -> Moves:
    return item.origin.positions if observed.moves is None else observed.moves


def _watched(tour: Tour, part_id: str) -> bool:
    part = tour.circuit.part(part_id)
    load = isinstance(part, LOADS) and part_id not in tour.circuit.unobserved
    return load or isinstance(part, CLICKERS)


def _check_observed(item: Item, tour: Tour, fault: Fault) -> Iterator[str]:
    ways = tour.ways(fault)
    if len(ways) > 1:
        yield f"{fault} may turn out in {len(ways)} ways"
    for moves in tour.states:
        sound, faulty = tour.benches.at(moves).sound[0].point, ways[0][moves].point
        for what, point in (("the sound circuit", sound), ("the faulty circuit", faulty)):
            if point.behaviour not in CALM or unsettled(point):
                yield f"{what} is in doubt or in unrest {_when(moves)}: {point.behaviour}"
    wrong = 0
    for o in item.proof.observed:
        moves = _moves(o, item)
        levels = tour.levels(fault, moves, o.part)
        if levels != {o.level}:
            found = " or ".join(sorted(levels)) or "in doubt"
            yield f"{o.part} is said to be {o.level!r} {_when(moves)}; it is {found}"
        bench = tour.benches.at(moves)
        wrong += o.level not in bench.levels(o.part, (bench.sound,))
    if not wrong:
        yield "nothing told differs from a sound machine"
    told = {(_moves(o, item), o.part) for o in item.proof.observed}
    for moves in tour.states:
        for part in tour.circuit.parts:
            if isinstance(part, LOADS) and _watched(tour, part.id) and (moves, part.id) not in told:
                yield f"it is not told what {part.id} does {_when(moves)}"


def _when(moves: Moves) -> str:
    return f"with {' '.join(f'{k}={v}' for k, v in moves)}" if moves else "at rest"


def _check_stem(item: Item, tour: Tour) -> Iterator[str]:
    """For each state one paragraph names its positions and all that is at work or out of order."""
    for moves in tour.states:
        mine = [o for o in item.proof.observed if _moves(o, item) == moves]
        bench = tour.benches.at(moves)
        named = [
            o.part
            for o in mine
            if o.level not in IDLE or o.level not in bench.levels(o.part, (bench.sound,))
        ]
        if not any(
            _state_of(tour, paragraph.partition(":")[0], moves)
            and all(told_of(part, paragraph) for part in named)
            for paragraph in item.stem
        ):
            yield f"no paragraph tells what happens {_when(moves)}"


def _state_of(tour: Tour, text: str, moves: Moves) -> bool:
    """The controls that `text` names are those moved, and it gives their positions."""
    named = controls_named(tour.circuit, text)
    return named == set(dict(moves)) and all(told_of(position, text) for _, position in moves)


def _check_option(item: Item, tour: Tour, option: Option) -> Iterator[str]:
    bench = tour.bench()
    members = bench.claims.get(option.claim)
    if members is None:
        yield f"option {option.claim}: the circuit has no such fault"
        return
    clause = describe(tour.circuit, members[0], severity=False, names=False)
    if option.text != clause[0].upper() + clause[1:]:
        yield f"option {option.claim} reads {option.text!r}; the claim is {clause!r}"
    yield from _check_figures(item, tour, option)
    if not option.is_key:
        yield from _check_refuted(item, tour, option, members)


def _check_refuted(
    item: Item, tour: Tour, option: Option, members: tuple[Fault, ...]
) -> Iterator[str]:
    r, what = option.refuted_by, f"option {option.claim}"
    if r is None or r.reading != -1:
        yield f"{what}: no observation is said to refute it"
        return
    if r.claim != option.claim:
        yield f"{what}: its refutation is about {r.claim}"
    moves = item.origin.positions if r.moves is None else r.moves
    told = {(_moves(o, item), o.part): o.level for o in item.proof.observed}
    if told.get((moves, r.part)) != r.found:
        yield f"{what}: the item does not tell that {r.part} is {r.found!r} {_when(moves)}"
        return
    tour.prepare(members)
    if not tour.rules_out(members, moves, r.part, r.found):
        yield f"{what}: with that fault {r.part} may be {r.found!r} as well {_when(moves)}"
    if not any(r.instead in tour.levels(fault, moves, r.part) for fault in members):
        yield f"{what}: with that fault {r.part} is not {r.instead!r} {_when(moves)}"


def _check_figures(item: Item, tour: Tour, option: Option) -> Iterator[str]:
    """Each is what it is said to be, and no other figure in volts is in the rationale."""
    moves = item.origin.positions
    if option.refuted_by is not None and option.refuted_by.moves is not None:
        moves = option.refuted_by.moves
    about = option.refuted_by.part if option.refuted_by else ""
    if moves not in tour.states:
        return  # said elsewhere: the item does not tell of this state
    stated = []
    for figure in option.figures:
        part, _, name = figure.name.partition(" ")
        known = {item.origin.fault, NOTHING_WRONG} | {
            str(f) for f in tour.bench().claims[option.claim]
        }
        if name not in known or part != (about or part) or not _watched(tour, part):
            yield f"option {option.claim}: {figure.name!r} is no voltage in this item"
            continue
        volts = _across(tour, name, part, moves)
        stated.append(figure.value)
        if abs(volts - figure.value) > HALF_DIGIT or figure.unit != "V":
            yield f"option {option.claim}: {figure.name} has {volts:.2f} V, not {figure.value:g}"
    for text in FIGURE.findall(" ".join(option.rationale)):
        if not any(abs(float(text) - value) < 0.01 for value in stated):
            yield f"option {option.claim}: {text} V in its rationale is none of its figures"


def _across(tour: Tour, name: str, part_id: str, moves: Moves) -> float:
    """Volts across a load or a coil; the highest while it flashes."""
    if name == NOTHING_WRONG:
        point = tour.benches.at(moves).sound[0].point
    else:
        point = tour.ways(parse_fault(name))[0][moves].point
    found = [0.0]
    for at in (point, *(phase.point for phase in point.phases)):
        part = at.circuit.part(part_id)
        volts = at.across(part)
        some = volts[:1] if isinstance(part, CLICKERS) else volts
        found += map(abs, some)
    return max(found)


def _alike(item: Item, tour: Tour) -> Iterator[str]:
    """Two wrong options that at their worst do the same in everything told."""
    claims = tour.bench().claims
    wrong = [o.claim for o in item.options if not o.is_key and o.claim in claims]
    seen = [
        [tour.levels(claims[claim][-1], _moves(o, item), o.part) for o in item.proof.observed]
        for claim in wrong
    ]
    for i, one in enumerate(wrong):
        for k in range(i + 1, len(wrong)):
            if seen[i] == seen[k]:
                yield f"options {one} and {wrong[k]}: nothing told can tell them apart"
