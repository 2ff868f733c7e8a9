"""Practice as a machine: what is typed goes in, a page and what is to be done come out.

Nothing here reads, writes or waits. Whoever runs it (the command line, a test) does what the acts
say, first things first, and shows the page afterwards, so that nothing is on the screen that is
not in the record.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown as quoted
from quizgen.base.suggest import suggest
from quizgen.drill import telling
from quizgen.drill.answers import read_answer
from quizgen.drill.hints import hint
from quizgen.drill.marking import Verdict, judge
from quizgen.drill.page import Names, Page, Para, Title
from quizgen.drill.question import Question
from quizgen.drill.words import plain, say

SHORT = {"q": "quit", "exit": "quit", "s": "skip", "o": "open", "?": "help", "n": "next"}
ALONE = (
    "hint", "skip", "again", "open", "diagram", "symbols", "all", "topics", "status", "cautions",
    "quit", "help", "next",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Keep:
    """Put the answer into the record."""

    answer: str
    verdict: Verdict


@dataclass(frozen=True)
class Pick:
    """Practise these topics from now on; none for all."""

    topics: tuple[str, ...]


Errand = Literal["hint", "skip", "next", "open", "status", "quit"]
"""Count a hint; leave the question; bring the next one; write the figure; show how practice
stands; stop."""

Act = Keep | Pick | Errand


@dataclass(frozen=True, kw_only=True)
class Practice:
    """Where the student is. `answer` is "" until the question is answered.

    `topics` are all there are, by name, and `picked` those that are practised, none for all.
    """

    question: Question | None = None
    answer: str = ""
    hints: int = 0
    topics: tuple[str, ...] = ()
    picked: tuple[str, ...] = ()

    @property
    def prompt(self) -> str:
        """What is wanted now."""
        if self.question is None:
            return say("ask_begin")
        return say("ask_next") if self.answer else telling.prompt(self.question.shown)


@dataclass(frozen=True)
class Turn:
    """What came of one line: where the student is now, what to do, what to show."""

    practice: Practice
    page: Page = ()
    acts: tuple[Act, ...] = ()


def put(practice: Practice, question: Question, hints: int = 0) -> Turn:
    """A question comes to the screen, with so many hints already taken."""
    page = telling.asked(question.shown, telling.practice_heading(question))
    return Turn(replace(practice, question=question, answer="", hints=hints), page)


def respond(practice: Practice, typed: str) -> Turn:
    """What one line that was typed brings about."""
    words = typed.split()
    word = words[0].lower() if words else ""
    word = SHORT.get(word, word)
    if word == "topic":
        return _pick(practice, words[1:])
    if len(words) == 1 and word in ALONE:
        return _command(practice, word)
    if practice.question is None:
        acts: tuple[Act, ...] = () if words else ("next",)
        return Turn(practice, (Para(say("nothing_open")),) if words else (), acts)
    if practice.answer:
        if words:
            return Turn(practice, (Para(say("already_told")),))
        return Turn(practice, acts=("next",))
    return _answer(practice, practice.question, typed)


def _answer(practice: Practice, question: Question, typed: str) -> Turn:
    if not typed.strip():
        return Turn(practice)
    try:
        answer = read_answer(question.shown, typed)
    except InputError as error:
        return Turn(practice, telling.not_understood(error))
    verdict = judge(question, answer)
    return Turn(
        replace(practice, answer=answer),
        telling.told(question, answer, verdict),
        (Keep(answer=answer, verdict=verdict),),
    )


def _command(practice: Practice, word: str) -> Turn:
    pages: dict[str, Callable[[], Page]] = {
        "help": lambda: telling.help_page("help"),
        "cautions": telling.cautions,
        "topics": lambda: _topics_page(practice),
    }
    if word in pages:
        return Turn(practice, pages[word]())
    if word == "quit":
        return Turn(practice, acts=("quit",))
    if word == "status":
        return Turn(practice, acts=("status",))
    if practice.question is None:
        return Turn(practice, (Para(say("nothing_open")),), ("next",) if word == "next" else ())
    return _about_question(practice, practice.question, word)


def _about_question(practice: Practice, question: Question, word: str) -> Turn:
    """Commands that mean the same before and after an answer; then the others."""
    if word == "symbols":
        return Turn(practice, telling.symbols(question.shown.picture))
    if word == "again":
        return Turn(practice, put(practice, question).page)
    if word in ("open", "diagram") and question.shown.picture is None:
        return Turn(practice, (Para(say("no_picture")),))
    if word == "diagram":
        return Turn(practice, telling.in_words(question.shown.picture))
    if word == "open":
        return Turn(practice, acts=("open",))
    return _about_answering(practice, question, word)


def _about_answering(practice: Practice, question: Question, word: str) -> Turn:
    """Commands that mean something before an answer, or only after it."""
    if practice.answer:
        if word == "all":
            return Turn(practice, telling.every_option(question))
        if word in ("next", "skip"):
            return Turn(practice, acts=("next",))
        return Turn(practice, (Para(say("already_told")),))
    if word == "skip":
        return Turn(practice, acts=("skip", "next"))
    if word == "hint":
        return _hint(practice, question)
    return Turn(practice, (Para(telling.prompt(question.shown)),))


def _hint(practice: Practice, question: Question) -> Turn:
    number = practice.hints + 1
    words = hint(question, number)
    if not words:
        return Turn(practice, (Para(say("no_hint")),))
    page = (Title(say("hint_title", number=number)), Para(words))
    costs = (Para(say("hint_costs")),) if number == 1 else ()
    return Turn(replace(practice, hints=number), (*page, *costs), ("hint",))


def _topics_page(practice: Practice) -> Page:
    names = tuple(
        f"{number:>2} {'*' if topic in practice.picked else ' '} {plain(topic)}"
        for number, topic in enumerate(practice.topics, 1)
    )
    return (Title(say("topics_title")), Names(names), Para(say("topics_help")))


def _pick(practice: Practice, words: list[str]) -> Turn:
    if not words:
        return Turn(practice, _topics_page(practice))
    try:
        picked = pick_topics(practice.topics, " ".join(words))
    except InputError as error:
        return Turn(practice, telling.not_understood(error))
    return Turn(replace(practice, picked=picked), (Para(topics_now(picked)),), (Pick(picked),))


def topics_now(picked: tuple[str, ...]) -> str:
    """Which topics come from now on, as a sentence."""
    names = ", ".join(plain(topic) for topic in picked) or say("all_topics")
    return say("topics_set", topics=names)


def pick_topics(topics: tuple[str, ...], typed: str) -> tuple[str, ...]:
    """The topics that a text names by number or name, none for "all".

    Raises InputError for one that there is not.
    """
    names: Mapping[str, str] = {
        **{str(number): topic for number, topic in enumerate(topics, 1)},
        **{topic: topic for topic in topics},
    }
    found = []
    rest = typed.lower().replace(",", " ").split()
    while rest:
        if rest == ["all"]:
            return ()
        taken = next(
            (n for n in range(len(rest), 0, -1) if "-".join(rest[:n]) in names), 0
        )  # "shared feed" is one topic of two words
        if not taken:
            hint_words = suggest(rest[0], topics)
            raise InputError(say("topic_unknown", topic=quoted(rest[0]), hint=hint_words))
        found.append(names["-".join(rest[:taken])])
        rest = rest[taken:]
    return tuple(dict.fromkeys(found))
