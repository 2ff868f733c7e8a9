"""ngspice agrees with items as made, and finds each figure that was altered.

An altered figure is wrong by construction. The items are of several kinds; what a kind's own
verifier says of them is tested elsewhere.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from math import inf, nan

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template
from quizgen.items.item import Item, Option, Origin, Reading
from quizgen.items.kinds import KINDS
from quizgen.items.material import Request, draw_material
from quizgen.items.verify.kind_figures import FIGURES
from quizgen.items.verify.printed import display_of
from quizgen.items.verify.second_opinion import second_opinion
from quizgen.solver import laws
from tests.items.made import complain
from tests.oracles.spice import ngspice

__all__ = ["ngspice"]

KINDS_OF_FIGURES = tuple(sorted(FIGURES.keys() & KINDS.keys()))
OPTION_FIGURES = ("certain-after-test", "fault-from-complaint", "predict-operation", "shared-path")


def one_of(kind: str, family: str, seed: int) -> Item:
    """An item of a kind about a family."""
    rng = random.Random(f"second opinion {kind} {family} {seed}")
    template = find_template(family)
    for _ in range(40):
        material = draw_material(template, rng, machine="A machine", complain=complain)
        try:
            return KINDS[kind].make(material, Request(), rng)
        except UnprovableError:
            continue
    raise AssertionError(f"{family} gives no item of the kind {kind}")


@pytest.fixture(scope="module")
def items() -> dict[str, Item]:
    """One of each kind whose figures are recomputed."""
    return {kind: one_of(kind, "push-button-relay", 1) for kind in KINDS_OF_FIGURES}


@pytest.mark.ngspice
def test_items_as_made_have_nothing_wrong(made: tuple[Item, ...], ngspice: str) -> None:
    """Twelve items of four families: a line for each, all empty; ngspice and the solver differ
    by less than a thousandth of a digit, and by less than a microvolt at any node."""
    opinion = second_opinion(made, ngspice)
    assert opinion.findings == ((),) * len(made)
    assert opinion.readings >= sum(len(item.readings) for item in made)
    assert opinion.nodes > 10 * len(made)
    assert opinion.digits < 1e-3
    assert opinion.volts < 1e-6


@pytest.mark.ngspice
@pytest.mark.parametrize("kind", KINDS_OF_FIGURES)
def test_each_kind_has_figures_that_agree(kind: str, items: dict[str, Item], ngspice: str) -> None:
    """More than the node voltages alone."""
    opinion = second_opinion([items[kind]], ngspice)
    assert opinion.findings == ((),)
    assert opinion.readings > 0


def first_reading(item: Item, **changes: object) -> Item:
    """With its first reading altered."""
    first, *others = item.readings
    return replace(item, readings=(replace(first, **changes), *others))  # type: ignore[arg-type]


def a_digit_more(shown: str) -> str:
    """One in the last place more."""
    value, digit, unit = display_of(shown)
    return f"{value + digit:.1f} {unit}".replace("-", "\N{MINUS SIGN}")


def moved(item: Item, **changes: object) -> Item:
    """With another origin."""
    return replace(item, origin=replace(item.origin, **changes))  # type: ignore[arg-type]


ALTERED: dict[str, tuple[Callable[[Item], Item], str]] = {
    "a digit more": (
        lambda i: first_reading(i, shown=a_digit_more(i.readings[0].shown)),
        "reading 1: ngspice finds",
    ),
    "OL": (lambda i: first_reading(i, shown="OL"), "the item says inf"),
    "words": (lambda i: first_reading(i, shown="lit bright"), "reading 1: ngspice finds 0"),
    "leads swapped": (
        lambda i: first_reading(
            i, red_node=i.readings[0].black_node, black_node=i.readings[0].red_node
        ),
        "reading 1: ngspice finds",
    ),
    "another fault": (lambda i: moved(i, fault="GB1:weak:0"), "ngspice finds"),
    "no such fault": (lambda i: moved(i, fault="W999:open"), "nothing to recompute"),
    "no such circuit": (lambda i: moved(i, template="none"), "nothing to recompute"),
    "no such point": (lambda i: first_reading(i, red_node="Z9.9"), "nothing to recompute"),
    "no such meter": (lambda i: first_reading(i, instrument="ear"), "nothing to recompute"),
    "no key": (
        lambda i: replace(i, options=tuple(replace(o, is_key=False) for o in i.options)),
        "nothing to recompute: 0 options are marked as the key",
    ),
}


def with_a_voltage(made: tuple[Item, ...]) -> Item:
    """An item whose first reading is some volts, so that a swap or a flat battery shows."""
    return next(i for i in made if i.readings and i.readings[0].volts > 1.0)


@pytest.mark.ngspice
@pytest.mark.parametrize("what", ALTERED)
def test_what_was_altered_is_found(what: str, made: tuple[Item, ...], ngspice: str) -> None:
    """In that item, and not in the right ones before and after it."""
    alter, finding = ALTERED[what]
    item = with_a_voltage(made)
    before, findings, after = second_opinion([item, alter(item), item], ngspice).findings
    assert not before
    assert not after
    assert any(finding in line for line in findings), findings


def shifted(item: Item, by: float) -> tuple[Option, ...]:
    """Its options with all their figures wrong."""
    return tuple(
        replace(o, figures=tuple(replace(f, value=f.value + by) for f in o.figures))
        for o in item.options
    )


@pytest.mark.ngspice
@pytest.mark.parametrize("kind", OPTION_FIGURES)
def test_a_figure_of_an_option_that_was_altered_is_found(
    kind: str, items: dict[str, Item], ngspice: str
) -> None:
    """Half a volt more in what an option is said to show with another fault or across a load."""
    item = items[kind]
    wrong = replace(item, options=shifted(item, 0.5))
    [findings] = second_opinion([wrong], ngspice).findings
    assert len(findings) == sum(len(o.figures) for o in item.options)


@pytest.mark.ngspice
@pytest.mark.parametrize("kind", ["safe-procedure", "which-instrument"])
def test_displays_that_were_exchanged_are_found(
    kind: str, items: dict[str, Item], ngspice: str
) -> None:
    """What the key's check shows with one fault is not what it shows without, or with another."""
    item = items[kind]
    first, second = (figure.name.rpartition(": ") for figure in item.key.figures)
    figures = tuple(
        replace(figure, name=f"{of}: {shown}")
        for figure, of, shown in zip(
            item.key.figures, (first[0], second[0]), (second[2], first[2]), strict=True
        )
    )
    options = tuple(replace(o, figures=figures) if o.is_key else o for o in item.options)
    [findings] = second_opinion([replace(item, options=options)], ngspice).findings
    assert len(findings) == 2


