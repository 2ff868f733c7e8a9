"""Expressions in template files: "=12.6 * system / 12", "speeds == 4 and not relay".

Python's own grammar is used, and of it only what a calculation needs: numbers, texts,
names, + - * / // % **, comparisons (chained too), and/or/not, `x if c else y`,
`x in [..]`, and min, max, round, abs. Everything else is refused when the expression is
read, before any value is known. Evaluation walks the tree; nothing is ever executed.

Cost is bounded: length, depth, exponents, digits and text lengths have limits.
"""

from __future__ import annotations

import ast
import operator
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import inf, isnan

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown

Value = bool | int | float | str

MAX_LENGTH = 400
MAX_DEPTH = 60
MAX_TEXT = 200
MAX_NUMBER = 1e15
MAX_EXPONENT = 32
MAX_ROUNDING = 12

CONSTANTS: dict[str, Value] = {"true": True, "false": False, "inf": inf}
FUNCTIONS: dict[str, Callable[..., int | float]] = {
    "min": min, "max": max, "round": round, "abs": abs,
}  # fmt: skip

_ARITHMETIC: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul,
    ast.Div: operator.truediv, ast.FloorDiv: operator.floordiv, ast.Mod: operator.mod,
    ast.Pow: operator.pow,
}  # fmt: skip
_ORDER: dict[type[ast.cmpop], Callable[[float, float], bool]] = {
    ast.Lt: operator.lt, ast.LtE: operator.le, ast.Gt: operator.gt, ast.GtE: operator.ge,
}  # fmt: skip
_SHAPES = (
    ast.BoolOp, ast.BinOp, ast.UnaryOp, ast.IfExp, ast.Compare, ast.Call, ast.Constant,
    ast.Name, ast.List, ast.Tuple,
    ast.expr_context, ast.boolop, ast.operator, ast.unaryop, ast.cmpop,
)  # fmt: skip
_REFUSED = (
    ast.Is, ast.IsNot, ast.Invert, ast.MatMult, ast.BitAnd, ast.BitOr, ast.BitXor,
    ast.LShift, ast.RShift,
)  # fmt: skip


class ExpressionError(InputError):
    """An expression cannot be read, or has no value."""


@dataclass(frozen=True)
class Expression:
    """An expression that was read and found harmless."""

    text: str
    tree: ast.expr
    names: frozenset[str]  # parameters it refers to

    def evaluate(self, values: Mapping[str, Value]) -> Value:
        """The value of the expression where each name has its value in `values`.

        Raises ExpressionError: division by zero, text where a number is needed, ...
        """
        return _value(self.tree, values)


@lru_cache(maxsize=4096)
def parse_expression(text: str) -> Expression:
    """Read an expression (without the leading "=").

    Raises ExpressionError when it is malformed or uses what is not allowed.

    >>> parse_expression("12.6 * system / 12").evaluate({"system": 24})
    25.2
    >>> parse_expression("__import__('os')")
    Traceback (most recent call last):
    quizgen.circuit.expressions.ExpressionError: only min, max, round and abs can be called
    """
    if len(text) > MAX_LENGTH:
        raise ExpressionError(f"an expression longer than {MAX_LENGTH} characters")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Python's remarks on style, such as '\d'
            tree = ast.parse(text.strip(), mode="eval").body
    except (SyntaxError, ValueError, MemoryError, RecursionError):
        raise ExpressionError(f"{shown(text)} cannot be read as an expression") from None
    return Expression(text, tree, frozenset(_checked_names(tree)))


def _checked_names(tree: ast.expr) -> set[str]:
    """The parameters that `tree` names, after refusing every shape that is not allowed."""
    names: set[str] = set()
    pending: list[tuple[ast.AST, int]] = [(tree, 0)]
    while pending:
        node, depth = pending.pop()
        if depth > MAX_DEPTH:
            raise ExpressionError("an expression nested too deep")
        if not isinstance(node, _SHAPES) or isinstance(node, _REFUSED):
            raise ExpressionError(f"{type(node).__name__.lower()} is not allowed in an expression")
        children = list(ast.iter_child_nodes(node))
        if isinstance(node, ast.Call):
            _check_call(node)
            children = list(node.args)
        if isinstance(node, ast.Compare):
            children = [c for part in _list_items(node) for c in part] + list(node.ops)
        elif isinstance(node, ast.List | ast.Tuple):
            raise ExpressionError("a list can only stand behind 'in'")
        if isinstance(node, ast.Constant) and not isinstance(node.value, bool | int | float | str):
            raise ExpressionError(f"{shown(node.value)} is not allowed in an expression")
        if isinstance(node, ast.Name) and node.id not in CONSTANTS:
            names.add(node.id)
        pending += [(child, depth + 1) for child in children]
    return names


def _list_items(node: ast.Compare) -> list[list[ast.expr]]:
    """The operands of a comparison, a list behind `in` opened up."""
    operands = [[node.left]]
    for op, right in zip(node.ops, node.comparators, strict=True):
        if isinstance(op, ast.In | ast.NotIn):
            if not isinstance(right, ast.List | ast.Tuple) or len(node.ops) > 1:
                raise ExpressionError("'in' stands alone between a value and a list: x in [12, 24]")
            operands.append(right.elts)
        else:
            operands.append([right])
    return operands


