"""Single values of a template file: a literal or an "=" expression, of the type wanted.

Each reader takes the value as written and the parameters' values, and raises FileError
at its place when it is not what the field needs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import inf

from quizgen.base.suggest import shown, suggest
from quizgen.circuit.expressions import (
    Expression,
    ExpressionError,
    Value,
    parse_expression,
)
from quizgen.circuit.yaml_reader import Listing, Scalar, Table, Tree, fail, found, literal

Names = Mapping[str, Value]

MAX_TEXT = 1000  # characters of a name, a summary or a caution
LARGEST = 1e12  # no voltage, resistance or length of use here lies beyond
SMALLEST = 1e-12


@dataclass(frozen=True)
class Bounds:
    """Which numbers a field takes."""

    least: float = -inf
    most: float = inf
    above: bool = False  # `least` itself is too small
    infinite: bool = False  # inf is allowed, for a resistance that is an open

    def refusal(self, number: float) -> str:
        """Why `number` is not allowed, empty when it is."""
        if number == inf and self.infinite:
            return ""
        size = abs(number)
        if size > LARGEST or 0 < size < SMALLEST:
            return f"a number from {SMALLEST:g} to {LARGEST:g}"
        if number < self.least or (self.above and number == self.least):
            return f"a number {'above' if self.above else 'not below'} {self.least:g}"
        if number > self.most:
            return f"a number not above {self.most:g}"
        return ""


ANY = Bounds()
POSITIVE = Bounds(least=0.0, above=True)
NOT_NEGATIVE = Bounds(least=0.0)
RESISTANCE = Bounds(least=0.0, infinite=True)
SHARE = Bounds(least=0.0, most=1.0)


def as_text(value: Value) -> str:
    """A value as a person types it.

    >>> [as_text(v) for v in (True, 12, 0.1 + 0.2, "feed side")]
    ['true', '12', '0.3', 'feed side']
    """
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:.12g}" if isinstance(value, float) else str(value)


def expression_of(scalar: Scalar) -> Expression:
    """The expression of a `when`, a `require` or a value that begins with "="."""
    try:
        return parse_expression(scalar.text.removeprefix("="))
    except ExpressionError as error:
        fail(scalar, str(error))


def evaluate(scalar: Scalar, names: Names) -> Value:
    """The value of a scalar: its expression's, or what is written."""
    if not scalar.is_expression:
        return literal(scalar)
    try:
        return expression_of(scalar).evaluate(names)
    except ExpressionError as error:
        fail(scalar, f"{shown(scalar.text)}: {error}")


def truth(tree: Tree, names: Names) -> bool:
    """Whether the condition of a `when` or a `require` holds."""
    scalar = the_scalar(tree, "a condition such as 'speeds == 4'")
    try:
        value = expression_of(scalar).evaluate(names)
    except ExpressionError as error:
        fail(scalar, f"{shown(scalar.text)}: {error}")
    if not isinstance(value, bool):
        fail(scalar, f"{shown(scalar.text)} gives {shown(value)}, expected true or false")
    return value


def the_scalar(tree: Tree, wanted: str) -> Scalar:
    """`tree` if it is a single value."""
    if not isinstance(tree, Scalar):
        fail(tree, f"expected {wanted}, {found(tree)}")
    return tree


def the_table(tree: Tree, wanted: str) -> Table:
    """`tree` if it is a mapping."""
    if not isinstance(tree, Table):
        fail(tree, f"expected {wanted}, {found(tree)}")
    return tree


def the_items(tree: Tree, wanted: str) -> tuple[Tree, ...]:
    """The items of `tree` if it is a list."""
    if not isinstance(tree, Listing):
        fail(tree, f"expected {wanted}, {found(tree)}")
    return tree.items


def number(tree: Tree, names: Names, bounds: Bounds = ANY) -> int | float:
    """A number within `bounds`."""
    scalar = the_scalar(tree, "a number")
    value = evaluate(scalar, names)
    if isinstance(value, bool | str):
        fail(scalar, f"expected a number, {_found(scalar, value)}{_number_hint(scalar, value)}")
    refusal = bounds.refusal(value)
    if refusal:
        fail(scalar, f"expected {refusal}, {_found(scalar, value)}")
    return value


def flag(tree: Tree, names: Names) -> bool:
    """True or false."""
    scalar = the_scalar(tree, "true or false")
    value = evaluate(scalar, names)
    if not isinstance(value, bool):
        fail(scalar, f"expected true or false, {_found(scalar, value)}")
    return value


def text(tree: Tree, names: Names) -> str:
    """A text of one line. A number or a word such as `on` needs no quotes."""
    scalar = the_scalar(tree, "a text")
    if scalar.is_expression:
        value = evaluate(scalar, names)
        words = value if isinstance(value, str) else as_text(value)
    else:
        literal(scalar)  # refuses an empty value
        words = scalar.text
    words = " ".join(words.split())
    if len(words) > MAX_TEXT:
        fail(scalar, f"a text of more than {MAX_TEXT} characters")
    if not words.isprintable():
        fail(scalar, f"{shown(words)} holds a character that cannot be printed")
    return words


def word_of(tree: Tree, names: Names, known: Iterable[str]) -> str:
    """A text that is one of `known`."""
    words = text(tree, names)
    choices = list(known)
    if words not in choices:
        fail(tree, f"expected one of {', '.join(choices)}; found {shown(words)}")
    return words


def texts(tree: Tree, names: Names) -> tuple[str, ...]:
    """A list of texts."""
    return tuple(text(item, names) for item in the_items(tree, "a list of texts, such as [a, b]"))


def numbers(tree: Tree, names: Names, bounds: Bounds = ANY) -> tuple[float, ...]:
    """A list of numbers within `bounds`."""
    items = the_items(tree, "a list of numbers, such as [0.5, 1]")
    return tuple(float(number(item, names, bounds)) for item in items)


def plain(tree: Tree, names: Names) -> object:
    """A free value (drawing hints) as Python data."""
    match tree:
        case Scalar():
            return evaluate(tree, names)
        case Listing():
            return [plain(item, names) for item in tree.items]
        case Table():
            return {key: plain(value, names) for key, value in tree.entries.items()}


def expressions(tree: Tree, always: bool = False) -> Iterator[Scalar]:
    """Every expression in `tree`: what begins with "=", and all of `when` and `require`."""
    match tree:
        case Scalar():
            if always or tree.is_expression:
                yield tree
        case Listing():
            for item in tree.items:
                yield from expressions(item, always)
        case Table():
            for key, value in tree.entries.items():
                yield from expressions(value, always or key in ("when", "require"))


def check_fields(table: Table, known: Iterable[str], required: Iterable[str] = ()) -> None:
    """Raise FileError for a field that is not known, or one that is missing."""
    names = list(known)
    for key, value in table.entries.items():
        if key not in names:
            fail(value, f"unknown field {shown(key)}{suggest(key, names)}")
    for name in required:
        if name not in table.entries:
            fail(table, f"the field {name!r} is missing")


def _found(scalar: Scalar, value: Value) -> str:
    if scalar.is_expression:
        return f"{shown(scalar.text)} gives {shown(value)}"
    return f"found {shown(scalar.text)}"


def _number_hint(scalar: Scalar, value: Value) -> str:
    if scalar.is_expression or not isinstance(value, str):
        return ""
    if not scalar.plain:
        return " in quotes"
    head = value.replace(",", ".", 1)
    if value.count(",") == 1 and head.replace(".", "", 1).isdigit():
        return f"; write {head}"
    first = value.split()[0]
    if first != value and first.replace(".", "", 1).isdigit():
        return "; write the number without its unit"
    return ""