@pytest.mark.ngspice
def test_a_bound_of_a_refutation_that_was_altered_is_found(
    made: tuple[Item, ...], ngspice: str
) -> None:
    """Half a volt more in what a fault without degrees would have shown."""
    for item in made:
        wrong = replace(
            item,
            options=tuple(
                replace(o, refuted_by=o.refuted_by and replace(o.refuted_by, low=99.0))
                for o in item.options
            ),
        )
        [findings] = second_opinion([wrong], ngspice).findings
        if findings:
            assert all("the item says 99" in line for line in findings)
            return
    raise AssertionError("no option of these is refuted by a reading")


@pytest.mark.ngspice
@pytest.mark.parametrize("kind", ["compute", "predict-reading"])
def test_an_answer_that_was_altered_is_found(
    kind: str, items: dict[str, Item], ngspice: str
) -> None:
    """A key a tenth larger, be it an option, a number or the figure of a sum."""
    item = items[kind]
    if kind == "compute":
        figures = tuple(replace(f, value=1.1 * f.value) for f in item.proof.figures)
        wrong = replace(item, proof=replace(item.proof, figures=figures))
    elif item.number is not None:
        wrong = replace(item, number=replace(item.number, value=item.number.value + 1.0))
    else:
        other = next(o for o in item.options if not o.is_key)
        swapped = {item.key.claim: True, other.claim: False}
        wrong = replace(
            item,
            options=tuple(
                replace(o, is_key=not swapped[o.claim]) if o.claim in swapped else o
                for o in item.options
            ),
        )
    [findings] = second_opinion([wrong], ngspice).findings
    assert any("the answer" in line for line in findings), findings


def with_readings(item: Item, origin: Origin, *readings: Reading) -> Item:
    """An item of no kind that has figures besides these readings."""
    return replace(item, kind="of none", family=origin.template, origin=origin, readings=readings)


def reading(instrument: str, red: str, black: str, shown: str, *unplugged: str) -> Reading:
    """A reading that prints `shown`."""
    return Reading(
        instrument=instrument, red_node=red, black_node=black, shown=shown, unplugged=unplugged,
        red="", black="", state="", volts=0.0,
    )  # fmt: skip


