"""Options that several commands share, and what their texts mean."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import click

from quizgen.base.errors import InputError
from quizgen.base.writing import write_whole
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import Template, find_template
from quizgen.faults import Fault, inject, parse_fault

Command = TypeVar("Command", bound=Callable[..., Any])
Moves = tuple[tuple[str, str], ...]

name_argument = click.argument("name", metavar="CIRCUIT")
set_option = click.option(
    "--set",
    "settings",
    metavar="NAME=VALUE",
    multiple=True,
    help="Set a parameter; the others keep their defaults.",
)
position_option = click.option(
    "--position",
    "positions",
    metavar="CONTROL=VALUE",
    multiple=True,
    help="Move a switch or a condition. Moves are made in the order given.",
)
fault_option = click.option(
    "--fault",
    "faults",
    metavar="PART:MODE[:DETAIL]",
    multiple=True,
    help="Put a fault in, such as W5:open or X1:resistance:1=2.",
)
out_option = click.option(
    "--out", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False),
    help="Write to a file instead of printing.",
)  # fmt: skip
json_option = click.option("--json", "as_json", is_flag=True, help="Print data, full precision.")


def hand_over(text: str, out: Path | None) -> None:
    """Print a text that is a file's, or write it. Raises OutsideError when that fails."""
    if out is None:
        click.echo(text, nl=False)
    else:
        click.echo(f"{write_whole(out, text.encode())}: written")


def read_settings(template: Template, texts: Sequence[str]) -> dict[str, object]:
    """What `--set` options mean. Raises InputError for one that is wrong or there twice."""
    found: dict[str, object] = {}
    for text in texts:
        name, value = _pair(text, "--set", "NAME=VALUE")
        if name in found:
            raise InputError(f"--set {text}: {name} is set twice")
        found[name] = template.parse_setting(name, value)
    return found


def used_settings(template: Template, circuit: Circuit) -> dict[str, object]:
    """Every parameter that can be set, with the value that `circuit` was built with."""
    values = dict(circuit.parameters)
    return {p.name: values[p.name] for p in template.parameters}


def read_moves(circuit: Circuit, texts: Sequence[str]) -> Moves:
    """What `--position` options mean, in their order. Raises InputError for a wrong one."""
    moves = tuple(_pair(text, "--position", "CONTROL=VALUE") for text in texts)
    for control, position in moves:
        circuit.check_positions({control: position})
    return moves


@dataclass(frozen=True)
class Case:
    """What a command line describes: a circuit without and with its faults, and control moves."""

    settings: dict[str, object]
    sound: Circuit
    circuit: Circuit
    faults: tuple[Fault, ...]
    moves: Moves


def read_case(
    name: str, settings: Sequence[str], positions: Sequence[str], faults: Sequence[str] = ()
) -> Case:
    """What CIRCUIT, `--set`, `--position` and `--fault` mean. Raises InputError for a wrong one."""
    template = find_template(name)
    sound = template.build(read_settings(template, settings))
    moves = read_moves(sound, positions)
    found = tuple(parse_fault(text) for text in faults)
    circuit = sound
    for fault in found:
        circuit = inject(circuit, fault)
    return Case(used_settings(template, sound), sound, circuit, found, moves)


def _pair(text: str, option: str, form: str) -> tuple[str, str]:
    name, equals, value = (piece.strip() for piece in text.partition("="))
    if not name or not equals:
        raise InputError(f"{option} {text!r}: write {form}")
    return name, value
