"""From the records of pages to those of the drill: what is seen, and apart from it the key."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import cast

import msgspec

from quizgen.drill.question import Grid, Key, Picture, Question, Reason, Shown, Slip
from quizgen.items.item import Item, Option, Response
from quizgen.publish.view import Answer, Figure, Problem, ReadingTable

MEASURED = ("V", "A", "mA", "Ω", "W", "%")  # units of figures that an instrument or a sum gives
NOTHING = 5e-4  # what is less stands as 0


def shown_of(problem: Problem, lists: tuple[str, ...] = (), ascii_only: bool = False) -> Shown:
    """What a student sees of a page's problem; `lists` names parts and wires of its diagram.

    `ascii_only` draws without box characters.
    """
    picture = _picture(problem.figure, lists)
    return Shown(
        number=problem.number,
        machine=problem.machine,
        stem=problem.stem,
        question=problem.question,
        choices=tuple(choice.text for choice in problem.choices),
        response=cast(Response, problem.response),
        unit=problem.unit,
        grid=_grid(problem.readings),
        picture=_in_ascii(picture) if picture and ascii_only else picture,
    )


def key_of(item: Item, answer: Answer) -> Key:
    """The key of an item; `answer` is what the instructor's page says of it."""
    number = item.number
    return Key(
        text=answer.key,
        choices=tuple(
            Reason(
                is_key=option.is_key,
                reasons=option.rationale,
                figures=_figures(option) if option.figures else choice.figures,
                misconception=option.misconception,
            )
            for option, choice in zip(item.options, answer.choices, strict=True)
        ),
        order=item.order,
        value=number.value if number else 0.0,
        low=number.low if number else 0.0,
        high=number.high if number else 0.0,
        accepted=answer.accepted,
        slips=tuple(
            Slip(
                value=wrong.value,
                text=mistake.figure,
                reasons=wrong.rationale,
                misconception=wrong.misconception,
            )
            for wrong, mistake in zip(number.wrong if number else (), answer.mistakes, strict=True)
        ),
        solution=item.solution,
    )


def question_of(topic: str, item: Item, shown: Shown, key: Key) -> Question:
    """A question for a topic, with a sum by which one that says the same is known again."""
    said = (
        item.machine, shown.stem, shown.question, sorted(shown.choices), shown.response,
        shown.grid, shown.picture.spoken if shown.picture else "",
    )  # fmt: skip
    return Question(
        topic=topic,
        level=item.level,
        kind=item.kind,
        circuit=item.family,
        item=item.id,
        shown=shown,
        key=key,
        sum=hashlib.sha256(msgspec.json.encode(said)).hexdigest(),
    )


def _figures(option: Option) -> str:
    """What was computed for an option, as far as a student can make something of it."""
    told = [
        f"{figure.name} {0.0 if abs(figure.value) < NOTHING else figure.value:.3g} {figure.unit}"
        for figure in option.figures
        if figure.unit in MEASURED and ":" not in figure.name and not figure.name.endswith("OL")
    ]
    return ", ".join(told).replace("-", "−")


def _grid(table: ReadingTable | None) -> Grid | None:
    if table is None:
        return None
    return Grid(shared=table.shared, columns=table.columns, rows=table.rows)


def _picture(figure: Figure | None, lists: tuple[str, ...]) -> Picture | None:
    if figure is None:
        return None
    return Picture(
        svg=figure.svg, spoken=figure.alternative, narrow=figure.terminal,
        wide=figure.wide_terminal, signs=figure.signs, lists=lists, symbols=figure.symbols,
        colours=figure.colours,
    )  # fmt: skip


def _in_ascii(picture: Picture) -> Picture:
    from quizgen.diagram.characters import plain  # loads numpy, and is seldom needed

    lines = (picture.narrow, picture.wide, picture.signs, picture.lists)
    narrow, wide, signs, lists = (tuple(map(plain, text)) for text in lines)
    return replace(picture, narrow=narrow, wide=wide, signs=signs, lists=lists)
