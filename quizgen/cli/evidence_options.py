"""Options and words that `circuit suspects` and `circuit next-test` share."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from quizgen.cli.options import read_case
from quizgen.diagnosis.claims import Claim
from quizgen.diagnosis.evidence_file import read_evidence
from quizgen.diagnosis.suspects import Suspect, Suspects
from quizgen.diagnosis.suspects import suspects as find
from quizgen.diagnosis.worlds import severity
from quizgen.faults import describe

MOST_OHM = 40e3  # what agrees up to here agrees up to any resistance

observe_option = click.option(
    "--observe", "file", metavar="FILE", required=True, help="What was found, a .yaml file."
)
two_faults_option = click.option(
    "--two-faults", "double", is_flag=True, help="Also two faults at once."
)


def read_suspects(
    name: str, settings: Sequence[str], file: str, double: bool
) -> tuple[dict[str, object], Suspects]:
    """Settings used, and the suspects. Raises InputError for a wrong option or file."""
    case = read_case(name, settings, ())
    evidence = read_evidence(Path(file), case.circuit)
    return case.settings, find(case.circuit, evidence, double=double)


def nobody(found: Suspects) -> str:
    """What to say when nothing agrees."""
    return (
        f"None of {found.tried} causes agrees with all that was found. Check the findings one "
        "by one, and the settings; --two-faults tries two faults at once."
    )


def told(found: Suspects, suspect: Suspect) -> str:
    """The suspect in words, with the severities that agree."""
    if not suspect.cause.claims:
        return "nothing is wrong"
    words = [describe(found.circuit, c.usual, severity=False) for c in suspect.cause.claims]
    return "; and ".join(words) + _severities(suspect)


def bounds(suspect: Suspect) -> tuple[float, float] | None:
    """Lowest and highest added ohm, or percent of charge, that agree; None without degrees."""
    if not suspect.cause.is_graded:
        return None
    ends = [severity(f) for cell in suspect.cells for f in (*cell.near, *cell.far)]
    return min(ends), max(ends)


def _severities(suspect: Suspect) -> str:
    found = bounds(suspect)
    if found is None:
        return ""
    low, high = (f"{value:.2g}" if value < 100 else f"{value:.0f}" for value in found)
    claim: Claim = suspect.cause.claims[0]
    if claim.mode == "weak":
        return f" ({low} to {high} % charged)"
    if found[1] >= MOST_OHM:
        return f" ({low} Ω added, or more)"
    return f" ({low} to {high} Ω added)" if low != high else f" ({low} Ω added)"
