"""Looking back on a hunt: what each act ruled out, when it was enough, and how it compares.

Points, out of 100. Diagnosis 50: the named place is right, times the share of the likelihood that
the readings had left to right answers; a guess that happens to be right is worth what was known.
Time 30: the expected minutes of the best course over those used, at most 1, times the same share.
Safety 20: 10 less for every act that had to be stopped. The weights are our own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from quizgen.drill.hunt.course import Course, plan_course
from quizgen.drill.hunt.engine import MEASURE, WATCH, Hunt, Taken
from quizgen.drill.hunt.field import Field, field_of
from quizgen.drill.hunt.naming import Named
from quizgen.drill.hunt.repair import Trying, try_repair
from quizgen.drill.hunt.tree import Trial

DIAGNOSIS, TIME, SAFETY = 50, 30, 20
UNSAFE = 10  # points for each act that was stopped
SLOW = 1.5  # times the expected minutes
MANY = 2  # tests for nothing, or after it was clear


@dataclass(frozen=True)
class Look:
    """One act of the student, in the light of the suspects."""

    taken: Taken
    ruled_out: tuple[int, ...]  # numbers of claims
    left: int  # cells still standing
    claims: int  # claims still standing
    could_teach: bool
    decided: bool  # enough to name the fault, after this act

    @property
    def is_test(self) -> bool:
        """It could have shown something."""
        return self.taken.act.do in (WATCH, MEASURE) and not self.taken.outcome.refused


@dataclass(frozen=True, eq=False)
class Debrief:
    """A hunt that is over, its suspects, the best course, and the repair."""

    hunt: Hunt
    field: Field
    course: Course
    looks: tuple[Look, ...]
    trying: Trying

    @cached_property
    def truth(self) -> int:
        """Number of the claim that was hidden."""
        return self.field.number(self.hunt.case.fault)

    @property
    def answers(self) -> frozenset[int]:
        """Claims that count as right."""
        return self.course.answers[self.truth]

    @cached_property
    def named(self) -> tuple[int, ...]:
        """Claims of the story that the student's words fit."""
        return fitting(self.field, self.trying.named)

    @property
    def is_right(self) -> bool:
        """The named place is the right one, or one that nothing tells from it."""
        return self.trying.is_gone

    @property
    def left(self) -> int:
        """Cells that all readings together leave."""
        return self.looks[-1].left if self.looks else self.field.everything

    @property
    def suspects_left(self) -> tuple[int, ...]:
        """Claims that all readings together leave, the likeliest first."""
        claims = self.field.claims_in(self.left)
        return tuple(sorted(claims, key=lambda n: -self.course.shares[n]))

    @property
    def evidence(self) -> float:
        """Share of the likelihood left that is on right answers."""
        left = self.suspects_left
        total = sum(self.course.shares[n] for n in left)
        return sum(self.course.shares[n] for n in left if n in self.answers) / total

    @property
    def decided_at(self) -> int | None:
        """Index of the act after which it was clear; −1 if the story alone said it."""
        if self.field.claims_in(self.field.everything) <= self.answers:
            return -1
        return next((i for i, look in enumerate(self.looks) if look.decided), None)

    @property
    def late(self) -> int:
        """Tests taken after it was clear."""
        at = self.decided_at
        return 0 if at is None else sum(look.is_test for look in self.looks[at + 1 :])

    @property
    def idle(self) -> tuple[Look, ...]:
        """Tests before that which could not have taught anything new.

        To see the complaint once with one's own eyes is good practice and not counted.
        """
        at = len(self.looks) if self.decided_at is None else self.decided_at + 1
        own = next((x for x in self.looks if self._sees_complaint(x)), None)
        tests = (x for x in self.looks[:at] if x.is_test and x is not own)
        return tuple(x for x in tests if not x.could_teach)

    def _sees_complaint(self, look: Look) -> bool:
        before = look.taken.before
        return look.taken.act.do == WATCH and before.moves == self.hunt.case.moves

    @property
    def ruled_out_by(self) -> Look | None:
        """The act that had already ruled out all that the student then named."""
        if not self.named or set(self.named) & set(self.suspects_left):
            return None
        out: set[int] = set()
        for look in self.looks:
            out |= set(look.ruled_out)
            if set(self.named) <= out:
                return look
        return None

    @cached_property
    def one_more(self) -> Trial | None:
        """The test that would have removed most doubt for each minute; None if none was needed."""
        cells = self.left
        best, most = None, 0.0
        for trial in self.course.trials:
            gone = cells & ~trial.leaves[self.truth]
            claims = self.field.claims_in(cells) - self.field.claims_in(cells & ~gone)
            worth = sum(self.course.shares[n] for n in claims - self.answers)
            rate = worth / max(trial.check.total_minutes, 0.1)
            if rate > most:
                best, most = trial, rate
        return best

    # --- points -----------------------------------------------------------------------

    @property
    def pace(self) -> float:
        """Expected minutes of the best course over those used, at most 1."""
        used = self.hunt.standing.minutes
        return 1.0 if used <= self.course.expected_minutes else self.course.expected_minutes / used

    @property
    def points(self) -> tuple[float, float, float]:
        """Diagnosis, time, safety."""
        known = self.evidence if self.is_right else 0.0
        safe = max(SAFETY - UNSAFE * self.hunt.standing.unsafe, 0)
        return DIAGNOSIS * known, TIME * known * self.pace, float(safe)

    @property
    def advice(self) -> str:
        """One thing to try next time: a key of `advice` in the wording."""
        tests = [look for look in self.looks if look.is_test]
        slow = self.hunt.standing.minutes > SLOW * self.course.expected_minutes
        undecided = self.decided_at is None
        rules = (
            ("safety", self.hunt.standing.unsafe > 0),
            ("test", undecided and not tests),
            ("reread", not self.is_right and self.ruled_out_by is not None),
            ("one_more", undecided and self.one_more is not None),
            ("stop", self.late >= MANY),
            ("ask", len(self.idle) >= MANY),
            ("near", slow and _began_far(self.course, tests)),
            ("halve", slow),
            ("commit", not self.is_right),
        )
        return next((key for key, holds in rules if holds), "harder")


