"""Items to page records. The only place in `publish` that sees a key.

A workbook's problem takes from an item what a student may see and nothing else; the rest goes
into the answer. Option letters follow the order of the options.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Protocol

from quizgen.base.errors import QuizgenError
from quizgen.base.paths import data_folder
from quizgen.circuit.values import text
from quizgen.circuit.values import the_table as table_of
from quizgen.circuit.yaml_reader import read_file
from quizgen.forms.slots import Slot
from quizgen.items.difficulty import predicted_share
from quizgen.items.item import Item, Number, Option
from quizgen.publish.figure_words import figures_text
from quizgen.publish.readings import reading_table
from quizgen.publish.view import (
    Answer,
    AnswerKey,
    Choice,
    ExplainedChoice,
    Figure,
    FormAnswers,
    Heading,
    Mistake,
    Problem,
    Workbook,
)

LETTERS = "ABCDEFGHIJ"

Drawing = Callable[[Item], Figure | None]

MOST_MARKED = 160  # answers; a key of more, for a form per student, goes without figures


class FormOfItems(Protocol):
    """A form: its code and its items in order."""

    @property
    def code(self) -> str: ...
    @property
    def items(self) -> Sequence[Item]: ...


def workbook_of(heading: Heading, form: FormOfItems, draw: Drawing, student: str = "") -> Workbook:
    """What a student gets of `form`. `draw` makes an item's figure, of the sound circuit."""
    problems = tuple(_problem(n, item, draw) for n, item in enumerate(form.items, 1))
    return Workbook(heading=heading, form=form.code, problems=problems, student=student)


def answer_key_of(
    heading: Heading,
    forms: Sequence[FormOfItems],
    draw: Drawing = lambda item: None,
    slots: Sequence[Slot] = (),
) -> AnswerKey:
    """What the instructor gets of all `forms`; `slots` tell what each place stands for."""
    if sum(len(form.items) for form in forms) > MOST_MARKED:
        draw = _without
    topics = {slot.number: slot.topic for slot in slots}
    return AnswerKey(
        heading=heading,
        forms=tuple(
            FormAnswers(
                form=form.code,
                answers=tuple(
                    _answer(n, item, topics.get(n, ""), draw)
                    for n, item in enumerate(form.items, 1)
                ),
            )
            for form in forms
        ),
    )


def _problem(number: int, item: Item, draw: Drawing) -> Problem:
    return Problem(
        number=number,
        machine=item.machine,
        stem=item.stem,
        question=item.question,
        choices=tuple(
            Choice(letter=letter, text=option.text)
            for letter, option in zip(LETTERS, item.options, strict=False)
        ),
        response=item.response,
        unit=item.number.unit if item.number else "",
        readings=reading_table(item.readings, " ".join(item.stem)),
        figure=draw(item),
    )


def _without(item: Item) -> None:
    return None


def _answer(number: int, item: Item, topic: str, draw: Drawing) -> Answer:
    return Answer(
        number=number,
        item=item.id,
        key=key_text(item),
        about=_about(item, topic),
        machine=item.machine,
        stem=item.stem,
        question=item.question,
        readings=reading_table(item.readings, " ".join(item.stem)),
        choices=tuple(
            ExplainedChoice(
                letter=letter,
                text=option.text,
                is_key=option.is_key,
                reasons=option.rationale,
                figures=_figures(item, option),
                misconception=_name(option.misconception),
            )
            for letter, option in zip(LETTERS, item.options, strict=False)
        ),
        proof=_proof(item),
        solution=item.solution,
        many=item.response == "several",
        accepted=_accepted(item.number) if item.number else "",
        mistakes=tuple(_mistakes(item.number)) if item.number else (),
        figure=draw(item),
    )


def _about(item: Item, topic: str) -> tuple[str, ...]:
    """Topic, level, kind, circuit, and the share of right answers that is expected."""
    names = [name for name in (topic, item.level, item.kind, Path(item.family).stem) if name]
    try:
        expected = f"{predicted_share(item):.0%} expected right (predicted)".replace("%", " %")
    except QuizgenError:  # a circuit that is not there any more
        return tuple(name.replace("-", " ") for name in names)
    return (*(name.replace("-", " ") for name in names), expected)


def key_text(item: Item) -> str:
    """The right answer in short: "B", "A C", "C A D B" or "11.9 V"."""
    if item.number is not None:
        return amount_text(item.number, item.number.value)
    if item.response == "order":
        return " ".join(LETTERS[i] for i in item.order)
    pairs = zip(LETTERS, item.options, strict=False)
    return " ".join(letter for letter, option in pairs if option.is_key)


def amount_text(number: Number, value: float) -> str:
    """A figure as the question asks for it, with its unit."""
    return f"{value:.{number.decimals}f} {number.unit}".strip().replace("-", "−")


def _accepted(number: Number) -> str:
    low, high = (f"{value:.{number.decimals}f}" for value in (number.low, number.high))
    return f"{low} to {high} {number.unit}".strip().replace("-", "−")


def _mistakes(number: Number) -> Iterator[Mistake]:
    for wrong in number.wrong:
        yield Mistake(
            figure=amount_text(number, wrong.value),
            reasons=wrong.rationale,
            misconception=_name(wrong.misconception),
        )


def _name(misconception: str) -> str:
    return _names().get(misconception, misconception)


def _proof(item: Item) -> str:
    proof = item.proof
    if not proof.claims:
        return figures_text(proof.figures)
    words = (
        f"{proof.claims} possible causes in {proof.faults} variants were computed. A reading rules "
        f"a cause out when it differs by more than {proof.margin_volts:.2g} V."
    )
    if proof.same_part:
        words += (
            f" At the part of the key {len(proof.same_part)} more would fit; "
            "none of them is among the options."
        )
    return words


def _figures(item: Item, option: Option) -> str:
    """What makes an option right or wrong, in figures; "" where nothing is to be added."""
    if option.figures:
        return figures_text(f for f in option.figures if not _said_besides(f.name, option))
    refutation = option.refuted_by
    if refutation is None:
        return "Fits every reading." if option.is_key and item.proof.claims else ""
    if refutation.reading < 0:
        return f"Seen or heard: {refutation.found}; would be: {refutation.instead}."
    reading = item.readings[refutation.reading]
    would = _between(refutation.low, refutation.high)
    return f"{reading.red}: found {refutation.found}, would be {would}."


def _said_besides(name: str, option: Option) -> bool:
    """Whether a figure stands for a fault, or an idea, that the key has in words beside it."""
    return ":" in name or name == option.misconception


@cache
def _names() -> dict[str, str]:
    """Misconception → what a report calls it, from templates/wording/misconceptions.yaml."""
    file = data_folder("templates") / "wording" / "misconceptions.yaml"
    table = table_of(read_file(file).entries["names"], "names of misconceptions")
    return {key: text(tree, {}) for key, tree in table.entries.items()}


def _between(low: float, high: float) -> str:
    """`low` to `high` volts as a meter would show them; one figure when both look the same."""
    ends = [f"{value:.1f}".replace("-0.0", "0.0").replace("-", "−") for value in (low, high)]
    return f"{ends[0]} V" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]} V"
