"""`quizgen drill --pack`: the set of a course at the terminal."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from quizgen.base.errors import InputError
from quizgen.cli.drill_convert import shown_of
from quizgen.cli.drill_window import Window, ascii_only, open_window
from quizgen.drill import page as blocks
from quizgen.drill.figures import figure_page
from quizgen.drill.home import home
from quizgen.drill.page import Page, Para, Title
from quizgen.drill.weekly import Put, Weekly, respond
from quizgen.drill.weekly_log import Pack, WeeklyLog, open_log
from quizgen.drill.words import say, sayings
from quizgen.forms.handed_in import SUFFIX, write_handed_in
from quizgen.publish.pack import read_pack


def answer_pack(
    path: Path, out: Path | None, student: str, plain: bool, without_boxes: bool = False
) -> None:
    """Work on the pack in a file until the student stops.

    Raises InputError for a file that is no pack or was changed, or that is somebody else's.
    """
    pack = read_pack(path)
    if student and pack.student and student != pack.student:
        raise InputError(say("pack_wrong_student", path=path, owner=pack.student, student=student))
    window = open_window(plain)
    who = pack.student or student or _who(window)
    mine = Pack(token=pack.token, form=pack.book.form, checksum=pack.checksum, student=who)
    log = open_log(home(student), mine)
    no_boxes = ascii_only(without_boxes)
    questions = tuple(shown_of(problem, ascii_only=no_boxes) for problem in pack.book.problems)
    weekly = Weekly(questions=questions, answers=log.answers())
    title = say("pack_title", title=pack.book.heading.title, form=pack.book.form)
    PackSitting(log, window, weekly, title, _place(out, mine)).run()


@dataclass
class PackSitting:
    """One run of the command. `unsent` is True after a change that was not handed in."""

    log: WeeklyLog
    window: Window
    weekly: Weekly
    title: str
    out: Path
    unsent: bool = False
    now: Callable[[], datetime] = lambda: datetime.now(UTC)

    def run(self) -> None:
        """Until the student stops, the input ends, or Ctrl-C."""
        self.window.show(self._first_page())
        self.window.converse(lambda: self.weekly.prompt, self.answer, self._goodbye)

    def answer(self, typed: str) -> bool:
        """Do what one line asks for; False to stop. The log is written before the page."""
        turn = respond(self.weekly, typed)
        more: Page = ()
        for act in turn.acts:
            if act == "quit":
                return False
            if isinstance(act, Put):
                self.log.put(act.number, act.answer, self.now())
                self.unsent = True
            else:
                more += self._finish() if act == "finish" else self._write_figure()
        self.weekly = turn.weekly
        self.window.show((*turn.page, *more))
        return True

    def _first_page(self) -> Page:
        total = len(self.weekly.questions)
        answered = len(self.weekly.answers)
        back = (Para(say("pack_back", answered=answered, total=total)),) if answered else ()
        return (
            Title(self.title),
            Para(say("cautions_short")),
            *(Para(text) for text in sayings("pack_first")),
            *back,
        )

    def _finish(self) -> Page:
        record = self.log.handed_in()
        path = write_handed_in(record, self.out)
        self.unsent = False
        counts = {"answered": len(record.answers), "total": len(self.weekly.questions)}
        return (Para(say("pack_handed_in", **counts)), blocks.Path(str(path)))

    def _write_figure(self) -> Page:
        shown = self.weekly.here
        assert shown is not None  # on the first screen there is nothing to open
        return figure_page(shown, self.log.path.parents[1], f"set-question-{shown.number}")

    def _goodbye(self) -> None:
        words = [Para(say("pack_goodbye"))]
        if self.unsent:
            words.append(Para(say("pack_not_handed_in")))
        self.window.show(tuple(words))


def _who(window: Window) -> str:
    """The id of the student, asked for. Raises InputError when none is given."""
    typed = (window.ask(say("pack_who")) or "").strip()
    if not typed:
        raise InputError("a student id is needed for what you hand in; --student gives it too")
    return typed


def _place(out: Path | None, pack: Pack) -> Path:
    name = f"{pack.name}{SUFFIX}"
    if out is None:
        return Path(name)
    return out / name if out.is_dir() else out
