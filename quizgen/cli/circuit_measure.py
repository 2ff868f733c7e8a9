"""`quizgen circuit measure`: what an instrument shows at two points."""

from __future__ import annotations

from math import isinf

import click

from quizgen.cli.data import print_json
from quizgen.cli.options import (
    Case,
    fault_option,
    json_option,
    name_argument,
    position_option,
    read_case,
    set_option,
)
from quizgen.cli.table import labelled
from quizgen.instruments import Measurement, Shown
from quizgen.instruments import measure as take

UNIT_WORDS = {"V": "volts", "A": "amps", "Ω": "ohm", "of rated voltage": "share_of_rated_volts"}
ON_ONE_WIRE = "clamp-ammeter"


@click.command(short_help="Read an instrument at two points.")
@name_argument
@click.option("--instrument", metavar="NAME", required=True, help="One of those named above.")
@click.option("--red", metavar="POINT", required=True, help="Where the red lead is.")
@click.option("--black", metavar="POINT", help="Where the black lead is; default the chassis.")
@click.option("--apart", metavar="CONNECTOR", multiple=True, help="Pull a connector apart first.")
@click.option("--removed", metavar="PART", multiple=True, help="Take a fuse, relay or lamp out.")
@click.option("--unplugged", metavar="PART", multiple=True, help="Take a part off its wires.")
@set_option
@position_option
@fault_option
@json_option
def measure(
    name: str,
    instrument: str,
    red: str,
    black: str | None,
    apart: tuple[str, ...],
    removed: tuple[str, ...],
    unplugged: tuple[str, ...],
    settings: tuple[str, ...],
    positions: tuple[str, ...],
    faults: tuple[str, ...],
    as_json: bool,
) -> None:
    """Read an instrument at two points.

    Instruments: voltmeter, voltmeter-2V, test-lamp, ohmmeter, self-powered-lamp, fused-jumper,
    ammeter, clamp-ammeter (around one wire: --red W5).

    A point is a terminal such as K1.87, or a splice, ground stud or named node by itself. Of a
    part that is off its wires M1/1 is its own terminal, M1.1 the end of the wire. An unsafe use
    is refused and the reason given.
    """
    case = read_case(name, settings, positions, faults)
    if black is None:
        black = "" if instrument == ON_ONE_WIRE else case.circuit.reference
    measurement = Measurement(
        instrument=instrument, red=red, black=black, positions=case.moves,
        apart=apart, removed=removed, unplugged=unplugged,
    )  # fmt: skip
    shown = take(case.circuit, measurement)
    if as_json:
        print_json(_record(case, measurement, shown))
    else:
        click.echo("\n".join(_lines(measurement, shown)))


def _record(case: Case, measurement: Measurement, shown: Shown) -> dict[str, object]:
    """Keys of figures end in their unit; null for OL and when refused."""
    unit = UNIT_WORDS.get(shown.unit, shown.unit)
    raw = shown.raw
    return {
        "circuit": case.circuit.name,
        "settings": case.settings,
        "faults": [str(fault) for fault in case.faults],
        "instrument": measurement.instrument,
        "red": measurement.red,
        "black": measurement.black,
        "positions": [{"control": c, "position": p} for c, p in measurement.positions],
        "apart": measurement.apart,
        "removed": measurement.removed,
        "unplugged": measurement.unplugged,
        "shown": shown.shown,
        f"raw_{unit}": raw,
        "overload": raw is not None and isinf(raw),
        f"lowest_{unit}": None if raw is None else shown.low,
        f"highest_{unit}": None if raw is None else shown.high,
        f"tolerance_{unit}": None if raw is None else shown.tolerance,
        f"resolution_{unit}": None if raw is None else shown.resolution,
        "warnings": shown.warnings,
        "doubts": shown.doubts,
        "refused": shown.refused,
    }


def _lines(measurement: Measurement, shown: Shown) -> list[str]:
    leads = f"red on {measurement.red}"
    leads += f", black on {measurement.black}" if measurement.black else ""
    lines = labelled(measurement.instrument, leads, 18)
    lines += labelled("refused", shown.refused, 18)
    lines += labelled("shows", shown.shown, 18)
    for warning in shown.warnings:
        lines += labelled("warning", warning, 18)
    for doubt in shown.doubts:
        lines += labelled("in doubt", doubt, 18)
    return lines
