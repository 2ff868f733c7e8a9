"""One act after the other on a machine with a hidden fault: pure functions on frozen records.

`act(hunt, act)` gives the hunt after it and what came of it. An act that cannot be done raises
InputError and changes nothing; an unsafe one is stopped, counted, and shows nothing. The same acts
on the same case give the same hunt, so a log of acts is all that a resumed hunt needs.

A reading is what `quizgen.instruments.measure` shows on the circuit as it stands: its fault in it,
fuses that have blown meanwhile blown, the jumper in its place.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown as quoted
from quizgen.base.suggest import suggest
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.clicks import NOBODY_KNOWS, clickers, heard_again
from quizgen.drill.hunt import standing as st
from quizgen.drill.hunt.case import Case
from quizgen.drill.hunt.naming import Named, read_named
from quizgen.drill.hunt.standing import Standing
from quizgen.instruments import INSTRUMENTS, Shown, measure
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.observation import Observation, against, observe, visible

TURN, WATCH, MEASURE, APART, UNPLUG, BACK = "turn", "watch", "measure", "apart", "unplug", "back"
JUMP, FUSE, NOTE, REPAIR = "jumper", "fuse", "note", "repair"
HANDS = (APART, UNPLUG, BACK, JUMP, FUSE)
CLAMP = "clamp-ammeter"
OFF = "off"
MOST_MOVES = 400  # every one is solved again for every reading
LONG = 8  # moves after which it is asked whether they are still of account
LONGEST_NOTE = 400


@dataclass(frozen=True)
class Act:
    """Something done: `args` as the table at the end of this module takes them."""

    do: str
    args: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What came of an act."""

    minutes: float = 0.0  # that it took
    reading: Shown | None = None
    refused: str = ""  # why it was stopped
    seen: tuple[Observation, ...] = ()
    heard: tuple[tuple[str, str], ...] = ()  # relay, what is heard of it, "" if nobody can say
    blown: tuple[str, ...] = ()  # what has opened for good

    @property
    def record(self) -> str:
        """All that a student is told, as one text: a replay must come to the same."""
        reading = self.reading
        pieces = [f"{self.minutes:g} min", self.refused, reading.shown if reading else ""]
        pieces += [f"{o.load} {o.level}" for o in self.seen]
        pieces += [f"{relay} {said}" for relay, said in self.heard if said]
        return "; ".join(p for p in (*pieces, *self.blown) if p)


@dataclass(frozen=True)
class Taken:
    """An act with the machine before it and what came of it."""

    act: Act
    before: Standing
    after: Standing
    outcome: Outcome


@dataclass(frozen=True, kw_only=True)
class Hunt:
    """A case, how its machine stands now, and all that was done."""

    case: Case
    standing: Standing
    taken: tuple[Taken, ...] = ()
    faulty: Circuit = field(repr=False, compare=False)  # the case's, injected once

    @property
    def over(self) -> bool:
        """Something has been named and repaired."""
        return bool(self.taken) and self.taken[-1].act.do == REPAIR

    @property
    def named(self) -> Named | None:
        """What was repaired; None as long as the hunt goes on."""
        return read_named(self.case.circuit, self.taken[-1].act.args) if self.over else None

    @property
    def notes(self) -> tuple[str, ...]:
        """Everything written down."""
        return tuple(t.act.args[0] for t in self.taken if t.act.do == NOTE)

    @property
    def now(self) -> Circuit:
        """The circuit as it stands, still in one piece."""
        return st.as_it_stands(self.case.circuit, self.faulty, self.standing)


def begin(case: Case) -> Hunt:
    """The machine as the driver left it."""
    hunt = Hunt(case=case, standing=Standing(moves=case.moves), faulty=case.faulty)
    gone = st.blown(_solved(hunt, hunt.standing), hunt.standing)
    return replace(hunt, standing=replace(hunt.standing, opened=gone))


def act(hunt: Hunt, done: Act) -> tuple[Hunt, Outcome]:
    """The hunt after an act, and what came of it.

    Raises InputError for an act that cannot be done, CircuitError where the circuit, as somebody
    has put it together, cannot be solved.
    """
    if hunt.over:
        raise InputError("the hunt is over; start another one")
    if done.do not in ACTS:
        raise InputError(f"no act {quoted(done.do)}{suggest(done.do, ACTS)}")
    least, most, take = ACTS[done.do]
    if not least <= len(done.args) <= most:
        raise InputError(f"{done.do} with {len(done.args)} words behind it cannot be done")
    far = done.do == TURN and len(hunt.standing.moves) > LONG
    after, outcome = take(_settled_down(hunt) if done.do in HANDS or far else hunt, *done.args)
    return (
        replace(
            hunt, standing=after, taken=(*hunt.taken, Taken(done, hunt.standing, after, outcome))
        ),
        outcome,
    )


def _settled_down(hunt: Hunt) -> Hunt:
    """The hunt with only the moves that its present state still hangs on.

    What was moved before, with other plugs on and another fuse in, must not happen once more when
    hands change them. A relay that holds itself keeps its history.
    """
    short = replace(hunt.standing, moves=hunt.standing.from_rest(hunt.case.circuit))
    now, again = _solved(hunt, hunt.standing), _solved(hunt, short)
    parts = zip(now.circuit.parts, again.circuit.parts, strict=True)
    same = all(now.state(a) == again.state(b) for a, b in parts)
    return replace(hunt, standing=short) if same else hunt


