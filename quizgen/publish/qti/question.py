"""An item as a QTI item: what is asked, how it is answered, what is said to each answer."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element

from quizgen.items.item import Item
from quizgen.publish.from_items import LETTERS, amount_text
from quizgen.publish.qti.dialect import LANGUAGE, element, paragraphs
from quizgen.publish.qti.processing import declarations, processing, wrong_number
from quizgen.publish.readings import reading_table
from quizgen.publish.view import Figure, ReadingTable

RESPONSE = {"responseIdentifier": "RESPONSE"}


def question(
    item: Item, identifier: str, title: str, figure: Figure | None, image: str, language: str
) -> Element:
    """The item's document. `image` is where its figure lies, seen from it."""
    return element(
        "assessmentItem",
        {
            "identifier": identifier,
            "title": title,
            LANGUAGE: language,
            "adaptive": "false",
            "timeDependent": "false",
        },
        *declarations(item),
        element("itemBody", None, *_body(item, figure, image)),
        processing(item),
        *_feedback(item),
    )


def _body(item: Item, figure: Figure | None, image: str) -> Iterator[Element]:
    yield from paragraphs(tuple(f"{item.machine}. {' '.join(item.stem)}".splitlines()))
    table = reading_table(item.readings, " ".join(item.stem))
    if table is not None:
        yield from _table(table)
    if figure is not None:
        picture = element("img", {"src": image, "alt": figure.alternative})
        yield element("p", None, picture)
    yield _interaction(item)


def _table(table: ReadingTable) -> Iterator[Element]:
    yield from paragraphs((table.shared,))
    head = element("tr", None, *(element("th", None, name) for name in table.columns))
    rows = [element("tr", None, *(element("td", None, c) for c in row)) for row in table.rows]
    yield element("table", None, element("thead", None, head), element("tbody", None, *rows))


def _interaction(item: Item) -> Element:
    """Where the answer is given. The options stand as printed, so nothing is shuffled."""
    if item.number is not None:
        field = element("textEntryInteraction", {**RESPONSE, "expectedLength": "8"})
        line = element("p", None, f"{item.question} ")
        line.append(field)
        field.tail = f" {item.number.unit}"
        return element("div", None, line)
    choices = [
        element("simpleChoice", {"identifier": letter}, option.text)
        for letter, option in zip(LETTERS, item.options, strict=False)
    ]
    prompt = element("prompt", None, item.question)
    if item.response == "order":
        return element("orderInteraction", {**RESPONSE, "shuffle": "false"}, prompt, *choices)
    most = "1" if item.response == "one" else "0"
    attributes = {**RESPONSE, "shuffle": "false", "maxChoices": most}
    return element("choiceInteraction", attributes, prompt, *choices)


def _feedback(item: Item) -> Iterator[Element]:
    """The rationale of each option chosen; the worked way, whatever was answered."""
    for letter, option in zip(LETTERS, item.options, strict=False):
        if option.rationale and item.response != "order":
            yield _modal(letter, f"{letter}: {option.text}", option.rationale)
    for count, wrong in enumerate(item.number.wrong if item.number else ()):
        assert item.number is not None
        yield _modal(wrong_number(count), amount_text(item.number, wrong.value), wrong.rationale)
    if item.solution:
        yield _modal("SOLUTION", "", item.solution)


def _modal(identifier: str, opening: str, texts: tuple[str, ...]) -> Element:
    attributes = {"outcomeIdentifier": "FEEDBACK", "identifier": identifier, "showHide": "show"}
    return element("modalFeedback", attributes, *paragraphs((opening, *texts)))
