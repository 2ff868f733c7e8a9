"""What a student is told during a hunt, as pages for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit, Control
from quizgen.drill.hunt import engine as e
from quizgen.drill.hunt.case import ANY
from quizgen.drill.hunt.engine import Act, Hunt, Outcome, Taken
from quizgen.drill.hunt.typed import SHORT, in_hand
from quizgen.drill.hunt.words import (
    act_words,
    entry,
    minutes,
    point_words,
    say,
    shown_words,
    turned_words,
)
from quizgen.drill.page import Block, Entry, Page, Para, Rows, Title
from quizgen.faults.wording import part_name
from quizgen.items.sentences import capital, control_words


def opening(hunt: Hunt, going_on: bool) -> Page:
    """What there is to be found, and on what."""
    case = hunt.case
    title = capital(case.circuit.title or case.circuit.name)
    where = f"{case.machine}. {title}" if case.machine else title
    blocks: list[Block] = [
        Title(say("title", where=where)),
        *(Para(text) for text in case.story),
    ]
    if case.wish.level not in (ANY, case.level):
        blocks.append(Para(say("other_level", wanted=case.wish.level, level=case.level)))
    if going_on:
        blocks.append(Para(say("going_on", minutes=minutes(hunt.standing.minutes))))
    else:
        blocks.append(Para(say("task", point=_some_point(case.circuit))))
    return (*blocks, Para(" ".join([say("cautions"), *case.circuit.cautions])))


def help_page() -> Page:
    """All that can be typed."""
    table = Rows(tuple(entry("help_heads")), tuple(entry("help").items()))
    return (table, Para(say("help_costs")))


def _some_point(circuit: Circuit) -> str:
    """A terminal to show how one is written: of a fuse or load, so that it is of some use."""
    able = [p for p in circuit.parts if isinstance(p, (c.Fuse, *c.LOADS))]
    part = able[0] if able else circuit.parts[0]
    return f"{part.id}.{part.terminals[-1 if isinstance(part, c.Fuse) else 0]}"


# --- after an act ---------------------------------------------------------------------


def told(hunt: Hunt, done: Act, outcome: Outcome) -> Page:
    """What came of an act; `hunt` is the one after it."""
    if outcome.refused:
        return (Para(say("stopped", reason=outcome.refused)),)
    blocks = [*_told(hunt, done, outcome)]
    circuit = hunt.case.circuit
    blocks += [
        Para(say("blown", part=capital(part_name(circuit.part(name))))) for name in outcome.blown
    ]
    if outcome.minutes:
        blocks.append(Para(say("costs", minutes=minutes(outcome.minutes)), follows=True))
    return tuple(blocks)


def _told(hunt: Hunt, done: Act, outcome: Outcome) -> Iterator[Block]:
    circuit = hunt.case.circuit
    match done.do:
        case e.TURN:
            rest = circuit.rest_positions()
            same = rest | dict(hunt.taken[-1].before.moves) == rest | dict(hunt.standing.moves)
            yield Para(
                say("unchanged") if same else say("turned", controls=turned_words(done.args))
            )
        case e.WATCH:
            yield from _sights(circuit, outcome)
        case e.MEASURE | e.JUMP if outcome.reading:
            yield from _reading(circuit, done, outcome)
        case e.JUMP:
            yield Para(say("jumper_off"))
        case e.APART:
            yield Para(say("is_apart", part=done.args[0], points=_pins(circuit, done.args[0])))
        case e.UNPLUG:
            yield Para(_off(circuit, done.args[0]))
        case e.BACK:
            yield Para(say("is_back", part=done.args[0]))
        case e.FUSE:
            yield Para(say("new_fuse", part=done.args[0]))
        case e.NOTE:
            yield Para(say("noted"))
        case _:
            pass


def _sights(circuit: Circuit, outcome: Outcome) -> Iterator[Block]:
    heard = entry("clicks")
    unsure = say("hard_to_tell")
    loads = [
        Entry(o.load, f"{o.level}{f' ({unsure})' if o.doubtful else ''}  {_name(circuit, o.load)}")
        for o in outcome.seen
    ]
    relays = [
        Entry(relay, f"{heard[said]}  {_name(circuit, relay)}")
        for relay, said in outcome.heard
        if said
    ]
    found: list[Block] = [*loads, *relays]
    yield from found or [Para(say("no_loads"))]


def _name(circuit: Circuit, part: str) -> str:
    name = circuit.part(part).name
    return f"({name})" if name else ""


def _reading(circuit: Circuit, done: Act, outcome: Outcome) -> Iterator[Block]:
    reading = outcome.reading
    assert reading is not None  # asked for by whoever calls
    points = [point_words(circuit, p) for p in done.args if p]
    if done.do == e.JUMP:
        holds = "not_held" if "blown" in reading.shown else "held"
        yield Para(say(holds, red=points[0], black=points[1]))
    else:
        one, *other = points[1:]
        leads = say("leads_two", red=one, black=other[0]) if other else say("leads_one", red=one)
        shown = reading.shown.replace("-", "−")
        yield Para(
            say("shows", instrument=SHORT.get(points[0], points[0]), leads=leads, shown=shown)
        )
    for text in reading.warnings:
        yield Para(say("warning", warning=text), follows=True)
    for text in reading.doubts:
        yield Para(say("doubt", doubt=text), follows=True)


def _pins(circuit: Circuit, part: str, mark: str = ".") -> str:
    pins = circuit.part(part).terminals
    shown = [f"{part}{mark}{pin}" for pin in pins]
    return ", ".join(shown)


def _off(circuit: Circuit, name: str) -> str:
    part = circuit.part(name)
    if isinstance(part, c.Battery | c.Source):
        others = [p for p in circuit.parts if isinstance(p, c.Battery | c.Source)]
        if len(others) == 1:
            return say("battery_off", part=name)
    return say("is_off", part=name, points=_pins(circuit, name), own=_pins(circuit, name, "/"))


# --- what can be asked at any time ----------------------------------------------------


def state_page(hunt: Hunt) -> Page:
    """How the machine stands."""
    circuit, now = hunt.case.circuit, hunt.standing
    stands = circuit.rest_positions() | dict(now.moves)
    controls = ", ".join(control_words(k, stands[k.name]) for k in circuit.controls)
    lines = [say("state_controls", controls=controls)] if controls else []
    known = [name for t in hunt.taken for name in t.outcome.blown if name in now.opened]
    if not (now.apart or now.unplugged or now.jumper):
        lines.append(say("state_none"))
    if now.apart:
        lines.append(say("state_apart", names=", ".join(now.apart)))
    if now.unplugged:
        lines.append(say("state_off", names=", ".join(now.unplugged)))
    if now.jumper:
        red, black = (point_words(circuit, p) for p in now.jumper)
        lines.append(say("state_jumper", red=red, black=black))
    if known:
        lines.append(say("state_blown", names=", ".join(dict.fromkeys(known))))
    tool = SHORT.get(in_hand(hunt), in_hand(hunt))
    spent = minutes(now.minutes)
    lines.append(say("state_spent", minutes=spent, unsafe=now.unsafe, instrument=tool))
    blocks: list[Block] = [Para(line) for line in lines]
    if hunt.notes:
        blocks += [Para(say("state_notes")), *(Entry("-", text) for text in hunt.notes)]
    return tuple(blocks)


def past_page(hunt: Hunt) -> Page:
    """All that was done."""
    rows = tuple(past_row(hunt.case.circuit, n, t) for n, t in enumerate(hunt.taken, 1))
    if not rows:
        return (Para(say("past_none")),)
    return (Rows(tuple(entry("heads")[:4]), rows),)


def past_row(circuit: Circuit, number: int, taken: Taken) -> tuple[str, ...]:
    """Number, act, minutes, what it showed."""
    cost = minutes(taken.outcome.minutes) if taken.outcome.minutes else ""
    return str(number), act_words(circuit, taken.act, taken.before), cost, shown_words(taken)


def info_page(hunt: Hunt, names: tuple[str, ...]) -> Page:
    """Parts and controls: names, places, minutes; all of them where none is named.

    A name that is neither is passed over.
    """
    circuit = hunt.case.circuit
    if not names:
        parts = [p for p in circuit.parts if not isinstance(p, c.Wire)]
        rows = tuple((p.id, part_name(p), p.place, f"{p.access_minutes:g}") for p in parts)
        return (Rows(tuple(entry("info_heads")), rows), *_controls(circuit.controls))
    found: list[Block] = []
    for name in names:
        if name in circuit.by_id:
            found += _part_info(circuit, circuit.part(name))
        if name in circuit.by_control:
            found += _controls((circuit.by_control[name],))
    return tuple(found)


def _part_info(circuit: Circuit, part: c.Part) -> Iterator[Block]:
    yield Para(f"{capital(part_name(part))}.")
    if isinstance(part, c.Wire):
        ends = " to ".join(part.nodes)
        yield Para(f"{ends}, {part.colour} {part.mm2:g} mm².", follows=True)
        return
    yield Para(say("info_terminals", points=_pins(circuit, part.id)), follows=True)
    place = part.place or part.name or part.id
    yield Para(say("info_place", minutes=f"{part.access_minutes:g}", place=place), follows=True)


def _controls(controls: tuple[Control, ...]) -> list[Block]:
    return [
        Entry(
            k.name,
            say(
                "info_positions",
                label=k.label or k.name,
                positions=", ".join(k.positions),
                rest=k.rest,
            ),
        )
        for k in controls
    ]
