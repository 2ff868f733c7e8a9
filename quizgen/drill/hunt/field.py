"""What may still be wrong: every claim that agrees with the driver's story, at every severity.

A *cell* is a claim over a step of severity, as in `quizgen.diagnosis.worlds`. It is ruled out by an
act when nothing between its two ends could have shown what the act showed. A *row* is one set of
faults put into the circuit; each row has its own fuses that have blown meanwhile. Sets of cells
are bit masks.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from math import inf

from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.agreement import ANYTHING, Words, between, figures
from quizgen.diagnosis.claims import claim_key
from quizgen.diagnosis.decision_tree import members
from quizgen.diagnosis.evidence import Evidence, Step
from quizgen.diagnosis.many_leads import Look, look_at
from quizgen.diagnosis.suspects import Suspect, Suspects
from quizgen.diagnosis.suspects import suspects as find_suspects
from quizgen.diagnosis.worlds import severity, solve_worlds
from quizgen.drill.hunt import standing as st
from quizgen.drill.hunt.case import Case
from quizgen.drill.hunt.engine import FUSE, MEASURE, WATCH, Act, Outcome, Taken, sights, well
from quizgen.drill.hunt.naming import place
from quizgen.drill.hunt.standing import Standing
from quizgen.faults import Fault
from quizgen.instruments import INSTRUMENTS, Shown, measure_many
from quizgen.solver import OperatingPoint, Solutions, solve_cases
from quizgen.solver.observation import Observation

Rows = tuple[int, ...]
Range = tuple[float, float]
Channel = Range | Words  # figures from, to, or words; no words: nobody can say
Opened = tuple[tuple[str, ...], ...]  # by row
LAMP_WORDS = {"glows dim": "dim", "lit bright": "bright"}


@dataclass(frozen=True)
class View:
    """What one row shows in an act: as displayed, and as an instrument of the kind may show it."""

    shown: tuple[Channel, ...]
    possible: tuple[Channel, ...]


@dataclass(frozen=True)
class Claimed:
    """A claim that agrees with the story. `usual` is the fault that stands for it."""

    key: str
    suspect: Suspect
    usual: Fault
    row: int  # of the usual fault


@dataclass(frozen=True, eq=False)
class Field:
    """All suspects. Row 0 is the sound circuit."""

    sound: Circuit
    found: Suspects
    claimed: tuple[Claimed, ...]
    cells: tuple[tuple[int, tuple[tuple[int, int], ...]], ...]  # number in `claimed`, pairs of rows
    circuits: tuple[Circuit, ...]
    opened: Opened  # when the machine came in

    @property
    def everything(self) -> int:
        """The mask of all cells."""
        return (1 << len(self.cells)) - 1

    @cached_property
    def mask_of(self) -> tuple[int, ...]:
        """Mask of its cells by claim."""
        found = [0] * len(self.claimed)
        for number, (claim, _) in enumerate(self.cells):
            found[claim] |= 1 << number
        return tuple(found)

    def claims_in(self, mask: int) -> frozenset[int]:
        """The claims that have a cell in the set."""
        return frozenset(self.cells[n][0] for n in members(mask))

    def number(self, fault: Fault) -> int:
        """Number of the claim of a fault. Raises KeyError if it does not agree with the story."""
        key = claim_key(fault)
        for number, claimed in enumerate(self.claimed):
            if claimed.key == key:
                return number
        raise KeyError(key)

    def place(self, number: int) -> tuple[str, str]:
        """Where a claim is mended: part, and of a connector the cavity."""
        return place(self.sound, self.claimed[number].usual)

    # --- what acts show ---------------------------------------------------------------

    def views(self, done: Act, standing: Standing, opened: Opened) -> tuple[list[View], Opened]:
        """What every row shows in an act done as the machine stands, and what has blown then."""
        circuits = self._as_they_stand(standing, opened)
        points: list[OperatingPoint | None]
        if done.do == MEASURE:
            taken = standing.measurement(*done.args, *([""] * (3 - len(done.args))))
            many = measure_many(circuits, taken)
            views = [_reading_view(shown) for shown in many]
            points = [shown.point for shown in many]
        else:
            ready = [st.taken_apart(circuit, standing) for circuit in circuits]
            solved = solve_cases(ready, [(row, standing.moves) for row in range(len(ready))])
            points = [solved.point(row) for row in range(len(ready))]
            views = []
            if done.do == WATCH:
                views = self._watched(ready, solved, standing)
        after = tuple(
            (*gone, *st.blown(point, replace(standing, opened=gone))) if point else gone
            for point, gone in zip(points, opened, strict=True)
        )
        return views, after

    def _as_they_stand(self, standing: Standing, opened: Opened) -> list[Circuit]:
        return [
            st.as_it_stands(self.sound, circuit, replace(standing, opened=gone))
            for circuit, gone in zip(self.circuits, opened, strict=True)
        ]

    def _watched(self, ready: Sequence[Circuit], now: Solutions, standing: Standing) -> list[View]:
        fine, moves = well(self.sound, standing), standing.from_rest(self.sound)
        rows = range(len(ready))
        again = now
        if moves != standing.moves:
            again = solve_cases(ready, [(row, moves) for row in rows])
        told = (sights(self.sound, fine, now.point(row), again.point(row)) for row in rows)
        return [_watch_view(*some) for some in told]

    def views_of_many(
        self, instrument: str, leads: Sequence[tuple[str, str]], standing: Standing
    ) -> list[list[View] | None]:
        """What every row shows at many pairs of points, as the machine came in but for `standing`.

        None where the instrument must not be put so, or tells nothing there.
        """
        circuits = self._as_they_stand(standing, self.opened)
        many = look_at(circuits, instrument, leads, standing.moves, standing.unplugged)
        figures = INSTRUMENTS[instrument].unit != "of rated voltage"
        return [
            None if some is None else [_look_view(look, figures) for look in some] for some in many
        ]

    def spans(self, views: Sequence[View]) -> list[list[tuple[Channel, ...]]]:
        """By cell all that may be shown between its two ends, for each way it may go."""
        return [[_hull(views[a], views[b]) for a, b in pairs] for _, pairs in self.cells]

    def agreeing(self, spans: Sequence[list[tuple[Channel, ...]]], shown: View, among: int) -> int:
        """The cells of `among` that could have shown `shown`."""
        found = 0
        for number in members(among):
            if any(_could(span, shown) for span in spans[number]):
                found |= 1 << number
        return found

    def teaches(self, spans: Sequence[list[tuple[Channel, ...]]], among: int) -> bool:
        """True if two cells of different claims show what nobody takes for the other."""
        some = [(self.cells[n][0], spans[n]) for n in members(among)]
        return any(
            one != other and all(_apart(x, y) for x in mine for y in theirs)
            for (one, mine), (other, theirs) in combinations(some, 2)
        )

    def after(self, taken: Taken, opened: Opened, among: int) -> tuple[int, Opened, bool]:
        """Cells still standing after an act, what has blown by row, and if it could teach."""
        standing = taken.before if taken.act.do in (MEASURE, WATCH) else taken.after
        views, gone = self.views(taken.act, standing, _same_fuses(opened, taken))
        if not views or taken.outcome.refused:
            return among, gone, False
        spans = self.spans(views)
        left = self.agreeing(spans, outcome_view(taken.outcome), among)
        return left, gone, self.teaches(spans, among)


def field_of(case: Case) -> Field:
    """The suspects after the driver's story."""
    step = Step(moves=case.moves, sees=case.sees, clicks=case.clicks)
    found = find_suspects(case.circuit, Evidence((step,)))
    able = [s for s in found.listed if s.cause.claims]
    usual = [case.fault if s.key == claim_key(case.fault) else _usual(s) for s in able]
    sets: list[tuple[Fault, ...]] = [(fault,) for fault in usual]
    sets += [faults for s in able for cell in s.cells for faults in (cell.near, cell.far)]
    worlds = solve_worlds(case.circuit, sets, (case.moves,))
    cells: list[tuple[int, tuple[tuple[int, int], ...]]] = []
    claimed = []
    for number, (suspect, fault) in enumerate(zip(able, usual, strict=True)):
        rows = worlds.rows[(fault,)]
        claimed.append(Claimed(suspect.key, suspect, fault, rows[0]))
        cells += [(number, tuple(worlds.pairs(cell))) for cell in suspect.cells]
        cells.append((number, tuple((row, row) for row in rows)))
    start = Standing(moves=case.moves)
    none: Opened = tuple(() for _ in worlds.circuits)
    field = Field(case.circuit, found, tuple(claimed), tuple(cells), worlds.circuits, none)
    _, opened = field.views(Act(""), start, none)
    return replace(field, opened=opened)


