"""How practice stands: what is due, what is strong, what is weak, and how sure that is.

Counted are right answers without a hint among the last `WINDOW` to each skill, with the Wilson
interval of their share. A few answers prove little, so most of a beginner's record reads "needs
more evidence": nine of nine are the least that prove a share above 70 %.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from fsrs import Card

from quizgen.base.proportion import wilson
from quizgen.drill.page import Block, Page, Para, Rows, Title
from quizgen.drill.record import Line
from quizgen.drill.schedule import Skill, due
from quizgen.drill.words import level_words, listing, plain, say, sayings, when

WINDOW = 20
CUT = 0.7  # of right answers; a judgement, no source
DUE_NAMED = 6


@dataclass(frozen=True, kw_only=True)
class Standing:
    """`right` of `total` recent answers; `low` and `high` bound the share behind them (95 %)."""

    name: str
    right: int
    total: int
    low: float
    high: float
    due: datetime | None = None

    @property
    def verdict(self) -> str:
        """strong, weak or unsure."""
        if self.low >= CUT:
            return "strong"
        return "weak" if self.high < CUT else "unsure"


@dataclass(frozen=True, kw_only=True)
class Overview:
    """All of a student's practice at a time. `due` are skills, longest waiting first."""

    at: datetime
    answered: int
    right: int
    skipped: int
    due: tuple[Skill, ...]
    next: tuple[datetime, Skill] | None
    topics: tuple[Standing, ...]
    skills: tuple[Standing, ...]


def overview(lines: Sequence[Line], cards: Mapping[Skill, Card], now: datetime) -> Overview:
    """What the record says, oldest line first."""
    answered = [line for line in lines if line.right is not None]
    recent: dict[Skill, list[bool]] = {}
    for line in answered:
        recent.setdefault(line.skill, []).append(bool(line.right) and not line.hints)
    recent = {skill: results[-WINDOW:] for skill, results in recent.items()}
    topics: dict[str, list[bool]] = {}
    for skill, results in recent.items():
        topics.setdefault(skill.topic, []).extend(results)
    later = sorted((card.due, skill) for skill, card in cards.items() if card.due > now)
    return Overview(
        at=now,
        answered=len(answered),
        right=sum(bool(line.right) and not line.hints for line in answered),
        skipped=len(lines) - len(answered),
        due=tuple(due(cards, now)),
        next=later[0] if later else None,
        topics=_weakest_first(_standing(topic, results) for topic, results in topics.items()),
        skills=_weakest_first(
            _standing(f"{skill.topic}, {skill.level}", results, cards[skill].due)
            for skill, results in recent.items()
        ),
    )


def _standing(name: str, results: Sequence[bool], due_at: datetime | None = None) -> Standing:
    right, total = sum(results), len(results)
    low, high = wilson(right, total)
    return Standing(name=name, right=right, total=total, low=low, high=high, due=due_at)


def _weakest_first(standings: Iterable[Standing]) -> tuple[Standing, ...]:
    return tuple(sorted(standings, key=lambda s: (s.low + s.high, s.name)))


def overview_page(view: Overview, by_skill: bool = False) -> Page:
    """The overview as a page: a table of topics, or of skills with what is next."""
    if not view.answered and not view.skipped:
        return (Para(say("status_nothing")),)
    counts = say("status_summary", answered=view.answered, right=view.right, skipped=view.skipped)
    blocks: list[Block] = [Title(say("status_title")), Para(counts), Para(_due_words(view))]
    if by_skill:
        rows = tuple(_row(s, _wait(s, view.at)) for s in view.skills)
        blocks.append(Rows(sayings("status_skill_heads"), rows))
    else:
        blocks.append(Rows(sayings("status_heads"), tuple(_row(s) for s in view.topics)))
    blocks.append(Para(say("status_note", window=WINDOW, cut=_percent(CUT))))
    return tuple(blocks)


def skill_words(skill: Skill) -> str:
    """A skill as words: "shared ground (predict)"."""
    return f"{plain(skill.topic)} ({level_words(skill.level)})"


def _due_words(view: Overview) -> str:
    if view.due:
        names = [skill_words(skill) for skill in view.due]
        return say("status_due", due=listing(names, DUE_NAMED))
    if view.next is None:
        return say("status_nothing")
    at, skill = view.next
    return say("status_next", when=when(at - view.at), skill=skill_words(skill))


def _row(standing: Standing, *more: str) -> tuple[str, ...]:
    return (
        plain(standing.name),
        f"{standing.right} of {standing.total}",
        f"{_percent(standing.low)} to {_percent(standing.high)}",
        *more,
        say(standing.verdict),
    )


def _wait(standing: Standing, now: datetime) -> str:
    return when(standing.due - now) if standing.due else ""


def _percent(share: float) -> str:
    return f"{share:.0%}".replace("%", " %")
