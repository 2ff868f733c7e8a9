"""Expressions compute like Python on what they allow, and refuse everything else cheaply."""

from __future__ import annotations

import math
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.circuit.expressions import ExpressionError, Value, parse_expression

NAMES: dict[str, Value] = {"system": 24, "lamps": 3, "feed": 1.5, "side": "ground", "plug": True}

VALUES: dict[str, Value] = {
    "12.6 * system / 12": 25.2,
    "13.5 if system == 12 else 28": 28,
    "1 < feed <= 1.5 < lamps": True,
    "1 < feed < 1.5": False,
    "not plug or lamps in [3, 4]": True,
    "lamps not in (3, 4)": False,
    "lamps in []": False,
    "side == 'ground' and plug": True,
    "'left ' + side": "left ground",
    "-2 ** 2": -4,
    "7 // 2 + 7 % 2": 4,
    "-7 // 2": -4,
    "round(0.125, 2)": 0.12,  # half to even, as the Python manual says of round()
    "round(2.5)": 2,
    "min(system, lamps, 2) + max(1, 2) - abs(-3)": 1,
    "inf": math.inf,
    "true": True,
    "plug == 1": False,
    "1 == 1.0": True,
    "'a' == 1": False,
    "false and 1 / 0 > 0": False,
    "1 if plug else 1 / 0": 1,
}

REFUSED = {
    "": "cannot be read",
    "1 +": "cannot be read",
    "a = 1": "cannot be read",
    "x": "no parameter 'x'",
    "1 / 0": "division by zero",
    "1 % 0": "division by zero",
    "0 ** -1": "division by zero",
    "(-8) ** 0.5": "not a number",
    "inf - inf": "not a number",
    "inf * 0": "not a number",
    "9 ** 9 ** 9": "exponent",
    "10 ** 30": "beyond any use",
    "1e308 * 10": "beyond any use",
    "1.5 ** 1e9": "exponent",
    "'a' * 9": "expected a number, found 'a'",
    "'%999999d' % 1": "expected a number",
    "'a' < 'b'": "expected a number",
    "plug + 1": "expected a number, found True",
    "lamps and plug": "expected true or false, found 3",
    "not lamps": "expected true or false",
    "-plug": "expected a number",
    "1 if lamps else 2": "expected true or false",
    "round(1, -10000000)": "places",
    "round(inf)": "round cannot be taken",
    "round()": "round cannot be taken",
    "abs(1, 2)": "abs cannot be taken",
    "min(1)": "two numbers",
    "max([1, 2])": "only stand behind",
    "min(*[1, 2])": "starred is not allowed",
    "min(1, 2, key=abs)": "plain values",
    "open('x')": "only min, max",
    "(lambda: 1)()": "only min, max",
    "system.real": "attribute is not allowed",
    "'abc'[0]": "subscript is not allowed",
    "[1, 2]": "only stand behind",
    "1 in 'abc'": "a value and a list",
    "1 in [1] in [2]": "a value and a list",
    "1 is 1": "is is not allowed",
    "~1": "invert is not allowed",
    "1 << 9": "lshift is not allowed",
    "1 @ 2": "matmult is not allowed",
    "f'{lamps}'": "joinedstr is not allowed",
    "[x for x in [1]]": "listcomp is not allowed",
    "{1: 2}": "dict is not allowed",
    "{1}": "set is not allowed",
    "(x := 1)": "namedexpr is not allowed",
    "...": "Ellipsis is not allowed",
    "None": "None is not allowed",
    "1j": "not allowed",
    "b'a'": "not allowed",
    "yield": "cannot be read",
    "await x": "await is not allowed",
    "1" * 401: "longer than 400",
    "1" * 399: "beyond any use",
    "(" * 150 + "1" + ")" * 150 + " + " + "-" * 90 + "1": "nested too deep",
    "(" * 201: "cannot be read",
    "'" + "a" * 250 + "'": "longer than 200",
    "'\\d' == 1 is 1": "not allowed",  # Python would warn about this text
}


@pytest.mark.parametrize("text", VALUES)
def test_an_expression_has_its_value(text: str) -> None:
    """Operators bind and round as in Python; true is not 1."""
    value = parse_expression(text).evaluate(NAMES)
    assert value == VALUES[text]
    assert isinstance(value, bool) is isinstance(VALUES[text], bool)


@pytest.mark.parametrize("text", REFUSED)
def test_everything_else_is_refused(text: str) -> None:
    """Calls, attributes, huge powers, mixed types: one error, no execution."""
    with pytest.raises(ExpressionError) as caught:
        parse_expression(text).evaluate(NAMES)
    assert REFUSED[text] in str(caught.value)
    assert len(str(caught.value)) < 200


def test_the_names_of_an_expression_are_known_before_it_is_evaluated() -> None:
    """So a misspelt name is found in a branch that no setting takes."""
    assert parse_expression("a if b else min(c, 1) in [d]").names == {"a", "b", "c", "d"}
    assert parse_expression("true and inf > 1").names == frozenset()


@given(st.text(alphabet=string.printable, max_size=60))
def test_no_text_gives_anything_but_a_value_or_an_error(text: str) -> None:
    """Random text never raises another exception."""
    try:
        value = parse_expression(text).evaluate(NAMES)
    except ExpressionError:
        return
    assert isinstance(value, bool | int | float | str)


VALUE_TOKENS = ["1", "0", "2.5", "1e9", "system", "feed", "'a'", "inf"]
SIGN_TOKENS = ["(", ")", "[", "]", ",", "+", "-", "*", "/", "//", "%", "**", "<", "<=", "==", "!="]
WORD_TOKENS = ["and", "or", "not", "in", "if", "else", "min(", "max(", "round(", "abs("]
TOKENS = st.sampled_from([*VALUE_TOKENS, *SIGN_TOKENS, *WORD_TOKENS])


@given(st.lists(TOKENS, max_size=14).map(" ".join))
def test_random_formulas_agree_with_python(text: str) -> None:
    """Where an expression has a value, Python's own evaluation gives the same."""
    try:
        value = parse_expression(text).evaluate(NAMES)
    except ExpressionError:
        return
    names = {**NAMES, "inf": math.inf, "true": True, "false": False}
    scope = {"__builtins__": {}, "min": min, "max": max, "round": round, "abs": abs}
    expected = eval(text, scope, names)  # the oracle; the text is built from the tokens above
    if value != expected:  # only where a truth is compared with a number: here true is not 1
        assert isinstance(value, bool)
        assert "==" in text or "!=" in text or "in" in text.split()
