"""`quizgen circuit suspects`: the faults that agree with what was found."""

from __future__ import annotations

import click

from quizgen.cli.data import print_json
from quizgen.cli.evidence_options import (
    bounds,
    nobody,
    observe_option,
    read_suspects,
    told,
    two_faults_option,
)
from quizgen.cli.options import json_option, name_argument, set_option
from quizgen.cli.table import table, wrapped
from quizgen.diagnosis.next_tests import uncertainty
from quizgen.diagnosis.suspects import Suspects


@click.command(short_help="Name the faults that agree with what was found.")
@name_argument
@observe_option
@set_option
@two_faults_option
@json_option
def suspects(name: str, file: str, settings: tuple[str, ...], double: bool, as_json: bool) -> None:
    """Name the faults that agree with everything that was found, the likeliest first.

    FILE says what was done and found, step by step:

    \b
    format: 1
    steps:
      - positions: {S1: on, S2: pressed}   # moved in this order
        sees: {M1: stopped, P9: bright}    # what each load does
        clicks: {K1: yes}                  # yes, no or buzzes
        readings:
          - {red: M1.1, shows: 12.5 V}     # voltmeter, black on the chassis
      - positions: {S2: released}
        readings:
          - {instrument: ohmmeter, red: M1.1, black: M1.2,
             unplugged: [GB1], shows: 0.5 Ω}

    A reading has red and shows, and may have black, instrument, and lists apart, removed and
    unplugged, as in `quizgen circuit measure`. Loads: lamps are dark, dim or bright; motors
    stopped, turns, turns slowly, turns backwards; heaters cold, lukewarm, hot; solenoids
    released, pulled; horns silent, weak, sounds; all may flash or come and go. A single step
    may stand without "steps".

    What is in doubt rules nothing out. Suspects of one group cannot be told apart by a voltmeter
    or by what the loads do. The share is what likelihood leaves to each.
    """
    used, found = read_suspects(name, settings, file, double)
    if as_json:
        print_json(_record(used, found))
    elif not found.listed:
        click.echo("\n".join(wrapped(nobody(found))))
    else:
        click.echo("\n".join(_lines(found)))


def _lines(found: Suspects) -> list[str]:
    count, groups = len(found.listed), len(found.groups)
    left_out = f" {found.left_out} unlikely pairs were not tried." if found.left_out else ""
    head = f"{count} of {found.tried} causes agree, in {groups} groups.{left_out}"
    rows = [
        (_percent(s.probability), str(s.group + 1), s.key, told(found, s)) for s in found.listed
    ]
    heads = ("share", "group", "suspect", "what is wrong")
    return [*wrapped(head), "", *table(heads, rows, right=(0, 1))]


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %" if share >= 0.001 else "< 0.1 %"


def _record(used: dict[str, object], found: Suspects) -> dict[str, object]:
    keys = [suspect.key for suspect in found.listed]
    return {
        "circuit": found.circuit.name,
        "settings": used,
        "tried": found.tried,
        "pairs_left_out": found.left_out,
        "uncertainty_bits": uncertainty(found),
        "suspects": [
            {
                "suspect": s.key,
                "claims": [
                    {"part": c.part, "mode": c.mode, "place": c.place} for c in s.cause.claims
                ],
                "probability": s.probability,
                "group": s.group,
                "severity": bounds(s),
                "description": told(found, s),
            }
            for s in found.listed
        ],
        "groups": [[keys[n] for n in group] for group in found.groups],
    }