@pytest.mark.ngspice
def test_every_instrument_is_recomputed(made: tuple[Item, ...], ngspice: str) -> None:
    """A pump circuit at rest: the battery's 12.65 V, OL across an open button with the battery
    off, half an ohm in the pump that takes 26.7 A from 13.5 V when it stalls, no amps, a test
    lamp lit by the battery (common practice, no source)."""
    at_rest = Origin(template="push-button-relay", parameters=(), positions=(), fault="")
    item = with_readings(
        made[0],
        at_rest,
        reading("voltmeter", "GB1.+", "GB1.-", "12.7 V"),
        reading("ohmmeter", "S2.1", "S2.2", "OL", "GB1"),
        reading("ohmmeter", "M1/1", "M1/2", "0.5 Ω", "M1"),
        reading("clamp-ammeter", "W1", "", "0.0 A"),
        reading("test-lamp", "GB1.+", "chassis", "lit bright"),
    )
    opinion = second_opinion([item], ngspice)
    assert opinion.findings == ((),)
    assert opinion.readings == 5


@pytest.mark.ngspice
def test_bounds_of_a_fuse_that_may_open_or_hold_are_left_out(
    made: tuple[Item, ...], ngspice: str
) -> None:
    """A 5 A fuse that carries 6.6 A is in doubt: at 1.35 times its rating a blade fuse may take
    half an hour (ISO 8820-3, from memory). What its option says is not looked at; 99 V at
    another one is, where with no current the battery's 12.65 V stand."""
    pumping = Origin(
        template="push-button-relay", parameters=(), fault="G2:resistance:1",
        positions=(("S1", "on"), ("S2", "pressed")),
    )  # fmt: skip
    item = with_readings(made[0], pumping, reading("voltmeter", "F2.2", "chassis", "12.5 V"))
    options = tuple(
        replace(
            option, claim=claim, refuted_by=option.refuted_by
            and replace(option.refuted_by, claim=claim, reading=0, low=99.0, high=99.0),
        )
        for option, claim in zip(
            (o for o in made[0].options if o.refuted_by),
            ("F2:wrong-rating:5", "W5:open"), strict=False,
        )
    )  # fmt: skip
    item = replace(item, kind="fault-from-readings", options=(made[0].key, *options))
    [findings] = second_opinion([item], ngspice).findings
    assert len(findings) == 2
    assert all(line.startswith("option W5:open: ngspice finds 12.6") for line in findings)


@pytest.mark.ngspice
def test_a_solver_that_is_wrong_is_found(
    made: tuple[Item, ...], ngspice: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that takes filaments for ohmic is, by nodes between the lamps and a bad ground."""
    dim = Origin(
        template="ground-switched-lamps", parameters=(), fault="G2:resistance:3",
        positions=(("left-door", "open"),),
    )  # fmt: skip
    item = with_readings(made[0], dim)
    assert second_opinion([item], ngspice).findings == ((),)
    monkeypatch.setattr(laws, "FILAMENT_EXPONENT", 1.0)
    [findings] = second_opinion([item], ngspice).findings
    assert any(line.startswith("E1.2: ngspice finds") for line in findings), findings


def test_displays_are_read_as_printed() -> None:
    """Signs, prefixes, and the worth of the last digit."""
    assert display_of("\N{MINUS SIGN}0.3 V") == (-0.3, 0.1, "V")
    assert display_of("680 Ω") == (680.0, 1.0, "Ω")
    assert display_of("1.500 MΩ") == (1.5e6, pytest.approx(1e3), "Ω")
    assert display_of("0.00 A, meter fuse blown") == (0.0, 0.01, "A")
    assert display_of("OL")[0] == inf
    assert display_of("nan V") == (1.0, 1.0, "")


@pytest.mark.ngspice
@pytest.mark.parametrize("value", [nan, inf])
def test_figures_that_are_no_numbers_are_found(
    value: float, items: dict[str, Item], ngspice: str
) -> None:
    """They agree with nothing, and stop nobody from looking on."""
    altered = [
        replace(item, options=shifted(item, value), number=item.number
                and replace(item.number, value=value, decimals=-3))
        for item in items.values()
    ]  # fmt: skip
    findings = dict(zip(items, second_opinion(altered, ngspice).findings, strict=True))
    for kind in KINDS_OF_FIGURES:
        if kind in OPTION_FIGURES:
            assert len(findings[kind]) == sum(len(o.figures) for o in items[kind].options)
