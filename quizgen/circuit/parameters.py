"""Parameters of a template: what a user can set, and what follows from it.

A parameter has choices, or a range with a step; a *derived* one has an expression of
others and cannot be set. A *setting* maps parameter names to values.
"""

from __future__ import annotations

import keyword
import random
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from quizgen.base.errors import FileError, InputError, Place
from quizgen.base.suggest import shown, suggest
from quizgen.circuit.expressions import CONSTANTS, FUNCTIONS, Value, same
from quizgen.circuit.values import (
    LARGEST,
    as_text,
    check_fields,
    evaluate,
    expression_of,
    text,
    the_items,
    the_scalar,
    the_table,
    truth,
)
from quizgen.circuit.yaml_reader import Scalar, Table, Tree, fail, literal, read_number

MAX_STEPS = 100_000
MAX_PARAMETERS = 100
MAX_CHOICES = 50
MAX_DRAWS = 1000
NAME = re.compile(r"[a-z][a-z0-9_]{0,30}\Z")


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """Something a user can set."""

    name: str
    place: Place
    default: Value
    unit: str = ""
    about: str = ""

    def accept(self, value: object) -> Value:
        """`value` as the template writes it. Raises InputError when it is not allowed."""
        raise NotImplementedError

    def parse(self, words: str) -> Value:
        """The value that the text of an option such as `--set feed=1.5` means."""
        raise NotImplementedError

    def draw(self, rng: random.Random) -> Value:
        """A random value, each as likely as another."""
        raise NotImplementedError

    def corners(self) -> tuple[Value, ...]:
        """The values worth trying: every choice, or both ends of a range."""
        raise NotImplementedError

    def allowed(self) -> str:
        """The allowed values in words."""
        raise NotImplementedError

    def refuse(self, value: object) -> InputError:
        """The error for a value that is not allowed."""
        return InputError(f"{self.name}: {shown(value)} is not allowed; {self.allowed()}")


@dataclass(frozen=True, kw_only=True)
class Choice(Parameter):
    """One of a few values."""

    choices: tuple[Value, ...]

    def accept(self, value: object) -> Value:
        for choice in self.choices:
            if same(value, choice):
                return choice
        raise self.refuse(value)

    def parse(self, words: str) -> Value:
        stripped = words.strip()
        for choice in self.choices:
            if stripped == as_text(choice):
                return choice
        number = read_number(stripped)
        if number is None:
            raise self.refuse(words)
        return self.accept(number)

    def draw(self, rng: random.Random) -> Value:
        return rng.choice(self.choices)

    def corners(self) -> tuple[Value, ...]:
        return self.choices

    def allowed(self) -> str:
        return f"choose one of {', '.join(as_text(c) for c in self.choices)}"


