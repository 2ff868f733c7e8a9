"""How a QTI item is scored: the variables it has, and what an answer does to them.

SCORE is 0 to 1. Of an item with several right options each right one chosen adds, and each wrong
one takes away, one part in as many as there are right ones, never under 0. An ordering is right
as a whole or not at all: the standard has no rank correlation.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element

from quizgen.items.item import Item, Number
from quizgen.publish.from_items import LETTERS
from quizgen.publish.qti.dialect import element

CARDINALITY = {"one": "single", "several": "multiple", "order": "ordered", "number": "single"}
HAIR = 1e-9  # so that the end of a range is inside it in binary too


def keys(item: Item) -> tuple[str, ...]:
    """The letters of the right answer, in order; of a number the number itself."""
    if item.number is not None:
        return (f"{item.number.value:.{item.number.decimals}f}",)
    if item.response == "order":
        return tuple(LETTERS[i] for i in item.order)
    return tuple(a for a, o in zip(LETTERS, item.options, strict=False) if o.is_key)


def wrong_number(count: int) -> str:
    """What the feedback to a known wrong number is called."""
    return f"WRONG{count + 1}"


def declarations(item: Item) -> Iterator[Element]:
    """RESPONSE with its key, SCORE, and FEEDBACK with what is to be said."""
    right = element("correctResponse", None, *(element("value", None, k) for k in keys(item)))
    response = element(
        "responseDeclaration",
        {
            "identifier": "RESPONSE",
            "cardinality": CARDINALITY[item.response],
            "baseType": "float" if item.number else "identifier",
        },
        right,
    )
    if item.response == "several":
        response.append(_mapping(item))
    yield response
    zero = element("defaultValue", None, element("value", None, "0"))
    yield _outcome("SCORE", "single", "float", zero)
    one = element("defaultValue", None, element("value", None, "1"))
    yield _outcome("MAXSCORE", "single", "float", one)
    yield _outcome("FEEDBACK", "multiple", "identifier")


def processing(item: Item) -> Element:
    """The rules that turn RESPONSE into SCORE and FEEDBACK."""
    if item.number is not None:
        rules = list(_number_rules(item.number))
    elif item.response == "several":
        rules = [_set("SCORE", element("mapResponse", {"identifier": "RESPONSE"}))]
    else:
        same = element("match", None, _variable("RESPONSE"), _correct())
        rules = [_condition(same, [_set("SCORE", _value("float", "1"))])]
    if item.response == "several":
        rules.append(_set("FEEDBACK", _variable("RESPONSE")))
    elif item.response == "one":
        rules.append(_set("FEEDBACK", element("multiple", None, _variable("RESPONSE"))))
    if item.solution:
        both = element("multiple", None, _variable("FEEDBACK"), _value("identifier", "SOLUTION"))
        rules.append(_set("FEEDBACK", both))
    return element("responseProcessing", None, *rules)


def _mapping(item: Item) -> Element:
    share = 1.0 / len(keys(item))
    entries = [
        element("mapEntry", {"mapKey": a, "mappedValue": f"{share if o.is_key else -share:.6f}"})
        for a, o in zip(LETTERS, item.options, strict=False)
    ]
    bounds = {"defaultValue": "0", "lowerBound": "0", "upperBound": "1"}
    return element("mapping", bounds, *entries)


def _number_rules(number: Number) -> Iterator[Element]:
    """Right within its range; half a digit around a wrong number that a known idea leads to."""
    yield _condition(_within(number.low, number.high), [_set("SCORE", _value("float", "1"))])
    half = 0.5 * 10.0**-number.decimals
    for count, wrong in enumerate(number.wrong):
        said = element("multiple", None, _value("identifier", wrong_number(count)))
        near = _within(wrong.value - half, wrong.value + half)
        yield _condition(near, [_set("FEEDBACK", said)])


def _within(low: float, high: float) -> Element:
    return element(
        "and", None,
        element("gte", None, _variable("RESPONSE"), _value("float", f"{low - HAIR:.12g}")),
        element("lte", None, _variable("RESPONSE"), _value("float", f"{high + HAIR:.12g}")),
    )  # fmt: skip


def _condition(test: Element, rules: list[Element]) -> Element:
    return element("responseCondition", None, element("responseIf", None, test, *rules))


def _outcome(identifier: str, cardinality: str, base: str, *inside: Element) -> Element:
    attributes = {"identifier": identifier, "cardinality": cardinality, "baseType": base}
    return element("outcomeDeclaration", attributes, *inside)


def _set(identifier: str, value: Element) -> Element:
    return element("setOutcomeValue", {"identifier": identifier}, value)


def _variable(identifier: str) -> Element:
    return element("variable", {"identifier": identifier})


def _correct() -> Element:
    return element("correct", {"identifier": "RESPONSE"})


def _value(base: str, text: str) -> Element:
    return element("baseValue", {"baseType": base}, text)
