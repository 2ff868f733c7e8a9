"""What each kind of part may say in a template, derived from its dataclass.

A field of `quizgen.circuit.components` is a field of the file, except the *defect* fields,
which only fault injection sets, and a few that a template writes in a handier form.
Bounds come from a small table; a part built from fields is then checked as a whole.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, fields
from functools import cache
from itertools import pairwise
from typing import Any, Literal, get_args, get_origin, get_type_hints

from quizgen.circuit.components import (
    KINDS,
    Alternator,
    Connector,
    Horn,
    LedLamp,
    Motor,
    Part,
    Relay,
    Sender,
    StarterSolenoid,
    Switch,
    TwoSpeedMotor,
    Wire,
)
from quizgen.circuit.values import (
    ANY,
    NOT_NEGATIVE,
    POSITIVE,
    RESISTANCE,
    SHARE,
    Bounds,
    Names,
    flag,
    number,
    numbers,
    text,
    texts,
    the_table,
    word_of,
)
from quizgen.circuit.yaml_reader import Table, Tree, fail

DEFECTS = frozenset(
    {"extra_ohm", "condition", "fitted_amps", "fitted_watts", "stuck", "open_contacts",
     "worn_contacts", "coil", "armature", "apart", "pull", "hold", "plunger", "low_brush",
     "high_brush"}
)  # fmt: skip
_STRUCTURE = {"id", "nodes"}
_REWRITTEN: dict[type[Part], dict[str, tuple[str, ...]]] = {
    # kind -> dataclass fields that the template writes as other fields
    Connector: {"cavity_ohm": ("contact_ohm",)},
    Switch: {"closes": ("rest", "momentary")},
}
ALTERNATIVE = ("when",)  # fields of every alternative
PLACEMENT = ("kind", "at", "unused", "unobserved")  # fields of a part, not of a wire

BOUNDS: dict[str, Bounds] = {
    "source.volts": ANY,
    "resistor.ohm": RESISTANCE,
    "resistor_pack.ohms": RESISTANCE,
    "sender.ohms": RESISTANCE,
    "solenoid.ohm": POSITIVE,
    "ohm": NOT_NEGATIVE,
    "internal_ohm": NOT_NEGATIVE,
    "contact_ohm": NOT_NEGATIVE,
    "joint_ohm": NOT_NEGATIVE,
    "access_minutes": NOT_NEGATIVE,
    "cold_ratio": Bounds(least=1.0),
    "friction": SHARE,
    "hold_share": SHARE,
}
_RISING: dict[type[Part], tuple[tuple[str, ...], ...]] = {
    # a part of this kind cannot work unless each value lies below the next
    Alternator: (("volts", "unsensed_volts"),),
    Relay: (("drop_out_volts", "pull_in_volts"),),
    StarterSolenoid: (("drop_out_volts", "pull_in_volts"), ("pull_ohm", "hold_ohm")),
    Motor: (("run_amps", "stall_amps"),),
    TwoSpeedMotor: (("low_amps", "high_amps", "stall_amps"),),
    LedLamp: (("forward_volts", "volts"),),
    Horn: (("least_volts", "volts"),),
}
CONTACT_OHM = 0.003  # one cavity of a sound connector (common practice, no source)


@dataclass(frozen=True)
class Field:
    """One field of a kind of part: its name in the file and its type."""

    name: str
    hint: Any
    required: bool
    bounds: Bounds


def fields_of(cls: type[Part]) -> dict[str, Field]:
    """The plain fields that a template may give a part of kind `cls`."""
    return _fields_of(cls.kind)


@cache
def _fields_of(kind: str) -> dict[str, Field]:
    cls = KINDS[kind]
    hints = get_type_hints(cls)
    left_out = _STRUCTURE | DEFECTS | {"weights"} | set(_REWRITTEN.get(cls, {}))
    if cls is Switch:
        left_out |= {"positions", "control"}
    plain = {}
    for field in fields(cls):
        if field.name not in left_out:
            bounds = BOUNDS.get(f"{cls.kind}.{field.name}") or BOUNDS.get(field.name, POSITIVE)
            required = field.default is MISSING
            plain[field.name] = Field(field.name, hints[field.name], required, bounds)
    return plain


def known_fields(cls: type[Part]) -> tuple[str, ...]:
    """Every field name that may stand in a part (or wire) of kind `cls`."""
    extra = [name for names in _REWRITTEN.get(cls, {}).values() for name in names]
    if cls is Switch:
        extra += ["positions", "control"]
    own = (*fields_of(cls), *extra, "weights", *ALTERNATIVE)
    return (*own, "from", "to") if cls is Wire else (*PLACEMENT, *own)


def required_fields(cls: type[Part]) -> tuple[str, ...]:
    """The fields that a part (or wire) of kind `cls` must have."""
    own = tuple(f.name for f in fields_of(cls).values() if f.required)
    if cls is Switch:
        return (*own, "positions")
    return ("from", "to", *own) if cls is Wire else own


def part_kinds() -> tuple[str, ...]:
    """The kinds that may stand in the section `parts`."""
    return tuple(kind for kind in KINDS if kind not in ("wire", "bridge"))


def read_fields(cls: type[Part], table: Table, names: Names) -> dict[str, Any]:
    """The plain fields in `table`, converted and within bounds. Raises FileError."""
    values = {
        field.name: _read(field, tree, names)
        for field in fields_of(cls).values()
        if (tree := table.get(field.name)) is not None
    }
    if (weights := table.get("weights")) is not None:
        values["weights"] = _weights(weights, names)
    return values


def _read(field: Field, tree: Tree, names: Names) -> object:
    if get_origin(field.hint) is Literal:
        return word_of(tree, names, get_args(field.hint))
    if field.hint is float:
        return float(number(tree, names, field.bounds))
    if field.hint is bool:
        return flag(tree, names)
    if field.hint is str:
        return text(tree, names)
    if get_args(field.hint)[0] is float:
        return numbers(tree, names, field.bounds)
    return texts(tree, names)


def _weights(tree: Tree, names: Names) -> tuple[tuple[str, float], ...]:
    table = the_table(tree, "a relative likelihood by fault, such as {open: 2}")
    return tuple(
        (mode, float(number(value, names, NOT_NEGATIVE))) for mode, value in table.entries.items()
    )


def check_sense(part: Part, table: Table) -> None:
    """Raise FileError when the values of a part contradict each other."""
    rows = _RISING.get(type(part), ())
    for low, high in (pair for row in rows for pair in pairwise(row)):
        if getattr(part, low) >= getattr(part, high):
            found = f"{getattr(part, low):g} and {getattr(part, high):g}"
            fail(
                table.get(low) or table.get(high) or table,
                f"{low} must lie below {high}, found {found}",
            )
    if isinstance(part, Sender) and len(part.ohms) != len(part.positions):
        problem = f"{len(part.ohms)} values for {len(part.positions)} positions; one each is needed"
        fail(table.entries["ohms"], problem)
