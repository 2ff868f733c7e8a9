"""Is an item whole? What holds for every kind: levels, keys, orders, numbers, texts."""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.items.item import LEVELS, Item, Number

FEWEST_OPTIONS = {"one": 2, "several": 3, "order": 3, "number": 0}


def check_shape(item: Item) -> Iterator[str]:
    """What is wrong with the form of an item, before its circuit is looked at."""
    if item.level not in LEVELS:
        yield f"there is no level {item.level}"
    if item.family != item.origin.template:
        yield f"the family is {item.family}; the circuit is {item.origin.template}"
    if len(item.options) < FEWEST_OPTIONS.get(item.response, 0):
        yield "there is nothing to choose between"
    keys = sum(option.is_key for option in item.options)
    if item.response == "one" and keys != 1:
        yield f"{keys} options are marked as the key; there must be one"
    if item.response == "several" and not 0 < keys < len(item.options):
        yield f"{keys} of {len(item.options)} options are marked right"
    if item.response == "order" and sorted(item.order) != list(range(len(item.options))):
        yield f"the order {item.order} does not name every option once"
    if item.response == "number":
        yield from _number(item.number)
    if (item.response == "number") != (item.number is not None):
        yield f"an item answered by {item.response} has a number, or one by number has none"
    for what, found in (("text", [o.text for o in item.options]), ("claim", _claims(item))):
        for text in dict.fromkeys(found):
            if found.count(text) > 1:
                yield f"two options have the {what} {text!r}"


def _claims(item: Item) -> list[str]:
    return [option.claim for option in item.options]


def _number(number: Number | None) -> Iterator[str]:
    if number is None:
        return
    if not number.low <= number.value <= number.high:
        yield f"the answer {number.value:g} is not within {number.low:g} to {number.high:g}"
    if round(number.value, number.decimals) != number.value:
        yield f"the answer {number.value:g} has more than {number.decimals} decimals"
    for wrong in number.wrong:
        if number.low <= wrong.value <= number.high:
            yield f"the wrong answer {wrong.value:g} would be taken for right"