@dataclass(frozen=True, kw_only=True)
class Range(Parameter):
    """`low`, `low + step`, ... up to `high`. Decimal, so that 0.8 + 7 x 0.1 is 1.5."""

    low: Decimal
    high: Decimal
    step: Decimal

    @property
    def count(self) -> int:
        """How many values there are."""
        return int((self.high - self.low) / self.step) + 1

    def at(self, index: int) -> int | float:
        """Value number `index`, counted from 0."""
        value = self.low + index * self.step
        whole = self.low == int(self.low) and self.step == int(self.step)
        return int(value) if whole else float(value)

    def accept(self, value: object) -> Value:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.refuse(value)
        if not abs(value) <= LARGEST:  # written so that NaN is refused too
            raise self.refuse(value)
        steps = (Decimal(repr(float(value))) - self.low) / self.step
        index = round(steps)
        # a computed float such as 0.1 + 0.2 is the step it is meant to be
        if abs(steps - index) > Decimal("1e-6") or not 0 <= index < self.count:
            raise self.refuse(value)
        return self.at(index)

    def parse(self, words: str) -> Value:
        number = read_number(words.strip())
        if number is None:
            raise self.refuse(words)
        return self.accept(number)

    def draw(self, rng: random.Random) -> Value:
        return self.at(rng.randrange(self.count))

    def corners(self) -> tuple[Value, ...]:
        return (self.at(0), self.at(self.count - 1))

    def allowed(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return f"choose from {self.low} to {self.high}{unit} in steps of {self.step}"


@dataclass(frozen=True)
class Derived:
    """A value that follows from others."""

    name: str
    value: Scalar


@dataclass(frozen=True)
class Parameters:
    """All parameters of one template; derived ones in an order in which they can be computed."""

    title: str
    settable: tuple[Parameter, ...]
    derived: tuple[Derived, ...]
    requirements: tuple[Scalar, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Every name an expression may use."""
        return tuple(p.name for p in self.settable) + tuple(d.name for d in self.derived)

    def find(self, name: str) -> Parameter:
        """The settable parameter called `name`. Raises InputError when there is none."""
        for parameter in self.settable:
            if parameter.name == name:
                return parameter
        if any(d.name == name for d in self.derived):
            raise InputError(f"{self.title}: {name} follows from other parameters; set those")
        known = [p.name for p in self.settable]
        raise InputError(f"{self.title}: no parameter {shown(name)}{suggest(name, known)}")

    def complete(self, setting: Mapping[str, object]) -> dict[str, Value]:
        """Every settable parameter's value: that of `setting`, else the default."""
        given = {str(name): self.accept(str(name), value) for name, value in setting.items()}
        return {p.name: given.get(p.name, p.default) for p in self.settable}

    def accept(self, name: str, value: object) -> Value:
        """`value` for parameter `name`, as the template writes it."""
        try:
            return self.find(name).accept(value)
        except InputError as error:
            raise self.titled(error) from None

    def parse(self, name: str, words: str) -> Value:
        """The value that a user's text means for parameter `name`."""
        try:
            return self.find(name).parse(words)
        except InputError as error:
            raise self.titled(error) from None

    def titled(self, error: InputError) -> InputError:
        """`error` with the template's name in front."""
        message = str(error)
        return (
            error
            if message.startswith(f"{self.title}:")
            else InputError(f"{self.title}: {message}")
        )

    def all_values(self, complete: Mapping[str, Value]) -> dict[str, Value]:
        """A complete setting and the derived values. Raises FileError if one has no value."""
        values = dict(complete)
        for item in self.derived:
            values[item.name] = evaluate(item.value, values)
        return values

    def broken_requirement(self, values: Mapping[str, Value]) -> Scalar | None:
        """The first requirement that `values` does not meet."""
        return next((r for r in self.requirements if not truth(r, values)), None)

    def draw(self, rng: random.Random, fixed: Mapping[str, object]) -> dict[str, Value]:
        """A random complete setting that meets the requirements and keeps `fixed`."""
        kept = {name: self.accept(name, value) for name, value in fixed.items()}
        for _ in range(MAX_DRAWS):
            setting = {
                p.name: kept[p.name] if p.name in kept else p.draw(rng) for p in self.settable
            }
            if self.broken_requirement(self.all_values(setting)) is None:
                return setting
        held = f" with {in_words(kept)}" if kept else ""
        raise InputError(f"{self.title}: no setting{held} meets its requirements; fix less")


def in_words(setting: Mapping[str, Value]) -> str:
    """A setting as a user types it: "system=24 speeds=4"."""
    return " ".join(f"{name}={as_text(value)}" for name, value in setting.items())


def read_parameters(title: str, section: Tree | None, require: Tree | None) -> Parameters:
    """The sections `parameters` and `require` of a template file. Raises FileError."""
    table = the_table(section, "parameters by name").entries if section else {}
    if section and len(table) > MAX_PARAMETERS:
        fail(section, f"more than {MAX_PARAMETERS} parameters")
    settable: list[Parameter] = []
    derived: list[Derived] = []
    for name, tree in table.items():
        _check_name(name, tree)
        spec = the_table(tree, "choices, a range or a value")
        if "value" in spec.entries:
            check_fields(spec, ("value", "unit", "about"))
            value = the_scalar(spec.entries["value"], "an expression or a value")
            derived.append(Derived(name, value))
        else:
            settable.append(_settable(name, spec))
    requirements = _requirements(require)
    return Parameters(title, tuple(settable), _ordered(derived), requirements)


def _check_name(name: str, tree: Tree) -> None:
    if not NAME.match(name):
        fail(tree, f"{shown(name)} is no parameter name; use small letters, digits and _")
    if keyword.iskeyword(name) or name in CONSTANTS or name in FUNCTIONS:
        fail(tree, f"{name!r} has a meaning in expressions; choose another name")


def _requirements(require: Tree | None) -> tuple[Scalar, ...]:
    if require is None:
        return ()
    if isinstance(require, Scalar):
        return (require,)
    return tuple(
        the_scalar(item, "a condition such as 'feed < 3'")
        for item in the_items(require, "a list of conditions")
    )


def _settable(name: str, spec: Table) -> Parameter:
    unit, about = (text(t, {}) if (t := spec.get(key)) else "" for key in ("unit", "about"))
    if "choices" in spec.entries:
        check_fields(spec, ("choices", "default", "unit", "about"), ("default",))
        choices = _choices(spec.entries["choices"])
        parameter: Parameter = Choice(
            name=name, place=spec.place, unit=unit, about=about,
            default=choices[0], choices=choices,
        )  # fmt: skip
    elif "range" in spec.entries:
        fields = ("range", "step", "default")
        check_fields(spec, (*fields, "unit", "about"), fields)
        low, high, step = _range(spec)
        parameter = Range(
            name=name, place=spec.place, unit=unit, about=about,
            default=0, low=low, high=high, step=step,
        )  # fmt: skip
    else:
        check_fields(spec, ("choices", "range", "step", "value", "default", "unit", "about"))
        fail(spec, "expected choices, a range or a value")
    return _with_default(parameter, spec.entries["default"])


def _with_default(parameter: Parameter, tree: Tree) -> Parameter:
    value = literal(the_scalar(tree, "one of the allowed values"))
    try:
        return replace(parameter, default=parameter.accept(value))
    except InputError as error:
        raise FileError(tree.place, f"the default of {error}") from None


def _choices(tree: Tree) -> tuple[Value, ...]:
    items = the_items(tree, "a list such as [12, 24]")
    if not 1 <= len(items) <= MAX_CHOICES:
        fail(tree, f"expected 1 to {MAX_CHOICES} choices, found {len(items)}")
    values: list[Value] = []
    for item in items:
        value = literal(the_scalar(item, "a number, a text, true or false"))
        if isinstance(value, str):
            value = text(item, {})
        elif not isinstance(value, bool) and abs(value) > LARGEST:
            fail(item, f"expected a number up to {LARGEST:g}")
        # 12 and "12" could not be told apart on a command line, nor 12 and 12.0
        if any(as_text(value) == as_text(v) or same(value, v) for v in values):
            fail(item, f"the choice {shown(value)} is there twice")
        values.append(value)
    return tuple(values)


def _range(spec: Table) -> tuple[Decimal, Decimal, Decimal]:
    ends = the_items(spec.entries["range"], "[lowest, highest]")
    if len(ends) != 2:
        fail(spec.entries["range"], f"expected [lowest, highest], found {len(ends)} values")
    low, high, step = (_decimal(t) for t in (*ends, spec.entries["step"]))
    if low > high:
        fail(spec.entries["range"], f"the lowest value {low} is above the highest {high}")
    if step <= 0:
        fail(spec.entries["step"], f"expected a step above 0, found {step}")
    if (high - low) / step > MAX_STEPS:
        fail(spec.entries["step"], f"more than {MAX_STEPS} steps; use a coarser one")
    return low, high, step


def _decimal(tree: Tree) -> Decimal:
    scalar = the_scalar(tree, "a number")
    value = literal(scalar)
    if isinstance(value, bool | str) or abs(value) > LARGEST:
        fail(scalar, f"expected a number up to {LARGEST:g}, found {shown(scalar.text)}")
    return Decimal(repr(value))


def _ordered(derived: list[Derived]) -> tuple[Derived, ...]:
    """Derived parameters so that each comes after those it uses."""
    needs = {d.name: _uses(d) & {x.name for x in derived} for d in derived}
    done: dict[str, Derived] = {}
    while len(done) < len(derived):
        ready = [d for d in derived if d.name not in done and needs[d.name] <= done.keys()]
        if not ready:
            circle = [d for d in derived if d.name not in done]
            names = " and ".join(d.name for d in circle)
            fail(circle[0].value, f"parameters that need each other: {names}")
        done.update({d.name: d for d in ready})
    return tuple(done.values())


def _uses(item: Derived) -> frozenset[str]:
    return expression_of(item.value).names if item.value.is_expression else frozenset()
