"""Readings of scanned sheets plus what people decided about them: answers, and what is still open.

The same readings and decisions give the same answers, in whatever order the pages came. A decision
is a text about a subject; both are made here and nowhere else:

=========================  =========================================================
subject                    verdict
=========================  =========================================================
PAGE/page                  "ignore"
PAGE/bearer                "ignore", or student and form: "S-007 A"
PAGE/blank                 "counts", "ignore"
PAGE/answer/FORM/NUMBER    the answer as typed: "B", "A C", "C A B D", "11.9", "-" for none
twice/STUDENT/PAGES        the page that counts, "none"
=========================  =========================================================

PAGE is the identity of a page, so that a decision still holds when the page comes again in
another file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from quizgen.base.errors import InputError
from quizgen.forms.problem_set import Form, ProblemSet
from quizgen.grading.answer_text import answer_text, read_answer
from quizgen.grading.responses import Response, Source, StudentResponses
from quizgen.grading.sheet_reading import FormReading, SheetReading

Ask = Literal["page", "bearer", "blank", "twice", "answer"]
Decisions = Mapping[str, str]

IGNORE = "ignore"
COUNTS = "counts"
NONE = "none"
MOST_BLANK = 0.5  # of the questions of a sheet, before somebody is asked whether it counts
FEW = 4  # questions of which any number may be blank


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """Something that a person has to decide.

    `candidate` is the verdict that is most likely right, "" for none; `choices` are the verdicts
    that fit, none where an answer is typed. Where the first choices are pages, `places` say where
    they are, and such a choice is told by its number, from 1. `shown` names crops: identity of the
    page and what. `decides` means that it makes the difference between passing and failing.
    """

    subject: str
    ask: Ask
    source: Source
    reason: str
    figures: str = ""
    candidate: str = ""
    choices: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    shown: tuple[tuple[str, str], ...] = ()
    student: str = ""
    form: str = ""
    item: int = 0
    decides: bool = False

    @property
    def id(self) -> str:
        """A short name for people to type."""
        return hashlib.sha256(self.subject.encode()).hexdigest()[:6]


@dataclass(frozen=True, kw_only=True)
class Settled:
    """Answers that can be scored, doubtful ones marked as such, and what is open."""

    students: tuple[StudentResponses, ...]
    doubts: tuple[Doubt, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class _Owned:
    """A page of which is known whose it is."""

    reading: SheetReading
    student: str
    seen: FormReading


def settle(
    readings: Iterable[SheetReading], decisions: Decisions, problem_set: ProblemSet
) -> Settled:
    """All pages together. Decisions that fit nothing, or make no sense, count for nothing."""
    desk = _Desk(decisions, problem_set)
    unique = {reading.identity: reading for reading in readings}
    owned: dict[str, list[_Owned]] = {}
    for reading in sorted(unique.values(), key=lambda r: (r.source.file, r.source.place)):
        page = desk.owner(reading)
        if page and desk.not_blank(page):
            owned.setdefault(page.student, []).append(page)
    students = []
    for student, pages in sorted(owned.items()):
        page = pages[0] if len(pages) == 1 else desk.one_of(student, pages)
        if page:
            students.append(desk.answers(page))
    return Settled(students=tuple(students), doubts=tuple(desk.doubts), remarks=tuple(desk.remarks))


class _Desk:
    """Where pages are sorted; collects what is open."""

    def __init__(self, decisions: Decisions, problem_set: ProblemSet) -> None:
        self.decisions, self.set = decisions, problem_set
        self.forms = {form.code: form for form in problem_set.forms}
        self.roster = {student.id: student for student in problem_set.students}
        self.doubts: list[Doubt] = []
        self.remarks: list[str] = []

    def owner(self, reading: SheetReading) -> _Owned | None:
        """Whose page it is; None while nobody knows, or when it is set aside."""
        if reading.problem:
            subject = f"{reading.identity}/page"
            if self.decisions.get(subject) != IGNORE:
                self._ask(reading, subject, "page", reading.problem, choices=(IGNORE,))
            return None
        subject = f"{reading.identity}/bearer"
        verdict = self.decisions.get(subject, "")
        if verdict == IGNORE:
            return None
        student, form = self._told(verdict) or self._printed(reading)
        reason = "" if self._told(verdict) else self._bearer_problem(reading)
        seen = next((f for f in reading.forms if f.form == form), None)
        if not reason and seen is None:
            reason = f"the circles do not stand as on form {form}"
        if reason or seen is None:
            self._ask(
                reading, subject, "bearer", reason, choices=self._bearers(reading),
                student=student, form=form,
            )  # fmt: skip
            return None
        return _Owned(reading=reading, student=student, seen=seen)

    def _told(self, verdict: str) -> tuple[str, str] | None:
        student, _, form = verdict.partition(" ")
        return (student, form) if student in self.roster and form in self.forms else None

    def _printed(self, reading: SheetReading) -> tuple[str, str]:
        bearer = reading.bearer
        return (bearer.student, bearer.form) if bearer else ("", "")

    def _bearer_problem(self, reading: SheetReading) -> str:
        """Why a page cannot be given to a student; "" when it can."""
        bearer = reading.bearer
        if not reading.code:
            return "the QR code cannot be read; whose sheet is it, and which form?"
        if bearer is None:
            return "its QR code is not one of an answer sheet"
        if bearer.token != self.set.token:
            return f"a sheet of another set ({bearer.token}, this one is {self.set.token})"
        return self._unknown(bearer.student, bearer.form)

    def _unknown(self, student: str, form: str) -> str:
        """What is wrong with a code of this set; "" for nothing."""
        if form not in self.forms:
            return f"this set has no form {form}"
        if not student:
            return "a sheet without a number; whose is it?"
        if student not in self.roster:
            return f"the roster has no student {student}"
        due = self.roster[student].form
        if due and due != form:
            return f"{student} has form {due} by the roster, the sheet is form {form}"
        return ""

    def _bearers(self, reading: SheetReading) -> tuple[str, ...]:
        """Who may have filled it in, of the forms whose circles stand like this; likely ones first.

        A student who lost a sheet may have taken one of another form, unless forms are personal.
        """
        pairs = [
            (student, seen.form)
            for seen in reading.forms
            for student in self.roster.values()
            if not self.forms[seen.form].student or student.form == seen.form
        ]
        pairs.sort(key=lambda pair: pair[0].form not in ("", pair[1]))
        return (*(f"{student.id} {form}" for student, form in pairs), IGNORE)

    def not_blank(self, page: _Owned) -> bool:
        """False while somebody is asked whether a nearly empty sheet counts."""
        blank = sum(r.state == "blank" for r in page.seen.responses)
        count = len(page.seen.responses)
        if count < FEW or blank <= MOST_BLANK * count:
            return True
        subject = f"{page.reading.identity}/blank"
        verdict = self.decisions.get(subject)
        if verdict not in (COUNTS, IGNORE):
            self._ask(
                page.reading, subject, "blank", f"{blank} of {count} questions are blank",
                choices=(COUNTS, IGNORE), student=page.student, form=page.seen.form,
            )  # fmt: skip
        return verdict == COUNTS

    def one_of(self, student: str, pages: Sequence[_Owned]) -> _Owned | None:
        """The page that counts of several by the same student."""
        first = pages[0]
        if all(_same(page.seen, first.seen) for page in pages):
            where = " and ".join(_place(page.reading.source) for page in pages)
            self.remarks.append(f"{student}: the same answers twice, on {where}")
            return first
        names = sorted(page.reading.identity for page in pages)
        subject = f"twice/{student}/{hashlib.sha256(' '.join(names).encode()).hexdigest()[:16]}"
        verdict = self.decisions.get(subject, "")
        chosen = next((page for page in pages if page.reading.identity == verdict), None)
        if chosen is None and verdict != NONE:
            places = tuple(_place(page.reading.source) for page in pages)
            self._ask(
                first.reading, subject, "twice",
                f"{len(pages)} sheets of {student}: {', '.join(places)}; which one counts?",
                places=places, figures=_differences(pages),
                choices=(*(page.reading.identity for page in pages), NONE),
                student=student, form=first.seen.form,
                shown=tuple((page.reading.identity, "head") for page in pages),
            )  # fmt: skip
        return chosen

    def answers(self, page: _Owned) -> StudentResponses:
        """A student's answers, with what was decided about them."""
        form = self.forms[page.seen.form]
        responses = tuple(self._answer(page, form, r) for r in page.seen.responses)
        return StudentResponses(
            student=page.student, form=form.code, source=page.reading.source, responses=responses
        )

    def _answer(self, page: _Owned, form: Form, read: Response) -> Response:
        subject = f"{page.reading.identity}/answer/{form.code}/{read.item}"
        if subject in self.decisions:
            try:
                return read_answer(self.decisions[subject], form.items[read.item - 1], read.item)
            except InputError:
                pass  # a verdict of another version of the set: ask again
        if read.state == "doubtful":
            inks = page.seen.inks[read.item - 1] if page.seen.inks else ""
            self._ask(
                page.reading, subject, "answer", read.doubt, figures=inks,
                candidate=answer_text(read), student=page.student, form=form.code, item=read.item,
                shown=((page.reading.identity, str(read.item)),),
            )  # fmt: skip
        return read

    def _ask(
        self, reading: SheetReading, subject: str, ask: Ask, reason: str, **more: object
    ) -> None:
        what = "page" if reading.problem else "head"
        doubt = Doubt(
            subject=subject, ask=ask, source=reading.source, reason=reason,
            figures=reading.figures, shown=((reading.identity, what),),
        )  # fmt: skip
        self.doubts.append(replace(doubt, **more))  # type: ignore[arg-type]  # fields of Doubt


