"""The group `quizgen drill`; without a command it starts practice."""

from __future__ import annotations

from pathlib import Path

import click

from quizgen.cli.lazy import LazyGroup


@click.group(
    short_help="Practise in the terminal.",
    cls=LazyGroup,
    invoke_without_command=True,
    lazy={
        "hunt": ("quizgen.cli.drill_hunt:hunt", "Find a hidden fault with instruments."),
        "status": ("quizgen.cli.drill_status:status", "Say what is due, strong and weak."),
        "export": ("quizgen.cli.drill_export:export", "Write the record for an instructor."),
        "erase": ("quizgen.cli.drill_erase:erase", "Delete all that is kept of a student."),
    },
)
@click.option("--topic", "topics", multiple=True, metavar="TOPIC",
              help="Practise this topic; may stand several times.")  # fmt: skip
@click.option("--circuit", metavar="CIRCUIT", default="",
              help="Practise on this circuit alone; also a .yaml file of your own.")  # fmt: skip
@click.option("--pack", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False),
              help="Answer the set of your course, without feedback.")  # fmt: skip
@click.option("--out", metavar="FILE", type=click.Path(path_type=Path),
              help="With --pack: file or folder for what you hand in.")  # fmt: skip
@click.option("--student", metavar="ID", default="",
              help="Your id, where several use this account; each has a record.")  # fmt: skip
@click.option("--open", "open_figures", is_flag=True,
              help="Write each diagram to a file for a browser.")  # fmt: skip
@click.option("--plain", is_flag=True, help="For screen readers: line by line, diagrams in words.")
@click.option("--ascii", "ascii_only", is_flag=True, help="Draw without box characters.")
@click.pass_context
def drill(
    context: click.Context,
    topics: tuple[str, ...],
    circuit: str,
    pack: Path | None,
    out: Path | None,
    student: str,
    open_figures: bool,
    plain: bool,
    ascii_only: bool,
) -> None:
    """Practise, question by question, with reasons at once.

    Without a command practice starts: type the letter of an answer and press Enter; ? tells what
    else can be typed. Everything is kept as soon as it is typed, and quit loses nothing. All keys
    are those of the keyboard, and answers may come from a file: quizgen drill < answers.txt
    """
    if context.invoked_subcommand is not None:
        _no_options_before(context)
        return
    if pack is not None:
        _none_of(context, "topics", "circuit")
        if open_figures:
            raise click.UsageError("--open is for practice; with --pack type open at a question")
        from quizgen.cli.drill_pack import answer_pack

        answer_pack(pack, out, student, plain, ascii_only)
        return
    if out is not None:
        raise click.UsageError("--out is for --pack; quizgen drill export has one of its own")
    from quizgen.cli.drill_practice import Wishes, practise

    practise(
        Wishes(
            student=student, topics=topics, circuit=circuit, plain=plain,
            ascii_only=ascii_only, open_figures=open_figures,
        )
    )  # fmt: skip


def _none_of(context: click.Context, *names: str) -> None:
    """Options that choose what to practise say nothing where the instructor has chosen."""
    for parameter in context.command.params:
        if parameter.name in names and context.params[parameter.name]:
            raise click.UsageError(f"{parameter.opts[0]} is for practice, not for --pack")


def _no_options_before(context: click.Context) -> None:
    """An option before a command would go unheard, and `erase` would take another student's."""
    for parameter in context.command.params:
        name = parameter.name or ""
        if context.get_parameter_source(name) is not click.core.ParameterSource.DEFAULT:
            command = context.invoked_subcommand
            raise click.UsageError(f"{parameter.opts[0]} stands before {command}; put it behind")
