"""A plan to begin with: every field there, explained, and only what this scenario can meet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from textwrap import wrap

from quizgen.circuit.template import shipped_templates
from quizgen.forms.plan import FEWEST_OPTIONS, MOST_FORMS, MOST_OPTIONS, PER_STUDENT, all_topics
from quizgen.items.item import LEVELS
from quizgen.items.kinds import KINDS
from quizgen.scenario.scenario import Scenario

WIDTH = 78
ASKS = {
    "read": "read the diagram",
    "predict": "predict a reading or what works",
    "interpret": "find the fault that explains what was found",
    "choose": "choose the next test",
    "justify": "say what is certain",
}


def starter_plan(scenario: Scenario, name: str, items: int) -> str:
    """The text of a plan file with about `items` questions, spread over all levels."""
    carried = {c.family for machine in scenario.machines for c in machine.carries}
    families = [f for f in shipped_templates() if f in carried]
    levels = [level for level in LEVELS if any(k.level == level for k in KINDS.values())]
    share = {level: items // len(levels) for level in levels}
    for level in levels[len(levels) - items % len(levels) :]:
        share[level] += 1
    grid = ", ".join(f"{level}: {count}" for level, count in share.items() if count)
    lines = [
        f"# A plan for {scenario.course}, {scenario.college}.",
        f"# Build it:  quizgen set build {name}.yaml --secret course-secret.txt",
        "format: 1",
        f"name: {name}",
        f"title: {name.replace('-', ' ').capitalize()}",
        "week: Week 1",
        f"scenario: {scenario.name}",
        "",
        f'# How many forms, 1 to {MOST_FORMS}, or "{PER_STUDENT}" of the roster.',
        "forms: 2",
        "# The class: a CSV file with columns id and name; without it the scenario's students.",
        "# roster: class.csv",
        "",
        *_blueprint(levels, grid, families),
        "",
        *_limits(families),
    ]
    return "\n".join(lines) + "\n"


def _blueprint(levels: Sequence[str], grid: str, families: Sequence[str]) -> Iterator[str]:
    """What is asked."""
    yield "# How many questions on which topic at which level. `any` stands for every topic or"
    yield "# level. A question on a circuit stands for one of the circuit's topics."
    yield from (f"#   {level:<10}{ASKS[level]}" for level in levels)
    yield "blueprint:"
    yield f"  any: {{{grid}}}"
    yield "  # ground-side-switching: {interpret: 2, choose: 1}"
    yield from _folded("Topics: ", all_topics(families))


def _limits(families: Sequence[str]) -> Iterator[str]:
    """What may be used for it, and the secret."""
    yield "# Circuits that may be used; without this field all that the machines of the scenario"
    yield "# carry. `without` leaves some out. A circuit of your own is named by its file."
    yield from _folded("circuits: ", families, brackets=True)
    yield "# without: [starter]"
    yield ""
    yield "# Kinds of questions that may be used; without this field all."
    yield from _folded("kinds: ", KINDS, brackets=True)
    yield ""
    yield f"# Options to a question, {FEWEST_OPTIONS} or {MOST_OPTIONS}."
    yield f"options: {FEWEST_OPTIONS}"
    yield "# Predicted share of right answers, from the hardest question to the easiest."
    yield "# difficulty: [0.3, 0.9]"
    yield ""
    yield "# Whoever has the secret and this plan has the key. Keep it in a file of its own, 16"
    yield "# letters or more, and name that file with --secret."
    yield "# secret: ..."


def _folded(lead: str, words: Iterable[str], brackets: bool = False) -> Iterator[str]:
    """A commented list, folded at `WIDTH`."""
    text = ", ".join(words)
    yield from wrap(
        lead + (f"[{text}]" if brackets else text),
        WIDTH,
        initial_indent="# ",
        subsequent_indent="#   ",
        break_on_hyphens=False,
    )
