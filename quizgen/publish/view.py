"""What stands on a page, as plain text: the records that the page templates receive.

A workbook's records have no field for a key, a rationale or a proof. What is not in the
record cannot leak into the page, its metadata or its text alternatives.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Heading:
    """The top of a document: who teaches what to whom."""

    college: str
    course: str
    title: str
    week: str = ""
    instructor: str = ""
    topics: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    language: str = "en"


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A drawing and the text that says the same to somebody who cannot see it.

    `colours` are the IEC 60757 codes that occur in it, `symbols` the names of the symbols.
    `corner` are steps (x, depth) in mm: to the right of x nothing is drawn less than `depth`
    from the top, so that text can stand there. `terminal` is the drawing in characters, for a
    terminal of 80 columns, where somebody may need it, and `wide_terminal` that for 120; `signs`
    explains what stands in them.
    """

    svg: str
    alternative: str
    caption: str = ""
    colours: tuple[str, ...] = ()
    symbols: tuple[str, ...] = ()
    corner: tuple[tuple[float, float], ...] = ()
    left_corner: tuple[tuple[float, float], ...] = ()
    terminal: tuple[str, ...] = ()
    wide_terminal: tuple[str, ...] = ()
    signs: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ReadingTable:
    """Readings of one problem; what all rows share is said once, in `shared`."""

    shared: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class Choice:
    """An option as the student sees it."""

    letter: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One problem of a workbook.

    `response` is how it is answered: one, several, order or number (then in `unit`).
    """

    number: int
    machine: str
    stem: tuple[str, ...]
    question: str
    choices: tuple[Choice, ...]
    response: str = "one"
    unit: str = ""
    readings: ReadingTable | None = None
    figure: Figure | None = None


@dataclass(frozen=True, kw_only=True)
class Workbook:
    """One form, as handed to a student."""

    heading: Heading
    form: str
    problems: tuple[Problem, ...]
    student: str = ""


@dataclass(frozen=True, kw_only=True)
class ExplainedChoice:
    """An option with its verdict, the figures that make it so, and the reason in words."""

    letter: str
    text: str
    is_key: bool
    reasons: tuple[str, ...]
    figures: str = ""  # where it fails, what was found, what it would be
    misconception: str = ""


@dataclass(frozen=True, kw_only=True)
class Mistake:
    """A wrong figure that a known mistaken idea arrives at."""

    figure: str
    reasons: tuple[str, ...]
    misconception: str


@dataclass(frozen=True, kw_only=True)
class Answer:
    """One problem of the key.

    `key` is short enough for a table of all keys: a letter, letters, or a figure. `solution`
    is the worked way of a problem whose choices do not carry it.
    """

    number: int
    item: str  # the item's id
    key: str
    about: tuple[str, ...]  # kind, level, circuit family
    machine: str
    stem: tuple[str, ...]
    question: str
    choices: tuple[ExplainedChoice, ...]
    readings: ReadingTable | None = None
    proof: str = ""  # how much was considered
    solution: tuple[str, ...] = ()
    many: bool = False  # several choices may be right
    accepted: str = ""  # of a figure: what is taken for right
    mistakes: tuple[Mistake, ...] = ()
    figure: Figure | None = None  # with what the answer is about marked


@dataclass(frozen=True, kw_only=True)
class FormAnswers:
    """The answers of one form."""

    form: str
    answers: tuple[Answer, ...]


@dataclass(frozen=True, kw_only=True)
class AnswerKey:
    """The key of a whole problem set, for the instructor only."""

    heading: Heading
    forms: tuple[FormAnswers, ...]
