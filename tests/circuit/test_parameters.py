"""Parameters: what a setting may be, what a text means, what a draw gives."""

from __future__ import annotations

import math
import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.circuit.parameters import Range
from quizgen.circuit.template import Template, parse_template
from tests.circuit.sample import NETWORK, SAMPLE

TEMPLATE = parse_template(SAMPLE)


def with_parameters(lines: str, require: str = "[]") -> Template:
    """The bare network with parameters; R1 has `=ohm` if they name one."""
    text = NETWORK.replace("parts:", f"parameters:\n{lines}\nrequire: {require}\nparts:", 1)
    return parse_template(text.replace("ohm: 12, at: [top, left]", 'ohm: "=ohm", at: [top, left]'))


def test_defaults_choices_and_derived_values_reach_the_circuit() -> None:
    """Settings are canonical: 24.0 is the 24 of the file; derived values follow."""
    circuit = TEMPLATE.build({"system": 24.0, "lamps": 2})
    values = dict(circuit.parameters)
    assert values == {"system": 24, "feed": 1.5, "lamps": 2, "plug": True, "rated": 28}
    assert isinstance(values["system"], int)
    assert circuit.system_volts == 24.0
    assert TEMPLATE.build() == TEMPLATE.build({})


@pytest.mark.parametrize(
    ("setting", "says"),
    [
        ({"system": 48}, "system: 48 is not allowed; choose one of 12, 24"),
        ({"system": "12"}, "system: '12' is not allowed"),
        ({"system": True}, "system: True is not allowed"),
        ({"plug": 1}, "plug: 1 is not allowed; choose one of true, false"),
        ({"feed": 1.55}, "choose from 0.8 to 2.5 m in steps of 0.1"),
        ({"feed": 0.7}, "feed: 0.7 is not allowed"),
        ({"feed": 2.6}, "feed: 2.6 is not allowed"),
        ({"feed": math.nan}, "feed: nan is not allowed"),
        ({"feed": math.inf}, "feed: inf is not allowed"),
        ({"feed": -(10**400)}, "not allowed"),
        ({"feed": 10**5000}, "a huge number is not allowed"),
        ({"feed": 1e-320}, "not allowed"),
        ({"feed": None}, "feed: None is not allowed"),
        ({"feed": [1]}, "not allowed"),
        ({"fed": 1.5}, "no parameter 'fed'; did you mean feed?"),
        ({"rated": 14}, "rated follows from other parameters"),
        ({"feed": 2.5, "lamps": 2}, "sample: feed=2.5 lamps=2 does not meet 'feed * l"),
    ],
)
def test_a_wrong_setting_is_named(setting: dict[str, object], says: str) -> None:
    """One line: the template, the parameter, what is allowed. A draw refuses it as well."""
    with pytest.raises(InputError) as caught:
        TEMPLATE.build(setting)
    assert says in str(caught.value)
    assert str(caught.value).startswith("sample: ")
    with pytest.raises(InputError):
        TEMPLATE.draw(random.Random(1), setting)


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("system", "24", 24),
        ("system", " 24.0 ", 24),
        ("feed", "1.5", 1.5),
        ("feed", "2", 2.0),
        ("feed", "15e-1", 1.5),
        ("plug", "false", False),
    ],
)
def test_a_text_is_parsed_against_its_parameter(name: str, text: str, value: object) -> None:
    """As written after `--set name=`."""
    parsed = TEMPLATE.parse_setting(name, text)
    assert parsed == value
    assert type(parsed) is type(value)


@pytest.mark.parametrize(
    ("name", "text"),
    [("system", "13"), ("system", ""), ("feed", "1,5"), ("feed", "1.5 m"), ("feed", "nan"),
     ("feed", "inf"), ("feed", "1" * 5000), ("plug", "yes"), ("plug", "1"), ("rated", "14"),
     ("x", "1")],
)  # fmt: skip
def test_a_text_that_means_nothing_is_refused(name: str, text: str) -> None:
    """Units, decimal commas and words that are no choice are not guessed at."""
    with pytest.raises(InputError) as caught:
        TEMPLATE.parse_setting(name, text)
    assert str(caught.value).startswith("sample: ")
    assert len(str(caught.value)) < 200


