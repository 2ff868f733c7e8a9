"""`quizgen drill`: questions one after another, with reasons at once."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cache

from quizgen.base.errors import InputError, UnprovableError
from quizgen.cli.drill_desk import Desk, Progress
from quizgen.cli.drill_making import Making, MakingProcess
from quizgen.cli.drill_window import Window, ascii_only, open_window
from quizgen.cli.progress import progress_line
from quizgen.drill.figures import figure_page
from quizgen.drill.home import home
from quizgen.drill.overview import overview, overview_page, skill_words
from quizgen.drill.page import Page, Para, Title
from quizgen.drill.practice import (
    Act,
    Keep,
    Pick,
    Practice,
    pick_topics,
    put,
    respond,
    topics_now,
)
from quizgen.drill.question import Question
from quizgen.drill.record import open_record
from quizgen.drill.schedule import Skill, due
from quizgen.drill.words import level_words, listing, plain, say, sayings, sentence, when


@dataclass(frozen=True, kw_only=True)
class Wishes:
    """What the options of the command ask for."""

    student: str = ""
    topics: tuple[str, ...] = ()
    circuit: str = ""
    plain: bool = False
    ascii_only: bool = False
    open_figures: bool = False


def practise(wishes: Wishes, making: Making | None = None) -> None:
    """Put questions until the student stops. `making` takes the place of the usual process."""
    circuit = known_circuit(wishes.circuit) if wishes.circuit else ""
    record = open_record(home(wishes.student))
    # starts at once and makes while the first screen is read
    maker = making or MakingProcess(circuit=circuit)
    try:
        window = open_window(wishes.plain)
        desk = Desk(record, maker, ascii_only=ascii_only(wishes.ascii_only), circuit=circuit)
        Sitting(desk, window, wishes).run()
    finally:
        maker.close()
        record.close()


def known_circuit(name: str) -> str:
    """A shipped circuit by its name, a file by its whole path. Raises InputError for none."""
    from quizgen.circuit.template import find_template, shipped_templates  # slow to load

    template = find_template(name)
    if not template.topics:
        raise InputError(f"{name}: the circuit names no topics, so there is nothing to practise")
    return name.strip() if name.strip() in shipped_templates() else str(template.path.resolve())


@dataclass
class Sitting:
    """One run of the command, from the first screen to the goodbye."""

    desk: Desk
    window: Window
    wishes: Wishes
    practice: Practice = field(default_factory=Practice)
    shown_at: float = 0.0

    def run(self) -> None:
        """Until the student stops, the input ends, or Ctrl-C."""
        self._begin()
        self.window.converse(lambda: self.practice.prompt, self.answer, self._goodbye)

    def answer(self, typed: str) -> bool:
        """Do what one line asks for; False to stop. The record is written before the page."""
        if not self.practice.topics and typed.lower().split()[:1] in (["topics"], ["topic"]):
            self._know_topics()
        question, turn = self.practice.question, respond(self.practice, typed)
        self.practice = turn.practice
        more: Page = ()
        for act in turn.acts:
            if act == "next":
                break
            if act == "quit":
                return False
            more += self._do(act, question)
        self.window.show((*turn.page, *more))
        if "next" in turn.acts:
            self._next()
        return True

    def _begin(self) -> None:
        self.window.show(self._first_page())
        if self.wishes.topics:
            self._know_topics()
            picked = pick_topics(self.practice.topics, " ".join(self.wishes.topics))
            self.desk.pick(picked)
            self.practice = replace(self.practice, picked=picked)
            self.window.show((Para(topics_now(picked)),))
        if self.desk.record.opened() is None:
            self.desk.begin_ahead()

    def _first_page(self) -> Page:
        page: list[Title | Para] = [Title(say("title")), Para(say("cautions_short"))]
        if not self.desk.lines:
            page += [Para(text) for text in sayings("first_time")]
        else:
            waiting = [skill_words(skill) for skill in due(self.desk.cards, self.desk.now())]
            page.append(
                Para(
                    say(
                        "back_again",
                        answered=sum(line.right is not None for line in self.desk.lines),
                        due=listing(waiting, 3) or say("none_due"),
                    )
                )
            )
        if self.desk.picked and not self.wishes.topics:
            page.append(Para(say("topics_now", topics=", ".join(map(plain, self.desk.picked)))))
        if self.desk.record.opened():
            page.append(Para(say("left_open")))
        return (*page, Para(say("begin")))

    def _know_topics(self) -> None:
        with _waiting() as told:
            catalogue = self.desk.catalogue(told)
        self.practice = replace(self.practice, topics=tuple(catalogue), picked=self.desk.picked)

    def _next(self) -> None:
        open_now = self.desk.current()
        hints = 0
        if open_now and (
            self.practice.question is None
            or open_now[0].shown.number != self.practice.question.shown.number
        ):
            question, hints = open_now
        else:
            try:
                question = self._made()
            except UnprovableError as error:  # the student may pick other topics
                self.window.show((Para(sentence(str(error))),))
                return
        turn = put(self.practice, question, hints)
        self.practice = turn.practice
        self.window.show(turn.page)
        if self.wishes.open_figures:
            self.window.show(self._write_figure(question))
        self.shown_at = time.monotonic()
        self.desk.make_ahead()

    def _made(self) -> Question:
        with _waiting() as told:
            return self.desk.next_question(told)

    def _do(self, act: Act, question: Question | None) -> Page:
        if isinstance(act, Pick):
            self.desk.pick(act.topics)
            return ()
        if act == "status":
            lines, cards = self.desk.lines, self.desk.cards
            return overview_page(overview(lines, cards, self.desk.now()))
        assert question is not None
        if isinstance(act, Keep):
            return self._keep(act, question)
        if act == "hint":
            self.desk.record.hint(question.shown.number)
        elif act == "skip":
            self.desk.skip(question)
        elif act == "open":
            return self._write_figure(question)
        return ()

    def _keep(self, act: Keep, question: Question) -> Page:
        seconds = time.monotonic() - self.shown_at
        if not self.desk.keep(question, act.answer, act.verdict, seconds):
            return (Para(say("left_elsewhere")),)
        skill = Skill(question.topic, question.level)
        wait = self.desk.cards[skill].due - self.desk.now()
        self.desk.make_ahead()
        return (
            Para(
                say(
                    "comes_back",
                    topic=plain(question.topic),
                    level=level_words(question.level),
                    when=when(wait),
                )
            ),
        )

    def _write_figure(self, question: Question) -> Page:
        shown = question.shown
        return figure_page(shown, self.desk.record.path.parent, f"question-{shown.number}")

    def _goodbye(self) -> None:
        self.window.show((Para(say("goodbye")),))


@contextmanager
def _waiting() -> Iterator[Progress]:
    """A function to be called while a question is made; it says so the first time only."""
    with progress_line() as progress:
        yield cache(lambda: progress(say("making")))