def _check_call(node: ast.Call) -> None:
    if not isinstance(node.func, ast.Name) or node.func.id not in FUNCTIONS:
        raise ExpressionError("only min, max, round and abs can be called")
    if node.keywords:
        raise ExpressionError(f"{node.func.id} takes plain values only")


def _value(node: ast.expr, values: Mapping[str, Value]) -> Value:
    match node:
        case ast.Constant(value=bool() | int() | float() | str() as constant):
            result: Value = _bounded(constant)
        case ast.Name(id=name):
            result = _named(name, values)
        case ast.UnaryOp():
            result = _unary(node.op, _value(node.operand, values))
        case ast.BoolOp():
            stop = isinstance(node.op, ast.Or)
            operands = (_truth(_value(part, values)) for part in node.values)
            result = next((stop for operand in operands if operand is stop), not stop)
        case ast.IfExp():
            chosen = node.body if _truth(_value(node.test, values)) else node.orelse
            result = _value(chosen, values)
        case ast.BinOp():
            result = _arithmetic(node.op, _value(node.left, values), _value(node.right, values))
        case ast.Compare():
            result = _comparison(node, values)
        case ast.Call(func=ast.Name(id=name)):
            result = _call(name, [_number(_value(a, values)) for a in node.args])
        case _:  # pragma: no cover - refused when the expression was read
            raise ExpressionError("not an expression")
    return result


def _unary(op: ast.unaryop, operand: Value) -> Value:
    if isinstance(op, ast.Not):
        return not _truth(operand)
    number = _number(operand)
    return -number if isinstance(op, ast.USub) else number


def _named(name: str, values: Mapping[str, Value]) -> Value:
    if name in CONSTANTS:
        return CONSTANTS[name]
    if name not in values:
        raise ExpressionError(f"no parameter {shown(name)}")
    return values[name]


def _truth(value: Value) -> bool:
    if not isinstance(value, bool):
        raise ExpressionError(f"expected true or false, found {shown(value)}")
    return value


def _number(value: Value) -> int | float:
    if isinstance(value, bool | str):
        raise ExpressionError(f"expected a number, found {shown(value)}")
    return value


def _bounded(value: object) -> Value:
    """`value` if it is of a size that this program computes with."""
    if isinstance(value, str):
        if len(value) > MAX_TEXT:
            raise ExpressionError(f"a text longer than {MAX_TEXT} characters")
        return value
    # a complex root, or inf - inf; a whole number may be too large for isnan
    if not isinstance(value, int | float) or (isinstance(value, float) and isnan(value)):
        raise ExpressionError("the result is not a number")
    if abs(value) > MAX_NUMBER and abs(value) != inf:
        raise ExpressionError("a number beyond any use here")
    return value


def _arithmetic(op: ast.operator, left: Value, right: Value) -> Value:
    if isinstance(op, ast.Add) and isinstance(left, str) and isinstance(right, str):
        return _bounded(left + right)
    a, b = _number(left), _number(right)
    if isinstance(op, ast.Pow) and abs(b) > MAX_EXPONENT:
        raise ExpressionError(f"an exponent beyond {MAX_EXPONENT}")
    try:
        return _bounded(_ARITHMETIC[type(op)](a, b))
    except ZeroDivisionError:
        raise ExpressionError("division by zero") from None
    except OverflowError:
        raise ExpressionError("a number beyond any use here") from None


def _comparison(node: ast.Compare, values: Mapping[str, Value]) -> bool:
    left = _value(node.left, values)
    for op, right in zip(node.ops, node.comparators, strict=True):
        if isinstance(right, ast.List | ast.Tuple):
            among = any(same(left, _value(item, values)) for item in right.elts)
            return among is isinstance(op, ast.In)
        other = _value(right, values)
        if not _holds(op, left, other):
            return False
        left = other
    return True


def same(left: object, right: object) -> bool:
    """Equality in which true is not 1."""
    return isinstance(left, bool) is isinstance(right, bool) and left == right


def _holds(op: ast.cmpop, left: Value, right: Value) -> bool:
    if isinstance(op, ast.Eq | ast.NotEq):
        return same(left, right) is isinstance(op, ast.Eq)
    return _ORDER[type(op)](_number(left), _number(right))


def _call(name: str, numbers: list[int | float]) -> Value:
    if name == "round" and len(numbers) == 2:
        places = numbers[1]
        if not isinstance(places, int) or abs(places) > MAX_ROUNDING:
            raise ExpressionError(f"round to at most {MAX_ROUNDING} places")
    if name in ("min", "max") and len(numbers) < 2:
        raise ExpressionError(f"{name} needs two numbers or more")
    try:
        return _bounded(FUNCTIONS[name](*numbers))
    except (TypeError, OverflowError):  # a wrong number of values; round(inf)
        raise ExpressionError(f"{name} cannot be taken of these values") from None