def _usual(suspect: Suspect) -> Fault:
    """The likeliest severity, or one that agrees with the story."""
    usual = suspect.cause.claims[0].usual
    if not suspect.cause.is_graded:
        return usual
    ends = [sorted((c.near[0], c.far[0]), key=severity) for c in suspect.cells]
    within = any(severity(a) <= severity(usual) <= severity(b) for a, b in ends)
    return usual if within else suspect.cells[len(suspect.cells) // 2].near[0]


def _same_fuses(opened: Opened, taken: Taken) -> Opened:
    """A new fuse is new whatever is wrong."""
    fresh = set(taken.after.renewed) - set(taken.after.opened) if taken.act.do == FUSE else set()
    return tuple(tuple(x for x in gone if x not in fresh) for gone in opened)


# --- views ----------------------------------------------------------------------------


def outcome_view(outcome: Outcome) -> View:
    """What the student was shown."""
    if outcome.reading is not None:
        return _reading_view(outcome.reading)
    return _watch_view(outcome.seen, outcome.heard)


def _reading_view(shown: Shown) -> View:
    """What is in doubt tells nothing. What a row may show takes in all ways its fuses may go."""
    if shown.refused or shown.raw is None:
        return View((ANYTHING,), (ANYTHING,))
    if shown.unit == "of rated voltage" or shown.instrument == "fused-jumper":
        words = frozenset(LAMP_WORDS.get(w, w) for w in shown.shown.split(", then "))
        said = ANYTHING if shown.doubts else words
        return View((said,), (said,))
    figure = ANYTHING if shown.doubts else (shown.low, shown.high)
    return View((figure,), (figures(replace(shown, doubts=())),))


def _look_view(look: Look, figures: bool) -> View:
    """As `_reading_view`."""
    if figures:
        shown = ANYTHING if look.doubtful else (look.low, look.high)
        low = look.low if look.slack == look.low == inf else look.low - look.slack
        return View((shown,), ((low, look.high + look.slack),))
    words = frozenset(LAMP_WORDS.get(w, w) for w in look.words)
    said = ANYTHING if look.doubtful else words
    return View((said,), (said,))


def _watch_view(seen: Iterable[Observation], heard: Iterable[tuple[str, str]]) -> View:
    """A channel for each load, then one for each relay."""
    loads = [ANYTHING if o.doubtful else frozenset((o.level,)) for o in seen]
    relays = [frozenset((said,)) if said else ANYTHING for _, said in heard]
    words = (*loads, *relays)
    return View(words, words)


def _hull(one: View, other: View) -> tuple[Channel, ...]:
    """All that may be shown between two rows."""
    pairs = zip(one.possible, other.possible, strict=True)
    return tuple(_spanned(a, b) for a, b in pairs)


def _spanned(a: Channel, b: Channel) -> Channel:
    if isinstance(a, tuple) and isinstance(b, tuple):
        return min(a[0], b[0]), max(a[1], b[1])
    if isinstance(a, tuple) or isinstance(b, tuple):
        return ANYTHING  # one of them was refused or in doubt
    return between(a, b)


def _could(span: tuple[Channel, ...], shown: View) -> bool:
    return all(_holds(some, seen) for some, seen in zip(span, shown.shown, strict=True))


def _holds(span: Channel, seen: Channel) -> bool:
    if isinstance(span, tuple) and isinstance(seen, tuple):
        return span[0] <= seen[0] and seen[1] <= span[1]
    if isinstance(span, tuple) or isinstance(seen, tuple):
        return True
    return not span or not seen or seen <= span


def _apart(one: tuple[Channel, ...], other: tuple[Channel, ...]) -> bool:
    return any(_disjoint(a, b) for a, b in zip(one, other, strict=True))


def _disjoint(a: Channel, b: Channel) -> bool:
    if isinstance(a, tuple) and isinstance(b, tuple):
        return a[1] < b[0] or b[1] < a[0]
    if isinstance(a, tuple) or isinstance(b, tuple):
        return False
    return bool(a) and bool(b) and not a & b