def test_text_choices_are_texts() -> None:
    """`on` and `no` are plain words; a choice in quotes keeps its text."""
    template = with_parameters(
        "  ohm: {value: \"=1 if side in ['on', '2'] else 2\"}\n"
        '  side: {choices: [on, no, "2", feed side], default: no}'
    )
    assert template.build().parameters[0] == ("side", "no")
    assert template.parse_setting("side", "on") == "on"
    assert template.parse_setting("side", "2") == "2"
    assert template.build({"side": "feed side"}).by_id["R1"] == template.build().by_id["R1"]


def test_derived_values_may_be_written_in_any_order() -> None:
    """A derived value is computed after those it needs."""
    template = with_parameters(
        '  ohm: {value: "=b + 1"}\n  b: {value: "=2 * a"}\n  a: {choices: [1, 2], default: 2}'
    )
    assert dict(template.build().parameters) == {"a": 2, "b": 4, "ohm": 5}


@given(st.integers(-50, 50), st.integers(1, 40), st.integers(0, 200), st.integers(0, 3))
def test_a_range_holds_exactly_its_steps(low: int, step: int, steps: int, places: int) -> None:
    """Every value is the decimal number that a person would write, the last not above the end."""
    unit = Fraction(1, 10**places)
    ends = [float(n * unit) for n in (low, low + step * steps)]
    template = with_parameters(
        f"  ohm: {{value: '=100 + size'}}\n"
        f"  size: {{range: [{ends[0]!r}, {ends[1]!r}], step: {float(step * unit)!r}, "
        f"default: {ends[0]!r}}}"
    )
    parameter = template.parameters[0]
    assert isinstance(parameter, Range)
    assert parameter.count == steps + 1
    values = [parameter.at(i) for i in range(parameter.count)]
    assert values == [float((low + i * step) * unit) for i in range(steps + 1)]
    assert [parameter.accept(v) for v in values] == values
    assert parameter.accept(ends[0] + step * 1e-9 * 10**-places) == values[0]
    with pytest.raises(InputError):
        parameter.accept(values[-1] + float(step * unit))


@given(st.integers(0, 2**32))
def test_a_draw_meets_the_requirements_and_keeps_what_is_fixed(seed: int) -> None:
    """And the same seed draws the same setting."""
    setting = TEMPLATE.draw(random.Random(seed), {"lamps": 2})
    assert setting["lamps"] == 2
    assert setting["feed"] * 2 <= 4  # type: ignore[operator]
    assert setting == TEMPLATE.draw(random.Random(seed), {"lamps": 2})
    assert TEMPLATE.build(setting).by_id["E1"].weights == ()


def test_draws_reach_every_choice_and_both_ends() -> None:
    """Nothing that may be set is never drawn."""
    rng = random.Random(7)
    drawn = [TEMPLATE.draw(rng) for _ in range(400)]
    assert {d["system"] for d in drawn} == {12, 24}
    assert {d["plug"] for d in drawn} == {True, False}
    assert {d["feed"] for d in drawn} == {round(0.8 + 0.1 * i, 1) for i in range(18)}


def test_requirements_that_nothing_meets_are_reported() -> None:
    """A draw gives up with an error, not an endless search."""
    template = with_parameters(
        "  ohm: {choices: [1, 2], default: 1}\n  other: {choices: [1, 2], default: 1}",
        '["ohm + other == 2"]',
    )
    with pytest.raises(InputError, match="no setting with ohm=2 meets its requirements"):
        template.draw(random.Random(1), {"ohm": 2})
