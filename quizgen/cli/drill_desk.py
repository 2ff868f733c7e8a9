"""The student's desk: the record, and questions that are made ahead so that none is waited for."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime

from fsrs import Card

from quizgen import __version__
from quizgen.base.errors import OutsideError, UnprovableError
from quizgen.base.paths import data_folder
from quizgen.cli.drill_making import Making
from quizgen.cli.drill_messages import FIRST, Reply, Wanted
from quizgen.drill.choosing import ranked
from quizgen.drill.marking import Verdict
from quizgen.drill.question import Question
from quizgen.drill.record import Line, Record
from quizgen.drill.schedule import Answered, Skill, reviewed
from quizgen.items.item import LEVELS

AHEAD = 3  # questions that wait ready
NEAR = 4  # places from the best on in which a ready question is taken rather than waited for
MOST_REPEATS = 3  # after so many that said the same, a skill has nothing new for this sitting
OVERLAP = 50  # lines looked through for those that were left in the same instant
MOST_FAILURES = 3  # of the maker in one sitting; one alone need not stop a student
LATELY = 2  # skills asked last, which go behind the others
WAIT_SECONDS = 0.2  # between two looks at what has been made
LONGEST_SECONDS = 120.0  # until making a question is given up

Progress = Callable[[], None]


@dataclass
class Desk:
    """Everything that a sitting of practice reads and writes. `now` tells the time.

    With `circuit`, a name or a file, questions about others wait for another sitting.
    """

    record: Record
    making: Making
    ascii_only: bool = False
    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    circuit: str = ""
    picked: tuple[str, ...] = ()
    lines: list[Line] = field(default_factory=list)
    cards: dict[Skill, Card] = field(default_factory=dict)
    _last: dict[Skill, Answered] = field(default_factory=dict)
    _asked: dict[int, Skill] = field(default_factory=dict)
    _repeats: Counter[Skill] = field(default_factory=Counter)
    _failures: int = 0
    _catalogue: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for line in self.record.lines():
            self._learn(line)
        picked = self.record.note("topics")
        self.picked = tuple(json.loads(picked)) if picked else ()
        kept = self.record.note("catalogue")
        if kept and not self.circuit:
            mark, table = json.loads(kept)
            self._catalogue = {k: tuple(v) for k, v in table.items()} if mark == _mark() else {}
        if not self._catalogue:
            self.making.ask(Wanted())

    def catalogue(self, waiting: Progress = lambda: None) -> dict[str, tuple[str, ...]]:
        """Topic → levels. Waits for it the first time."""
        while not self._catalogue:
            self._take_in(self._awaited(waiting))
        return self._catalogue

    def pick(self, topics: tuple[str, ...]) -> None:
        """Practise these topics alone from now on; all for none."""
        self.picked = topics
        self.record.keep_note("topics", json.dumps(topics).encode())

    def current(self) -> tuple[Question, int] | None:
        """The question that was left open, and how many hints were taken."""
        found = self.record.opened()
        return (self.record.question(found[0]), found[1]) if found else None

    def next_question(self, waiting: Progress = lambda: None) -> Question:
        """The best question to go on with, opened. `waiting` is called while it is being made."""
        self.catalogue(waiting)
        while True:
            self.look_in()
            order = self._order()
            if not order:
                raise UnprovableError("no question can be made on these topics; pick others")
            ready = self.record.ready(self.circuit)
            number = next((ready[skill] for skill in order[:NEAR] if skill in ready), 0)
            if number:
                self.record.open(number)
                return self.record.question(number)
            if not self._asked:
                self._ask(order[0])
            self._take_in(self._awaited(waiting))

    def make_ahead(self) -> None:
        """Have the next question made while this one is answered; does not wait."""
        if not self._catalogue:
            return
        self.look_in()
        opened = self.record.opened()
        here = self.record.skill(opened[0]) if opened else None
        ready = self.record.ready(self.circuit)
        order = [skill for skill in self._order() if skill != here]
        wanted = [skill for skill in order[:AHEAD] if skill not in ready]
        if wanted and not self._asked:
            self._ask(wanted[0])

    def begin_ahead(self) -> None:
        """Have the first question of a sitting made while the first screen is read."""
        if not self._catalogue:
            if not self.lines and not self.picked and not self.record.ready(self.circuit):
                self._ask(Skill(FIRST, LEVELS[0]))
            return
        order, ready = self._order(), self.record.ready(self.circuit)
        if order and not any(skill in ready for skill in order[:NEAR]):
            self._ask(order[0])

    def look_in(self) -> None:
        """Take in what has been made meanwhile."""
        while (reply := self.making.fetch(0.0)) is not None:
            self._take_in(reply)

    def keep(self, question: Question, answer: str, verdict: Verdict, seconds: float) -> bool:
        """Put an answer into the record; False if another window was first."""
        kept = self.record.answer(question.shown.number, self.now(), answer, verdict, seconds)
        self._catch_up()
        return kept

    def skip(self, question: Question) -> None:
        """Leave a question."""
        self.record.skip(question.shown.number, self.now())
        self._catch_up()

    def _catch_up(self) -> None:
        since = self.lines[-1].at if self.lines else None
        known = {line.number for line in self.lines[-OVERLAP:]}
        for line in self.record.lines(since):
            if line.number not in known:
                self._learn(line)

    def _learn(self, line: Line) -> None:
        self.lines.append(line)
        answered = line.answered
        if answered is not None:
            self.cards[line.skill] = reviewed(self.cards.get(line.skill), answered)
            self._last[line.skill] = answered

    def _order(self) -> list[Skill]:
        table = {t: v for t, v in self._catalogue.items() if t in self.picked} or self._catalogue
        lately = {line.skill for line in self.lines[-LATELY:]}
        order = ranked(table, self.cards, self._last, self.now(), lately)
        return [skill for skill in order if self._repeats[skill] < MOST_REPEATS]

    def _ask(self, skill: Skill) -> None:
        number = self.record.next_number()
        self._asked[number] = skill
        self.making.ask(
            Wanted(
                number=number, topic=skill.topic, level=skill.level,
                seed=self.record.seed.decode(), ascii_only=self.ascii_only,
            )
        )  # fmt: skip

    def _take_in(self, reply: Reply) -> None:
        if reply.catalogue is not None:
            self._catalogue = reply.catalogue
            if not self.circuit:
                kept = json.dumps([_mark(), reply.catalogue])
                self.record.keep_note("catalogue", kept.encode())
            return
        skill = self._asked.pop(reply.number, None)
        if reply.question is not None:
            if not self.record.put_by(reply.question) and skill:
                self._repeats[skill] += 1  # it says the same as one before, and is not kept
        elif reply.barren and skill:
            self._repeats[skill] = MOST_REPEATS
        else:
            self._failures += 1
            if skill:
                self._repeats[skill] += 1
            if self._failures == MOST_FAILURES:
                raise OutsideError(f"questions could not be made: {reply.error}; please report it")

    def _awaited(self, waiting: Progress) -> Reply:
        waited = 0.0
        while (reply := self.making.fetch(WAIT_SECONDS)) is None:
            waiting()
            waited += WAIT_SECONDS
            if waited > LONGEST_SECONDS:
                raise OutsideError("no question was made in two minutes; try other topics")
        return reply


def _mark() -> str:
    """What changes when the catalogue may: the version, and names and times of the circuits."""
    files = sorted((data_folder("templates") / "circuits").glob("*.yaml"))
    newest = max((file.stat().st_mtime_ns for file in files), default=0)
    return f"{__version__} {len(files)} {newest}"
