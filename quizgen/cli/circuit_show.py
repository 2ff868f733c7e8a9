"""`quizgen circuit show`: what a circuit is made of and what can be set and operated."""

from __future__ import annotations

from dataclasses import fields

import click

from quizgen.circuit.components import Part, Switch, Wire
from quizgen.circuit.fields import DEFECTS
from quizgen.circuit.netlist import Circuit, Control
from quizgen.circuit.parameters import Parameter
from quizgen.circuit.template import Template, find_template
from quizgen.circuit.values import as_text
from quizgen.cli.data import print_json
from quizgen.cli.options import (
    json_option,
    name_argument,
    read_settings,
    set_option,
    used_settings,
)
from quizgen.cli.point_text import heading
from quizgen.cli.table import labelled, table, wrapped

SHARED = frozenset(f.name for f in fields(Part))  # told in columns of their own, or not at all
NOT_TOLD = (  # defects: a shown circuit is sound
    SHARED
    | DEFECTS
    | {"pins", "positions", "closes", "control", "running", "cavities", "cavity_ohm"}
)
UNITS = {"volts": "V", "amps": "A", "watts": "W", "ohm": "Ω", "ohms": "Ω", "seconds": "s"}


@click.command(short_help="Show the parts and settings of a circuit.")
@name_argument
@set_option
@json_option
def show(name: str, settings: tuple[str, ...], as_json: bool) -> None:
    """Show the parameters, controls, parts, wires and points of a circuit.

    The points are where a lead can be put: a terminal as in K1.87, or a splice, ground stud or
    named node by itself. Wires of one potential (a splice) share a point.
    """
    template = find_template(name)
    circuit = template.build(read_settings(template, settings))
    if as_json:
        print_json(_record(template, circuit))
    else:
        click.echo("\n".join(_lines(template, circuit)))


# --- text -----------------------------------------------------------------------------


def _lines(template: Template, circuit: Circuit) -> list[str]:
    lines = heading(circuit, used_settings(template, circuit))
    lines += labelled("Summary", circuit.summary)
    lines += labelled("Topics", ", ".join(circuit.topics))
    for caution in circuit.cautions:
        lines += labelled("Caution", caution)
    if template.parameters:
        lines += ["", "Parameters (--set NAME=VALUE)"]
        rows = [_parameter_row(p) for p in template.parameters]
        lines += table(("name", "default", "about"), rows)
    if circuit.controls:
        lines += ["", "Controls (--position CONTROL=VALUE)"]
        lines += table(
            ("name", "at rest", "what", "positions"), [_control_row(c) for c in circuit.controls]
        )
    parts = [p for p in circuit.parts if not isinstance(p, Wire)]
    lines += ["", "Parts"]
    lines += table(("id", "kind", "what"), [(p.id, _kind(p), _about(p)) for p in parts])
    wires = [p for p in circuit.parts if isinstance(p, Wire)]
    if wires:
        lines += ["", "Wires"]
        heads = ("id", "from", "to", "colour", "mm²", "m", "ohm")
        lines += table(heads, [_wire_row(w) for w in wires], right=(4, 5, 6))
    lines += ["", "Points"]
    return lines + wrapped(" ".join(circuit.nodes))


def _parameter_row(parameter: Parameter) -> tuple[str, ...]:
    unit = f" {parameter.unit}" if parameter.unit else ""
    about = f"{parameter.about}; {parameter.allowed()}" if parameter.about else parameter.allowed()
    return (parameter.name, as_text(parameter.default) + unit, about)


def _control_row(control: Control) -> tuple[str, ...]:
    what = control.label if control.label != control.name else ""
    notes = [what, "springs back" if control.momentary else ""]
    notes.append("" if control.by == "hand" else "condition")
    return (
        control.name,
        control.rest,
        ", ".join(n for n in notes if n),
        ", ".join(control.positions),
    )