def replay(case: Case, acts: tuple[Act, ...]) -> Hunt:
    """The hunt after all of `acts`. Raises as `act`."""
    hunt = begin(case)
    for done in acts:
        hunt, _ = act(hunt, done)
    return hunt


Result = tuple[Standing, Outcome]

# --- looking and measuring ------------------------------------------------------------


def _watch(hunt: Hunt) -> Result:
    point = _solved(hunt, hunt.standing)
    fine = well(hunt.case.circuit, hunt.standing)
    again = _solved(hunt, replace(hunt.standing, moves=hunt.standing.from_rest(hunt.case.circuit)))
    seen, heard = sights(hunt.case.circuit, fine, point, again)
    after = st.after_look(hunt.standing)
    return _settled(hunt, after, replace(_cost(hunt, after), seen=seen, heard=heard), point)


def well(sound: Circuit, standing: Standing) -> dict[str, Observation]:
    """What each load would do as the machine stands, were nothing wrong."""
    point = solve_cases([st.taken_apart(sound, standing)], [(0, standing.moves)]).point(0)
    return {o.load: o for o in observe(point)}


def sights(
    sound: Circuit, fine: Mapping[str, Observation], point: OperatingPoint, again: OperatingPoint
) -> tuple[tuple[Observation, ...], tuple[tuple[str, str], ...]]:
    """What a driver sees and hears who operates the controls once more; `fine` as from `well`.

    `again` is the machine after moving the controls from rest to where they stand. What then
    stands otherwise than it does now, such as a relay that held itself, nobody can tell of.
    """
    seen = visible(sound, observe(point))
    heard = tuple(
        (part, heard_again(again, part) if _alike(point, again, part) else NOBODY_KNOWS)
        for part in clickers(sound)
    )
    return tuple(against(fine[o.load], o) for o in seen), heard


def _alike(point: OperatingPoint, again: OperatingPoint, part: str) -> bool:
    return point.state(point.circuit.part(part)) == again.state(again.circuit.part(part))


def _measure(hunt: Hunt, instrument: str, red: str, black: str = "") -> Result:
    circuit = hunt.case.circuit
    if instrument not in INSTRUMENTS:
        raise InputError(f"no instrument {quoted(instrument)}{suggest(instrument, INSTRUMENTS)}")
    nodes = leads(circuit, instrument, red, black)
    shown = measure(hunt.now, hunt.standing.measurement(instrument, red, black))
    if shown.refused:
        return _stopped(hunt, shown)
    after = st.after_reading(circuit, hunt.standing, instrument, nodes)
    outcome = replace(_cost(hunt, after), reading=replace(shown, point=None))
    assert shown.point is not None  # there is one unless it was refused
    return _settled(hunt, after, outcome, shown.point)


def leads(circuit: Circuit, instrument: str, red: str, black: str) -> tuple[str, ...]:
    """Nodes of the sound circuit where the leads go. Raises InputError for where none can."""
    if instrument == CLAMP:
        wire = circuit.by_id.get(red)
        if black or not isinstance(wire, c.Wire):
            raise InputError(f"a clamp goes around one wire, such as W5; found {quoted(red)}")
        return (wire.nodes[0],)
    return tuple(_terminal(circuit, text) for text in (red, black))


def _terminal(circuit: Circuit, text: str) -> str:
    part = circuit.by_id.get(text.replace("/", ".").rpartition(".")[0] or text)
    if isinstance(part, c.Wire):
        raise InputError(
            f"{text}: a lead cannot be put on a wire; name the terminal that it ends at"
        )
    return circuit.point(text.replace("/", "."))


# --- hands ----------------------------------------------------------------------------


def _turn(hunt: Hunt, *pairs: str) -> Result:
    if len(pairs) % 2:
        raise InputError("name a control and its position, such as S1 on")
    moves = tuple(zip(pairs[::2], pairs[1::2], strict=True))
    for control, position in moves:
        hunt.case.circuit.check_positions({control: position})
    if len(hunt.standing.moves) + len(moves) > MOST_MOVES:
        raise InputError("the controls have been moved too often; name the fault or start again")
    stands = hunt.case.circuit.rest_positions() | dict(hunt.standing.moves)
    news = []
    for control, position in moves:
        if stands[control] != position:
            news.append((control, position))
            stands[control] = position
    after = replace(hunt.standing, moves=(*hunt.standing.moves, *news))
    after = replace(after, turned=after.turned or bool(news))
    return _settled(hunt, after, Outcome())


def _apart(hunt: Hunt, name: str) -> Result:
    circuit = hunt.case.circuit
    part = circuit.part(name)
    if not isinstance(part, c.Connector):
        known = [p.id for p in circuit.parts if isinstance(p, c.Connector)]
        raise InputError(f"{name} is no connector{suggest(name, known)}")
    if name in hunt.standing.apart:
        raise InputError(f"{name} is apart already")
    after = st.after_hand(circuit, hunt.standing, part)
    after = replace(after, apart=(*after.apart, name))
    return _settled(hunt, after, _cost(hunt, after))