def check_verdict(doubt: Doubt, verdict: str, problem_set: ProblemSet) -> str:
    """The verdict as it is kept. Raises InputError for one that does not answer the doubt."""
    text = verdict.strip()
    if doubt.ask == "answer":
        form = next(f for f in problem_set.forms if f.code == doubt.form)
        read = read_answer(text, form.items[doubt.item - 1], doubt.item)
        return answer_text(read) or "-"
    if doubt.places and text.isdecimal() and 1 <= int(text) <= len(doubt.places):
        return doubt.choices[int(text) - 1]
    found = [choice for choice in doubt.choices if choice.casefold() == text.casefold()]
    short = [choice for choice in doubt.choices if choice.casefold().startswith(text.casefold())]
    if not found and text and len(short) == 1:
        found = short
    if not found:
        named = [str(n) for n in range(1, len(doubt.places) + 1)]
        named += doubt.choices[len(named) :]
        shown = ", ".join(named[:6]) + (" ..." if len(named) > 6 else "")
        raise InputError(f"{text!r} is none of {shown}")
    return found[0]


def _same(one: FormReading, other: FormReading) -> bool:
    clear = all(r.state != "doubtful" for r in (*one.responses, *other.responses))
    return clear and (one.form, one.responses) == (other.form, other.responses)


def _differences(pages: Sequence[_Owned]) -> str:
    """Where several sheets say different things."""
    if len({page.seen.form for page in pages}) > 1:
        return "they are of different forms"
    rows = zip(*(page.seen.responses for page in pages), strict=True)
    differ = [str(row[0].item) for row in rows if len({(r.value, r.state) for r in row}) > 1]
    return (
        f"they differ at question {', '.join(differ)}" if differ else "in doubt at the same places"
    )


def _place(source: Source) -> str:
    return f"{source.file}, page {source.place}"


def crops_of(readings: Iterable[SheetReading]) -> Iterator[tuple[tuple[str, str], bytes]]:
    """Every piece of every page, by what `Doubt.shown` names."""
    for reading in readings:
        for crop in reading.crops:
            yield (reading.identity, crop.what), crop.png
