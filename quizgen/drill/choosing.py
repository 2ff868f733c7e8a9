"""Which skill to practise next.

What is due comes first, longest waiting first. Then something new: a topic is climbed level by
level, the next one opening when the one below was last answered right, and at most `CLIMBED` topics
are on the way at a time, so that practice is mixed and yet gets somewhere. When nothing is due and
nothing new is open, the skill that the model gives the least chance of being remembered.

Practice that is spread out helps more than the same in one go (Latimier, Peyre and Ramus 2021, 29
studies, doi 10.1007/s10648-020-09572-8, second-hand). That topics are mixed, and how many are on
the way, are judgements without a source.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime

from fsrs import Card

from quizgen.drill.schedule import Answered, Skill, due, recall
from quizgen.items.item import LEVELS

CLIMBED = 3

Catalogue = Mapping[str, Sequence[str]]
"""Topic → the levels at which questions can be made on it. The first topics come first."""


def ranked(
    catalogue: Catalogue,
    cards: Mapping[Skill, Card],
    last: Mapping[Skill, Answered],
    now: datetime,
    lately: Collection[Skill] = (),
) -> list[Skill]:
    """All skills of the catalogue that may be practised, the best first.

    `last` is the last answer to each skill; those asked `lately` go behind the others.
    """
    known = {skill: card for skill, card in cards.items() if _in(catalogue, skill)}
    waiting = due(known, now)
    fresh = opened(catalogue, last)
    rest = sorted(set(known) - set(waiting), key=lambda skill: (recall(known[skill], now), skill))
    order = [*waiting, *fresh, *rest]
    return sorted(order, key=lambda skill: skill in lately)  # a stable sort


def opened(catalogue: Catalogue, last: Mapping[Skill, Answered]) -> list[Skill]:
    """New skills that may be begun, topics on the way first, fewest levels done first."""
    steps = []
    climbed = 0
    for place, (topic, offered) in enumerate(catalogue.items()):
        levels = sorted(offered, key=LEVELS.index)
        begun = [level for level in levels if Skill(topic, level) in last]
        new = [level for level in levels if level not in begun]
        climbed += bool(begun and new)
        if new and all(last[Skill(topic, level)].right for level in begun):
            steps.append((not begun, len(begun), place, Skill(topic, new[0])))
    steps.sort()
    on_the_way = [skill for fresh, _, _, skill in steps if not fresh]
    others = [skill for fresh, _, _, skill in steps if fresh]
    return [*on_the_way, *others] if climbed >= CLIMBED else [*others, *on_the_way]


def _in(catalogue: Catalogue, skill: Skill) -> bool:
    return skill.level in catalogue.get(skill.topic, ())
