"""Hints of a template for its drawing: `layout: {M1: {column: 3}, E1: {lying: true}}`."""

from __future__ import annotations

from collections.abc import Mapping

from quizgen.base.errors import InputError
from quizgen.circuit.netlist import Circuit
from quizgen.diagram.scheme import Scheme

KNOWN = ("lying", "column")


def columns_of(circuit: Circuit, scheme: Scheme) -> Mapping[int, int]:
    """Block → the column that a hint wants it in.

    Of two parts in one row the one with the smaller column stands further left. Raises
    InputError for a hint that means nothing.
    """
    wanted: dict[str, int] = {}
    for part, hints in circuit.layout:
        for name, value in hints.items():
            where = f"{circuit.name}: layout of {part}"
            if name not in KNOWN:
                raise InputError(f"{where}: {name!r} is not a hint; write {' or '.join(KNOWN)}")
            if name == "lying" and not isinstance(value, bool):
                raise InputError(f"{where}: lying is true or false, not {value!r}")
            if name == "column":
                if not isinstance(value, int) or isinstance(value, bool):
                    raise InputError(f"{where}: column is a whole number, not {value!r}")
                wanted[part] = value
    return {i: wanted[b.part] for i, b in enumerate(scheme.blocks) if b.part in wanted}