FIXED = (c.Wire, c.Splice, c.Ground, c.Bridge, c.Connector)


def _unplug(hunt: Hunt, name: str) -> Result:
    part = hunt.case.circuit.part(name)
    if isinstance(part, FIXED):
        what = part.kind.replace("_", " ")
        hint = "; take it apart" if isinstance(part, c.Connector) else ""
        raise InputError(f"{name} is a {what} and cannot be unplugged{hint}")
    if name in hunt.standing.unplugged:
        raise InputError(f"{name} is off already")
    after = st.after_hand(hunt.case.circuit, hunt.standing, part)
    after = replace(after, unplugged=(*after.unplugged, name))
    if isinstance(part, c.Battery | c.Source):  # nothing holds itself without a supply
        after = replace(after, moves=after.from_rest(hunt.case.circuit))
    return _settled(hunt, after, _cost(hunt, after))


def _back(hunt: Hunt, name: str) -> Result:
    hunt.case.circuit.part(name)
    now = hunt.standing
    if name not in (*now.apart, *now.unplugged):
        raise InputError(f"{name} is in its place already")
    after = replace(
        now,
        apart=tuple(x for x in now.apart if x != name),
        unplugged=tuple(x for x in now.unplugged if x != name),
    )
    return _settled(hunt, after, Outcome())


def _jumper(hunt: Hunt, red: str, black: str = "") -> Result:
    if red == OFF:
        if not hunt.standing.jumper:
            raise InputError("no jumper is in")
        return _settled(hunt, replace(hunt.standing, jumper=()), Outcome())
    circuit = hunt.case.circuit
    nodes = leads(circuit, "fused-jumper", red, black)
    free = replace(hunt, standing=replace(hunt.standing, jumper=()))
    shown = measure(free.now, free.standing.measurement("fused-jumper", *nodes))
    if shown.refused:
        return _stopped(hunt, shown)
    after = replace(st.after_jumper(circuit, hunt.standing, nodes), jumper=nodes)
    outcome = replace(_cost(hunt, after), reading=replace(shown, point=None))
    return _settled(hunt, after, outcome)


def _fuse(hunt: Hunt, name: str) -> Result:
    part = hunt.case.circuit.part(name)
    if not isinstance(part, c.Fuse):
        known = [p.id for p in hunt.case.circuit.parts if isinstance(p, c.Fuse)]
        raise InputError(f"{name} is no fuse{suggest(name, known)}")
    after = st.after_hand(hunt.case.circuit, hunt.standing, part)
    after = replace(
        after,
        opened=tuple(x for x in after.opened if x != name),
        renewed=tuple(dict.fromkeys((*after.renewed, name))),
    )
    return _settled(hunt, after, _cost(hunt, after))


def _note(hunt: Hunt, text: str) -> Result:
    if not text.strip():
        raise InputError("nothing to write down; put the words behind it")
    if len(text) > LONGEST_NOTE:
        raise InputError(f"a note has room for {LONGEST_NOTE} characters")
    return hunt.standing, Outcome()


def _repair(hunt: Hunt, *words: str) -> Result:
    read_named(hunt.case.circuit, words)
    return hunt.standing, Outcome()


# --- what all acts share --------------------------------------------------------------


def _cost(hunt: Hunt, after: Standing) -> Outcome:
    return Outcome(minutes=round(after.minutes - hunt.standing.minutes, 6))


def _stopped(hunt: Hunt, shown: Shown) -> Result:
    after = replace(hunt.standing, unsafe=hunt.standing.unsafe + 1)
    return after, Outcome(refused=shown.refused)


def _settled(
    hunt: Hunt, after: Standing, outcome: Outcome, point: OperatingPoint | None = None
) -> Result:
    """What has opened for good stays open."""
    gone = st.blown(point or _solved(hunt, after), after)
    return replace(after, opened=(*after.opened, *gone)), replace(outcome, blown=gone)


def _solved(hunt: Hunt, standing: Standing) -> OperatingPoint:
    now = st.as_it_stands(hunt.case.circuit, hunt.faulty, standing)
    return solve_cases([st.taken_apart(now, standing)], [(0, standing.moves)]).point(0)


MANY = 2 * MOST_MOVES
# least and most args, what is done
ACTS: dict[str, tuple[int, int, Callable[..., Result]]] = {
    TURN: (2, MANY, _turn),  # control, position, control, position ...
    WATCH: (0, 0, _watch),
    MEASURE: (2, 3, _measure),  # instrument, red, black
    APART: (1, 1, _apart),  # connector
    UNPLUG: (1, 1, _unplug),  # part
    BACK: (1, 1, _back),  # connector or part
    JUMP: (1, 2, _jumper),  # two points, or "off"
    FUSE: (1, 1, _fuse),  # fuse to be replaced by a new one
    NOTE: (1, 1, _note),  # text
    REPAIR: (1, 3, _repair),  # part, of a connector the cavity, perhaps how it fails
}
