"""Deciding about scanned sheets: every decision is kept at once, then results follow."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from quizgen.cli.grade_scans import verdicts
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.keys import keys_of
from quizgen.grading.pass_mark import decisive_first
from quizgen.grading.scans import kept_readings, scan_file_of
from quizgen.grading.settling import Doubt, Settled, check_verdict, crops_of, settle
from quizgen.grading.sheet_reading import SheetReading
from quizgen.store.contents import amendments, graded, rules_of
from quizgen.store.database import Store
from quizgen.store.decisions import Decided, decide
from quizgen.store.gradebook import Recorded, record


@dataclass
class Desk:
    """The sheets of one set, the store, and who decides."""

    set_file: Path
    problem_set: ProblemSet
    store: Store
    who: str
    pass_share: float
    readings: tuple[SheetReading, ...] = ()

    def __post_init__(self) -> None:
        token = self.problem_set.token
        self.readings = kept_readings(scan_file_of(self.set_file), token)

    def settled(self) -> Settled:
        """Everything by the decisions as they are now."""
        return settle(self.readings, verdicts(self.store, self.problem_set.token), self.problem_set)

    def open(self) -> tuple[Doubt, ...]:
        """What is open, pages first, then what decides between passing and failing."""
        settled = self.settled()
        token = self.problem_set.token
        keys = keys_of(self.problem_set, amendments(self.store, token))
        rules = rules_of(self.store, token)
        return decisive_first(settled.doubts, settled.students, keys, rules, self.pass_share)

    def everything(self) -> tuple[Doubt, ...]:
        """Open and decided doubts, so that a decision can be changed."""
        held = verdicts(self.store, self.problem_set.token)
        pages = {subject: verdict for subject, verdict in held.items() if "/answer/" not in subject}
        found = [
            doubt
            for decisions in (held, pages, {})
            for doubt in settle(self.readings, decisions, self.problem_set).doubts
        ]
        return tuple({doubt.subject: doubt for doubt in found}.values())

    def crops(self) -> dict[tuple[str, str], bytes]:
        """Pictures by what `Doubt.shown` names."""
        return dict(crops_of(self.readings))

    def decide(self, pairs: Iterable[tuple[Doubt, str]], why: str | Sequence[str]) -> int:
        """Keep verdicts, all or none; how many are new. Raises InputError for a wrong one."""
        checked = [(d, check_verdict(d, verdict, self.problem_set)) for d, verdict in pairs]
        reasons = [why] * len(checked) if isinstance(why, str) else list(why)
        kept = [
            Decided(subject=doubt.subject, verdict=verdict, why=reason, who=self.who)
            for (doubt, verdict), reason in zip(checked, reasons, strict=True)
        ]
        return decide(self.store, self.problem_set.token, kept)

    def hand_on(self) -> tuple[Recorded, ...]:
        """Put the answers that decisions changed into the gradebook.

        A scanned sheet takes the place of another scanned sheet, since a person chose it, never
        that of answers that were typed.
        """
        held = {g.given.student: g.given for g in graded(self.store, self.problem_set.token)}
        scanned = {reading.source for reading in self.readings}
        changed = [
            given
            for given in self.settled().students
            if given.student not in held
            or (held[given.student].source in scanned and held[given.student] != given)
        ]
        if not changed:
            return ()
        return record(self.store, self.problem_set, changed, self.who, replace=True).recorded
