"""When a skill is due again, worked out from the answers.

The model is FSRS, of the open-source package `fsrs`, with its own parameters and without random
spread, so that the same answers give the same dates. There is one card for each skill, a topic at
a level, and never one for a question: questions are new every time. No state is stored; the cards
follow from the answers, and so cannot disagree with them.

A wrong answer is rated Again, a right one Good, a right one after a hint Hard. Easy is never given:
what the clock measures at a shared computer is reading speed and interruptions, not ease.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from fsrs import Card, Rating, Scheduler


@dataclass(frozen=True, order=True)
class Skill:
    """A topic at a level: what is practised."""

    topic: str
    level: str


@dataclass(frozen=True, kw_only=True)
class Answered:
    """What the schedule needs of an answer. `at` is a time with its zone."""

    skill: Skill
    at: datetime
    right: bool
    hints: int = 0


SCHEDULER = Scheduler(enable_fuzzing=False)


def rating_of(answer: Answered) -> Rating:
    """How well it went, in the words of the model."""
    if not answer.right:
        return Rating.Again
    return Rating.Hard if answer.hints else Rating.Good


def reviewed(card: Card | None, answer: Answered) -> Card:
    """The card of the skill after one more answer; None where it is the first."""
    if card is None:
        card = Card(card_id=_id(answer.skill), due=answer.at)
    at = max(answer.at, card.last_review) if card.last_review else answer.at  # a clock set back
    return SCHEDULER.review_card(card, rating_of(answer), at)[0]


def cards_of(answers: Iterable[Answered]) -> dict[Skill, Card]:
    """The card of each skill that was answered; `answers` come oldest first."""
    cards: dict[Skill, Card] = {}
    for answer in answers:
        cards[answer.skill] = reviewed(cards.get(answer.skill), answer)
    return cards


def due(cards: Mapping[Skill, Card], now: datetime) -> list[Skill]:
    """Skills that are due, the one that has waited longest first."""
    waiting = [(card.due, skill) for skill, card in cards.items() if card.due <= now]
    return [skill for _, skill in sorted(waiting)]


def recall(card: Card, now: datetime) -> float:
    """The probability, by the model, of still knowing it now."""
    return float(SCHEDULER.get_card_retrievability(card, now))


def _id(skill: Skill) -> int:
    """A number of its own for a skill: without one the package takes the clock's."""
    return zlib.crc32(f"{skill.topic}/{skill.level}".encode())
