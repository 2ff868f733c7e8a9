"""`quizgen drill erase`: delete all that is kept of a student."""

from __future__ import annotations

import click


@click.command(short_help="Delete all that is kept of a student.")
@click.option("--student", metavar="ID", default="", help="Whose record.")
@click.option("--yes", is_flag=True, help="Do not ask.")
def erase(student: str, yes: bool) -> None:
    """Delete all that the drill keeps of a student: answers, hunts, sets in progress, figures.

    It asks first. What was exported or handed in before stays where it is.
    """
    import shutil

    from quizgen.base.errors import OutsideError
    from quizgen.drill.home import NOBODY, home
    from quizgen.drill.words import say

    folder = home(student)
    if not folder.is_dir():
        click.echo(say("erase_none", path=folder))
        return
    files = sum(path.is_file() for path in folder.rglob("*"))
    click.echo(say("erase_what", path=folder, files=files, who=student or NOBODY))
    if not yes and not click.confirm(say("erase_ask"), default=False):
        click.echo(say("erase_kept"))
        return
    try:
        shutil.rmtree(folder)
    except OSError as error:
        raise OutsideError(f"{folder}: cannot be deleted ({error.strerror or error})") from None
    click.echo(say("erased", path=folder))
