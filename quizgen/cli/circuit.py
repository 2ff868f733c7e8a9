"""The group `quizgen circuit`."""

from __future__ import annotations

import click

from quizgen.cli.lazy import LazyGroup


@click.group(
    cls=LazyGroup,
    lazy={
        "list": ("quizgen.cli.circuit_list:list_circuits", "Name the circuits that are shipped."),
        "show": ("quizgen.cli.circuit_show:show", "Show the parts and settings of a circuit."),
        "draw": ("quizgen.cli.circuit_draw:draw", "Draw the wiring diagram."),
        "check": ("quizgen.cli.circuit_check:check", "Check circuit files for design mistakes."),
        "solve": ("quizgen.cli.circuit_solve:solve", "Compute all voltages and currents."),
        "measure": ("quizgen.cli.circuit_measure:measure", "Read an instrument at two points."),
        "export": (
            "quizgen.cli.circuit_export:export",
            "Print a SPICE netlist, for others to check.",
        ),
        "faults": ("quizgen.cli.circuit_faults:faults", "List what can fail and what it does."),
        "suspects": (
            "quizgen.cli.circuit_suspects:suspects",
            "Name the faults that agree with what was found.",
        ),
        "next-test": (
            "quizgen.cli.circuit_next:next_test",
            "Say which test tells most for the time it takes.",
        ),
    },
)
def circuit() -> None:
    """Look at circuits, solve them, break them.

    A circuit is the name of a shipped one (see `quizgen circuit list`) or a .yaml file.
    """
