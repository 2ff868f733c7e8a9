"""Students who answer by chance: a model to demonstrate with, not to conclude from.

Whether a student gets a question right is drawn with the share

    p = g + (1 − g) / (1 + exp(−(d + a + GROWTH·weeks − held)))

with g the share that guessing gets, d the logit of the question's predicted difficulty
(`items.difficulty`), a the student's ability (normal, with the level and spread of the class), and
`held` a handicap where an option shows a mistaken idea that the student holds. Who is wrong
takes such an option for preference. Each student begins with a few mistaken ideas and drops each
in a week with the chance UNLEARNS. The form is that of a Rasch model with guessing; the numbers are
invented for the demonstration, and no data stands behind them.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log

from quizgen.forms.problem_set import Form
from quizgen.forms.sheet import LETTERS
from quizgen.items.difficulty import guessed, predicted_share
from quizgen.items.item import Item, Number

GROWTH = 0.06  # logits a week
HELD = 1.0  # logits
PREFERS = 6.0  # weight of an option with an idea that is held, beside 1 for the others
IDEAS = 4  # that a student begins with, at most
UNLEARNS = 0.07
BLANK = 0.02
ABSENT = 0.06
LEAVES = 0.07  # chance that a student leaves in the course of a term

# the mistaken ideas that students may hold; ids of templates/wording/misconceptions.yaml
COMMON = (
    "load-blamed", "ground-side-forgotten", "no-current-no-voltage", "stops-early",
    "open-for-resistance", "resistance-for-open", "clears-too-much", "convicts-too-soon",
    "long-way-round", "one-suspect-at-a-time", "reads-it-backwards", "tests-what-is-ruled-out",
)  # fmt: skip


@dataclass(frozen=True)
class Learner:
    """One simulated student. `last` is the last week they come; `ideas` go in the week given."""

    id: str
    seed: str
    ability: float
    last: int
    ideas: Mapping[str, int]

    def week(self, number: int, form: Form) -> dict[int, str] | None:
        """Answers by number as somebody would type them; None from who is not there.

        A week does not depend on those before it having been asked for.
        """
        rng = random.Random(f"{self.seed} {number}")
        if number > self.last or rng.random() < ABSENT:
            return None
        held = frozenset(idea for idea, goes in self.ideas.items() if number < goes)
        sitting = Sitting(rng, self.ability + GROWTH * number, held)
        return {n: sitting.answer(item) for n, item in enumerate(form.items, 1)}


@dataclass(frozen=True)
class Sitting:
    """A student in one week: what decides their answers."""

    rng: random.Random
    ability: float
    ideas: frozenset[str]

    def answer(self, item: Item) -> str:
        """An answer to one question."""
        if self.rng.random() < BLANK:
            return ""
        return right_answer(item) if self.rng.random() < self._chance(item) else self._wrong(item)

    def _chance(self, item: Item) -> float:
        guess, predicted = guessed(item), predicted_share(item)
        knows = (predicted - guess) / (1.0 - guess)
        logit = log(knows / (1.0 - knows)) + self.ability
        shown = {option.misconception for option in item.options if not option.is_key}
        if self.ideas & shown:
            logit -= HELD
        return guess + (1.0 - guess) / (1.0 + exp(-logit))

    def _wrong(self, item: Item) -> str:
        if item.number is not None:
            return self._wrong_number(item.number)
        if item.response == "order":
            return self._wrong_order(item)
        if item.response == "several":
            return self._wrong_choice_of_several(item)
        wrong = [i for i, option in enumerate(item.options) if not option.is_key]
        weights = [PREFERS if item.options[i].misconception in self.ideas else 1.0 for i in wrong]
        return LETTERS[self.rng.choices(wrong, weights)[0]]

    def _wrong_number(self, asked: Number) -> str:
        beside = abs(asked.high - asked.value) + 10.0**-asked.decimals
        values = [w.value for w in asked.wrong] or [asked.value + self.rng.randint(2, 9) * beside]
        return f"{self.rng.choice(values):.{asked.decimals}f}"

    def _wrong_order(self, item: Item) -> str:
        order = list(item.order)
        place = self.rng.randrange(len(order) - 1)
        order[place : place + 2] = reversed(order[place : place + 2])
        return " ".join(LETTERS[i] for i in order)

    def _wrong_choice_of_several(self, item: Item) -> str:
        """One option taken for what it is not, more likely where a mistaken idea helps."""
        weights = [PREFERS if o.misconception in self.ideas else 1.0 for o in item.options]
        mistaken = self.rng.choices(range(len(item.options)), weights)[0]
        chosen = [i for i, o in enumerate(item.options) if o.is_key != (i == mistaken)]
        return " ".join(LETTERS[i] for i in chosen)


def right_answer(item: Item) -> str:
    """The key as somebody would type it."""
    if item.number is not None:
        return f"{item.number.value:.{item.number.decimals}f}"
    if item.response == "order":
        return " ".join(LETTERS[i] for i in item.order)
    return " ".join(LETTERS[i] for i, option in enumerate(item.options) if option.is_key)


def learners(
    ids: Sequence[str], seed: str, *, level: float, spread: float, weeks: int
) -> tuple[Learner, ...]:
    """A class of them; the same arguments give the same people, who do the same."""
    return tuple(_learner(name, f"{seed} {name}", level, spread, weeks) for name in ids)


def _learner(name: str, seed: str, level: float, spread: float, weeks: int) -> Learner:
    rng = random.Random(seed)
    ideas = rng.sample(COMMON, rng.randint(1, IDEAS))
    return Learner(
        id=name, seed=seed, ability=rng.gauss(level, spread),
        last=rng.randint(weeks // 2, weeks - 2) if rng.random() < LEAVES else weeks,
        ideas={idea: _goes(rng, weeks) for idea in ideas},
    )  # fmt: skip


def _goes(rng: random.Random, weeks: int) -> int:
    """The week in which an idea is gone; one past the term if it stays."""
    return next((week for week in range(1, weeks + 1) if rng.random() < UNLEARNS), weeks + 1)
