"""`quizgen circuit list`: the circuits that are shipped."""

from __future__ import annotations

import click

from quizgen.circuit.template import find_template, shipped_templates
from quizgen.cli.data import print_json
from quizgen.cli.options import json_option
from quizgen.cli.table import labelled


@click.command("list", short_help="Name the circuits that are shipped.")
@json_option
def list_circuits(as_json: bool) -> None:
    """Name the circuits that are shipped, with what each can teach."""
    templates = [find_template(name) for name in shipped_templates()]
    if as_json:
        print_json(
            [
                {
                    "name": t.name,
                    "title": t.title,
                    "parameters": len(t.parameters),
                    "topics": t.topics,
                }
                for t in templates
            ]
        )
        return
    width = max(len(t.name) for t in templates)
    for template in templates:
        lines = labelled(template.name, template.title, width + 1)
        lines += labelled("", f"{len(template.parameters)} parameters", width + 1)
        lines += labelled("", f"topics: {', '.join(template.topics)}", width + 1)
        click.echo("\n".join(lines))