class Looking:
    """Acts in the light of the suspects, one after the other, as they are taken."""

    def __init__(self, course: Course) -> None:
        self.course = course
        self.looks: list[Look] = []
        self._left, self._opened = course.field.everything, course.field.opened

    def at(self, taken: Taken) -> None:
        """Take in the next act. Raises CircuitError if it cannot be solved for a suspect."""
        course, before = self.course, self._left
        field = course.field
        self._left, self._opened, teaches = field.after(taken, self._opened, before)
        claims, now = field.claims_in(before), field.claims_in(self._left)
        decided = now <= course.answers[field.number(course.case.fault)]
        out = tuple(sorted(claims - now))
        self.looks.append(Look(taken, out, self._left, len(now), teaches, decided))


def look_back(hunt: Hunt, looking: Looking | None = None) -> Debrief:
    """The debrief of a hunt that is over; `looking` if its case has been planned already.

    Raises CircuitError if a test cannot be solved.
    """
    named = hunt.named
    assert named is not None  # it is over
    looking = looking or Looking(plan_course(hunt.case, field_of(hunt.case)))
    for taken in hunt.taken[len(looking.looks) :]:
        looking.at(taken)
    course = looking.course
    answers = course.answers[course.field.number(hunt.case.fault)]
    alike = bool(set(fitting(course.field, named)) & answers)
    trying = try_repair(hunt, named, alike)
    return Debrief(hunt, course.field, course, tuple(looking.looks), trying)


def fitting(field: Field, named: Named) -> tuple[int, ...]:
    """Numbers of the claims that a name fits."""
    claims = [claimed.suspect.cause.claims[0] for claimed in field.claimed]
    return tuple(n for n, claim in enumerate(claims) if named.fits(claim))


def _began_far(course: Course, tests: Sequence[Look]) -> bool:
    """The first test cost far more than the one that the best course begins with."""
    path = list(course.path(0))
    return bool(path and tests) and tests[0].taken.outcome.minutes > 2.0 * path[0][1]