def _kind(part: Part) -> str:
    return part.kind.replace("_", " ")


def _about(part: Part) -> str:
    where = f"{part.name}, {part.place}" if part.name and part.place else part.name or part.place
    figures = [_figure(f.name, getattr(part, f.name)) for f in fields(part)]
    if isinstance(part, Switch):
        figures += [
            f"{position}: {' '.join(f'{k.a}-{k.b}' for k in closed) or 'all open'}"
            for position, closed in zip(part.positions, part.closes, strict=True)
        ]
    return "; ".join(piece for piece in (where, ", ".join(f for f in figures if f)) if piece)


def _figure(name: str, value: object) -> str:
    """A field as a person says it: "stall 33.3 A"; nothing for what is told elsewhere.

    >>> _figure("stall_amps", 33.3), _figure("volts", 13.5), _figure("stuck", "")
    ('stall 33.3 A', '13.5 V', '')
    """
    if name in NOT_TOLD or value in ("", (), False):
        return ""
    words = name.split("_")
    if value is True:
        return " ".join(words)
    unit = UNITS.get(words[-1], "")
    if isinstance(value, tuple):
        text = " + ".join(f"{item:g}" if isinstance(item, float) else str(item) for item in value)
    else:
        text = f"{value:g}" if isinstance(value, float) else str(value)
    return " ".join(w for w in (*(words[:-1] if unit else words), text, unit) if w)


def _wire_row(wire: Wire) -> tuple[str, ...]:
    a, b = wire.nodes
    return (wire.id, a, b, wire.colour, f"{wire.mm2:g}", f"{wire.metres:g}", f"{wire.ohm:.4f}")


# --- data -----------------------------------------------------------------------------


def _record(template: Template, circuit: Circuit) -> dict[str, object]:
    return {
        "circuit": circuit.name,
        "title": circuit.title,
        "summary": circuit.summary,
        "system_volts": circuit.system_volts,
        "topics": circuit.topics,
        "cautions": circuit.cautions,
        "settings": used_settings(template, circuit),
        "parameters": {p.name: _parameter_record(p) for p in template.parameters},
        "controls": {c.name: _control_record(c) for c in circuit.controls},
        "parts": {p.id: _part_record(circuit, p) for p in circuit.parts},
        "points": {node: _terminals(circuit, node) for node in circuit.nodes},
        "reference": circuit.reference,
        "feeds": dict(circuit.feeds),
    }


def _parameter_record(parameter: Parameter) -> dict[str, object]:
    record: dict[str, object] = {"default": parameter.default, "unit": parameter.unit}
    record |= {"about": parameter.about, "allowed": parameter.allowed()}
    for name in ("choices", "low", "high", "step"):
        if hasattr(parameter, name):
            value = getattr(parameter, name)
            record[name] = value if name == "choices" else float(value)
    return record


def _control_record(control: Control) -> dict[str, object]:
    return {
        "label": control.label,
        "positions": control.positions,
        "rest": control.rest,
        "by": control.by,
        "momentary": control.momentary,
    }


def _part_record(circuit: Circuit, part: Part) -> dict[str, object]:
    record: dict[str, object] = {
        "kind": part.kind,
        "name": part.name,
        "place": part.place,
        "access_minutes": part.access_minutes,
        "terminals": dict(zip(part.terminals, part.nodes, strict=True)),
    }
    if isinstance(part, Wire):
        record["ohm"] = part.ohm
    own = {f.name: getattr(part, f.name) for f in fields(part) if f.name not in SHARED}
    return record | {name: _plain(value) for name, value in own.items()}


def _plain(value: object) -> object:
    """Contacts as "30-87", everything else as it is."""
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return f"{value.a}-{value.b}" if hasattr(value, "a") and hasattr(value, "b") else value


def _terminals(circuit: Circuit, node: str) -> list[str]:
    return [f"{part}.{terminal}" for part, terminal in circuit.terminals_at.get(node, ())]
