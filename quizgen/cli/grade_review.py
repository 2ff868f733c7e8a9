"""`quizgen grade review`: what is doubtful on scanned sheets, decided by a person."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from quizgen.base.errors import InputError, Place
from quizgen.base.legible import legible
from quizgen.base.suggest import shown
from quizgen.cli.crop_text import crop_lines
from quizgen.cli.data import print_json
from quizgen.cli.grade_options import (
    grader,
    opened,
    points_text,
    set_argument,
    store_option,
    who_option,
)
from quizgen.cli.options import json_option
from quizgen.cli.review_desk import Desk
from quizgen.cli.table import labelled, table, wrapped
from quizgen.forms.problem_set import read_problem_set
from quizgen.grading.settling import Doubt, check_verdict
from quizgen.reports.review_page import write_review
from quizgen.reports.review_table import FilledIn, read_decided
from quizgen.reports.review_words import about, choices_of
from quizgen.store.gradebook import Recorded

PASS = 60  # percent; common practice, no source
SEEN = "as seen on the sheet"
LATER, STOP, LIKELY = ("", "later"), ("stop", "quit"), "="
TOO_FINE = "(too fine for a terminal: look at the paper, or at the page that --html writes)"
HELP = (
    "Write the answer as on the sheet (B, or A C, or 11.9; - for none), or one of the choices. "
    "= takes what is most likely, Enter leaves it for later, stop ends."
)


@click.command(short_help="Decide what is doubtful on scanned sheets.")
@set_argument
@store_option
@who_option
@click.option("--list", "only_list", is_flag=True, help="List what is open, ask nothing.")
@click.option(
    "--html",
    "page",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write a page with the pictures, and beside it a table to fill in.",
)
@click.option(
    "--from",
    "filled",
    metavar="FILE.csv",
    type=click.Path(path_type=Path),
    help="Take the decisions in such a table.",
)
@click.option(
    "--decide",
    "given",
    metavar="ID=DECISION",
    multiple=True,
    help="Decide one question, also one that was decided before.",
)
@click.option("--why", metavar="TEXT", default=SEEN, show_default=True, help="Why.")
@click.option(
    "--pass",
    "percent",
    metavar="PERCENT",
    default=PASS,
    show_default=True,
    type=click.FloatRange(0, 100),
    help="Points that pass: such doubts come first.",
)
@json_option
def review(
    set_file: Path, store_name: str | None, who: str | None, only_list: bool, page: Path | None,
    filled: Path | None, given: tuple[str, ...], why: str, percent: float, as_json: bool,
) -> None:  # fmt: skip
    """Decide what is doubtful on scanned sheets.

    "quizgen grade" reads sheets and guesses nothing: what it could not tell for certain waits
    here, with a picture, the ink of each circle, and the reason. In a terminal it asks one
    question after the other, whole pages first, then what decides between passing and failing.
    With --html it writes a page for a browser and a table; fill in the table and hand it over
    with --from.

    Each decision is kept with who, when and why, changes the points at once, and holds whenever
    the same page is graded again. "quizgen grade trail" shows them all.
    """
    problem_set = read_problem_set(set_file)
    with opened(set_file, store_name) as store:
        desk = Desk(set_file, problem_set, store, grader(who), percent / 100)
        if page:
            for path in write_review(problem_set, desk.open(), desk.crops(), page):
                click.echo(f"{path}: written")
        elif filled or given:
            _take(desk, filled, given, why)
        elif only_list or as_json or not sys.stdin.isatty():
            _list(desk, as_json)
        else:
            _ask_all(desk, why)


def _list(desk: Desk, as_json: bool) -> None:
    names = desk.problem_set.student_names
    doubts = desk.open()
    if as_json:
        print_json([_data(doubt) for doubt in doubts])
        return
    rows = [
        (d.id, about(d, names) + ("; decides pass or fail" if d.decides else ""),
         d.reason + (f"; most likely {d.candidate}" if d.candidate else ""))
        for d in doubts
    ]  # fmt: skip
    for row in rows:
        click.echo("\n".join((*labelled(row[0], row[1], 7), *labelled(" ", row[2], 7))))
    click.echo(f"{len(rows)} open" if rows else "nothing is open")


def _data(doubt: Doubt) -> dict[str, object]:
    return {
        "id": doubt.id, "asks": doubt.ask, "file": doubt.source.file, "page": doubt.source.place,
        "student": doubt.student, "form": doubt.form, "question": doubt.item or None,
        "reason": doubt.reason, "figures": doubt.figures, "likely": doubt.candidate,
        "choices": list(doubt.choices), "places": list(doubt.places), "decides_pass": doubt.decides,
    }  # fmt: skip


# --- decisions from a table or an option ----------------------------------------------------


def _take(desk: Desk, filled: Path | None, given: tuple[str, ...], why: str) -> None:
    """All of them or, when one makes no sense, none, with a line for each that does not."""
    known = {doubt.id: doubt for doubt in desk.everything()}
    rows = list(read_decided(filled)) if filled else []
    for text in given:
        name, equals, decision = (piece.strip() for piece in text.partition("="))
        if not equals or not decision:
            raise InputError(f"--decide {shown(text)}: write ID=DECISION")
        rows.append(FilledIn(id=name, decision=decision, why=why, line=0))
    problems, pairs, reasons = [], [], []
    for row in rows:
        try:
            doubt = known.get(row.id)
            if doubt is None:
                raise InputError(f"{shown(row.id)} is no question about this set's sheets")
            pairs.append((doubt, check_verdict(doubt, row.decision, desk.problem_set)))
            reasons.append(row.why or why)
        except InputError as error:
            where = Place(filled, row.line) if filled and row.line else f"--decide {row.id}"
            problems.append(f"{where}: {error}")
    if problems:
        for problem in problems[:-1]:
            click.echo(legible(f"quizgen: {problem}"), err=True)
        raise InputError(f"{problems[-1]}; nothing was decided")
    count = desk.decide(pairs, reasons)
    click.echo(f"{count} decided, {len(pairs) - count} as before, {len(desk.open())} open")
    _tell(desk.hand_on())


def _tell(recorded: tuple[Recorded, ...]) -> None:
    """What became of results."""
    rows = [
        (r.given.student, points_text(r.result), r.note or ("" if r.what == "same" else r.what))
        for r in recorded
    ]
    if rows:
        click.echo("\n".join(table(("student", "points", ""), rows)))


# --- one question after the other -----------------------------------------------------------


def _ask_all(desk: Desk, why: str) -> None:
    """Until nothing is open, or whoever decides has had enough. Each decision is kept at once."""
    names = desk.problem_set.student_names
    crops = desk.crops()
    passed: set[str] = set()
    click.echo("\n".join(wrapped(HELP)))
    try:
        while waiting := [doubt for doubt in desk.open() if doubt.subject not in passed]:
            doubt = waiting[0]
            _show(doubt, crops, names, len(waiting))
            verdict = _asked(desk, doubt)
            if verdict in STOP:
                break
            if verdict in LATER:
                passed.add(doubt.subject)
                continue
            reason = click.prompt("why", default=why)
            desk.decide([(doubt, verdict)], reason)
    finally:
        _tell(desk.hand_on())
        left = len(desk.open())
        click.echo(f"{left} open" if left else "nothing is open")


def _show(
    doubt: Doubt, crops: dict[tuple[str, str], bytes], names: dict[str, str], waiting: int
) -> None:
    click.echo()
    click.echo("\n".join(labelled(doubt.id, f"{about(doubt, names)}  ({waiting} open)", 7)))
    if doubt.decides:
        click.echo("  Decides between passing and failing.")
    click.echo("\n".join(wrapped(doubt.reason)))
    plain = (sys.stdout.encoding or "").casefold().replace("-", "") != "utf8"
    if doubt.ask != "answer":
        click.echo("\n".join(wrapped(TOO_FINE)))
    for piece in doubt.shown if doubt.ask == "answer" else ():
        if piece in crops:
            click.echo(
                "\n".join("  " + line for line in crop_lines(crops[piece], ascii_only=plain))
            )
    if doubt.figures:
        label = "ink in hundredths: " if doubt.ask == "answer" else ""
        click.echo("\n".join(wrapped(label + doubt.figures)))
    if doubt.choices:
        click.echo("\n".join(wrapped("choices: " + "; ".join(choices_of(doubt)))))
    if doubt.candidate:
        click.echo(f"  most likely (=): {doubt.candidate}")


def _asked(desk: Desk, doubt: Doubt) -> str:
    """A verdict that makes sense, or one of the words to go on or to stop."""
    while True:
        text = str(click.prompt("decision", default="", show_default=False)).strip()
        if text in LATER or text.casefold() in STOP:
            return text.casefold()
        if text == LIKELY and doubt.candidate:
            text = doubt.candidate
        try:
            return check_verdict(doubt, text, desk.problem_set)
        except InputError as error:
            click.echo(f"  {error}")
