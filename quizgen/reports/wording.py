"""Words and figures as reports print them."""

from __future__ import annotations

import math

from quizgen.base.errors import QuizgenError
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.responses import Letters
from quizgen.items.item import Item
from quizgen.items.sentences import wording
from quizgen.publish.view import Heading
from quizgen.scenario.scenario import find_scenario

NONE = "–"


def belief_name(belief: str) -> str:
    """What reports call a mistaken idea."""
    return str(wording("misconceptions")["names"].get(belief, belief.replace("-", " ")))


def belief_sentence(belief: str) -> str:
    """Why one falls for it, in a sentence; "" where none is written."""
    told = wording("misconceptions")["sentences"].get(belief, "")
    return told if isinstance(told, str) else str(told[0])


def heading_of(problem_set: ProblemSet) -> Heading:
    """The top of a report. A scenario that is not there any more leaves college and course out."""
    try:
        scenario = find_scenario(problem_set.scenario)
    except QuizgenError:
        return Heading(college="", course="", title=problem_set.title, week=problem_set.week)
    return Heading(
        college=scenario.college, course=scenario.course, title=problem_set.title,
        week=problem_set.week, instructor=scenario.instructors[0].name,
        language=scenario.language,
    )  # fmt: skip


def percent(share: float) -> str:
    """A share in whole per cent.

    >>> percent(0.5), percent(float("nan"))
    ('50 %', '–')
    """
    return NONE if math.isnan(share) else f"{share * 100:.0f} %"


def signed(value: float) -> str:
    """A correlation or a difference with its sign.

    >>> signed(-0.127), signed(0.5), signed(float("nan"))
    ('−0.13', '+0.50', '–')
    """
    if math.isnan(value):
        return NONE
    text = f"{value:+.2f}".replace("-", "−")
    return "0.00" if text in ("−0.00", "+0.00") else text


def points_words(points: float) -> str:
    """Points without needless decimals.

    >>> points_words(3.0), points_words(2.333333)
    ('3', '2.33')
    """
    return f"{points:.2f}".rstrip("0").rstrip(".")


def plain(name: str) -> str:
    """The name of a topic, kind or circuit as words."""
    return name.replace("-", " ")


def answer_words(value: Letters | str, item: Item) -> str:
    """An answer as it was given: "B", "A C", "C – B D", "11.9 V"; "" for none."""
    if isinstance(value, str):
        unit = item.number.unit if item.number else ""
        return f"{value} {unit}".strip().replace("-", "−") if value else ""
    return " ".join(letter or NONE for letter in value)
