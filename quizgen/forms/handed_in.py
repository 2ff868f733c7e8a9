"""The file that a student hands in: the answers to one form, and how they came about.

The drill writes it, grading reads it. It holds every step of the student in order, chained
(`quizgen/base/chain.py`), and the answers that the steps end in; a file in which the two disagree
was edited. The chain has no secret, so it shows careless edits only; who must be sure watches the
class.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from quizgen.base.chain import sum_of
from quizgen.base.errors import InputError
from quizgen.base.record_file import check_format, read_record, write_record

FILE_FORMAT = 1
SUFFIX = ".response.json"


@dataclass(frozen=True, kw_only=True)
class Step:
    """At a time (ISO 8601, UTC), the answer to question `number` became `answer`; "" takes it back.

    An answer is written as letters with spaces between them ("B", "A C", in the order given where
    an order is asked for), or as a figure in the unit asked for, with "-" and "." ("-0.3").
    """

    at: str
    number: int
    answer: str


@dataclass(frozen=True, kw_only=True)
class HandedIn:
    """The answers of `student` (an id) to a form of the set that is publicly called `token`.

    `pack` is the checksum of the pack that was answered. `answers` maps question numbers, from 1,
    to answers as in `Step`; a question without an answer is left out. `sum` is that of the chain.
    """

    format: int
    token: str
    form: str
    student: str
    pack: str
    answers: dict[int, str]
    steps: tuple[Step, ...]
    sum: str = ""


def hand_in(*, token: str, form: str, student: str, pack: str, steps: tuple[Step, ...]) -> HandedIn:
    """The record of a student who took these steps."""
    record = HandedIn(
        format=FILE_FORMAT, token=token, form=form, student=student, pack=pack,
        answers=answers_after(steps), steps=steps,
    )  # fmt: skip
    return replace(record, sum=_sum(record))


def answers_after(steps: tuple[Step, ...]) -> dict[int, str]:
    """The last answer to each question that has one, by number.

    >>> answers_after((Step(at="", number=2, answer="A"), Step(at="", number=2, answer="B")))
    {2: 'B'}
    """
    found = {step.number: step.answer for step in steps}
    return {number: found[number] for number in sorted(found) if found[number]}


def write_handed_in(record: HandedIn, path: Path) -> Path:
    """Write `record` as JSON and return `path`. Raises OutsideError when that fails."""
    return write_record(record, path)


def read_handed_in(path: Path) -> HandedIn:
    """The record in a JSON file.

    Raises InputError when it is not one, is of another format, or was edited: its steps do not
    have the sum they had, or do not lead to its answers.
    """
    record = read_record(path, HandedIn, "is not a file of answers from the drill")
    check_format(path, record.format, FILE_FORMAT)
    if record.sum != _sum(record) or record.answers != answers_after(record.steps):
        raise InputError(
            f"{path}: was changed after it was handed in; ask the student to hand in again"
        )
    return record


def _sum(record: HandedIn) -> str:
    head = {
        "token": record.token, "form": record.form,
        "student": record.student, "pack": record.pack,
    }  # fmt: skip
    steps = ({"at": s.at, "number": str(s.number), "answer": s.answer} for s in record.steps)
    return sum_of([head, *steps])
