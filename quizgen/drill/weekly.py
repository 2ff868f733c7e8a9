"""The set of a course at the terminal: no feedback, and every answer may still be changed.

Like practice it is a machine: what is typed goes in, a page and what is to be done come out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from quizgen.base.errors import InputError
from quizgen.drill import telling
from quizgen.drill.answers import read_answer
from quizgen.drill.page import Page, Para, Rows, Title
from quizgen.drill.question import Shown
from quizgen.drill.words import say, sayings

SHORT = {"q": "quit", "exit": "quit", "o": "open", "?": "help", "n": "next", "": "next"}


@dataclass(frozen=True)
class Put:
    """Keep the answer to a question; "" takes it back."""

    number: int
    answer: str


Act = Put | Literal["open", "finish", "quit"]
"""Keep an answer; write the figure; write what is handed in; stop."""


@dataclass(frozen=True, kw_only=True)
class Weekly:
    """The questions, the answers so far by number, and which question is before the student.

    `place` counts from 0; −1 is the first screen. `warned` that questions are open.
    """

    questions: tuple[Shown, ...]
    answers: Mapping[int, str] = field(default_factory=dict)
    place: int = -1
    warned: bool = False

    @property
    def here(self) -> Shown | None:
        """The question before the student."""
        return self.questions[self.place] if self.place >= 0 else None

    @property
    def prompt(self) -> str:
        """What is wanted now."""
        return telling.prompt(self.here, pack=True) if self.here else say("pack_begin")

    @property
    def open(self) -> tuple[int, ...]:
        """Numbers of the questions without an answer."""
        return tuple(q.number for q in self.questions if not self.answers.get(q.number))


@dataclass(frozen=True)
class Turn:
    """What came of one line."""

    weekly: Weekly
    page: Page = ()
    acts: tuple[Act, ...] = ()


def respond(weekly: Weekly, typed: str) -> Turn:
    """What one line that was typed brings about."""
    words = typed.split()
    word = words[0].lower() if words else ""
    word = SHORT.get(word, word)
    if word != "finish":
        weekly = replace(weekly, warned=False)
    if word == "go":
        return _go(weekly, " ".join(words[1:]))
    commands = {
        "next": lambda: _to(weekly, weekly.place + 1),
        "back": lambda: _to(weekly, weekly.place - 1),
        "list": lambda: Turn(weekly, overview(weekly)),
        "help": lambda: Turn(weekly, telling.help_page("pack_help")),
        "cautions": lambda: Turn(weekly, telling.cautions()),
        "finish": lambda: _finish(weekly),
        "quit": lambda: Turn(weekly, acts=("quit",)),
    }
    if len(words) <= 1 and word in commands:
        return commands[word]()
    if weekly.here is None:
        return Turn(weekly, (Para(say("pack_begin")),))
    return _here(weekly, weekly.here, word if len(words) == 1 else "", typed)


def ask(weekly: Weekly) -> Page:
    """The question before the student, with the answer so far."""
    shown = weekly.here
    if shown is None:
        return ()
    total = len(weekly.questions)
    heading = say("pack_heading", number=shown.number, total=total, machine=shown.machine)
    return (*telling.asked(shown, heading), *_yours(weekly, shown))


def overview(weekly: Weekly) -> Page:
    """All questions and their answers."""
    none = say("pack_open_answer")
    rows = tuple(
        (str(q.number), telling.answer_words(q, weekly.answers.get(q.number, "")) or none)
        for q in weekly.questions
    )
    return (Title(say("pack_list_title")), Rows(sayings("pack_list_heads"), rows))


def _here(weekly: Weekly, shown: Shown, word: str, typed: str) -> Turn:
    """Commands about the question before the student, or else an answer to it."""
    pages = {
        "again": lambda: ask(weekly),
        "symbols": lambda: telling.symbols(shown.picture),
        "diagram": lambda: telling.in_words(shown.picture),
    }
    if word in ("open", "diagram") and shown.picture is None:
        return Turn(weekly, (Para(say("no_picture")),))
    if word in pages:
        return Turn(weekly, pages[word]())
    if word == "open":
        return Turn(weekly, acts=("open",))
    if word == "clear":
        left = {n: a for n, a in weekly.answers.items() if n != shown.number}
        page = (Para(say("pack_cleared", number=shown.number)),)
        return Turn(replace(weekly, answers=left), page, (Put(shown.number, ""),))
    return _answer(weekly, shown, typed)


def _answer(weekly: Weekly, shown: Shown, typed: str) -> Turn:
    try:
        answer = read_answer(shown, typed)
    except InputError as error:
        return Turn(weekly, telling.not_understood(error))
    kept = replace(weekly, answers={**weekly.answers, shown.number: answer})
    page: Page = (Para(say("pack_kept", answer=telling.answer_words(shown, answer))),)
    after = _to(kept, kept.place + 1)
    return Turn(after.weekly, (*page, *after.page), (Put(shown.number, answer),))


def _to(weekly: Weekly, place: int) -> Turn:
    if place >= len(weekly.questions):
        return Turn(weekly, (Para(say("pack_end")),))
    if place < 0:
        return Turn(weekly, (Para(say("pack_start")),))
    moved = replace(weekly, place=place)
    return Turn(moved, ask(moved))


def _go(weekly: Weekly, typed: str) -> Turn:
    numbers = [str(question.number) for question in weekly.questions]
    if typed not in numbers:
        error = InputError(say("pack_no_question", number=typed[:20], total=len(numbers)))
        return Turn(weekly, telling.not_understood(error))
    return _to(weekly, numbers.index(typed))


def _finish(weekly: Weekly) -> Turn:
    if weekly.open and not weekly.warned:
        missing = ", ".join(map(str, weekly.open))
        page = (Para(say("pack_finish_open", open=missing)),)
        return Turn(replace(weekly, warned=True), page)
    return Turn(replace(weekly, warned=False), acts=("finish",))


def _yours(weekly: Weekly, shown: Shown) -> Page:
    answer = weekly.answers.get(shown.number, "")
    return (Para(say("pack_yours", answer=telling.answer_words(shown, answer))),) if answer else ()
