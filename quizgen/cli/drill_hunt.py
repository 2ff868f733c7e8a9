"""`quizgen drill hunt`: find a hidden fault with instruments that cost time."""

from __future__ import annotations

import hashlib
import shutil
import sys
import uuid
from collections.abc import Callable
from contextlib import suppress
from os.path import realpath
from pathlib import Path

import click

from quizgen.base.errors import CircuitError, InputError
from quizgen.cli.drill_reviewing import Reviewing
from quizgen.cli.drill_window import ROWS, Window, ascii_only, open_window
from quizgen.cli.progress import progress_line
from quizgen.drill.home import HUNTS, home, make_private
from quizgen.drill.hunt import telling, typed
from quizgen.drill.hunt.case import ANY, LEVELS, Wish
from quizgen.drill.hunt.engine import REPAIR, Act
from quizgen.drill.hunt.sitting import Sitting
from quizgen.drill.hunt.words import minutes, say
from quizgen.drill.page import NARROW, Page, Para
from quizgen.drill.words import sentence
from quizgen.scenario.scenario import find_scenario

SCENARIO = "brindlemere"


@click.command(short_help="Find a hidden fault with instruments.")
@click.option("--circuit", metavar="NAME", default="",
              help="Hunt on this circuit; also a .yaml file of your own.")  # fmt: skip
@click.option("--topic", metavar="TOPIC", default="", help="Hunt on a circuit of this topic.")
@click.option("--level", metavar="LEVEL", default=ANY,
              help=f"{', '.join(LEVELS)} or {ANY}: how many suspects to begin with.")  # fmt: skip
@click.option("--new", "fresh", is_flag=True, help="Begin another hunt; the open one is kept.")
@click.option("--seed", metavar="LABEL", default="", help="The same label gives the same hunt.")
@click.option("--log", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False),
              help="Keep the hunt in this file, and go on with it if it is there.")  # fmt: skip
@click.option("--scenario", metavar="NAME", default=SCENARIO, help="Whose machines.")
@click.option("--student", metavar="ID", default="", help="Your id, as in quizgen drill.")
@click.option("--plain", is_flag=True, help="For screen readers: line by line, diagrams in words.")
@click.option("--ascii", "no_boxes", is_flag=True, help="Draw without box characters.")
def hunt(
    circuit: str, topic: str, level: str, fresh: bool, seed: str, log: Path | None, scenario: str,
    student: str, plain: bool, no_boxes: bool,
) -> None:  # fmt: skip
    """Find a hidden fault with instruments, in as few minutes of the machine's time as you can.

    You get a machine, what its driver says, and the diagram. Turn switches, watch, measure,
    unplug, and in the end name what you would repair. Then you see what each of your readings
    ruled out, beside the cheapest order of tests. Type help for all that can be typed.

    Every act is kept at once. A hunt that was left goes on where it stood; --new begins another.
    Lines may come from a file: quizgen drill hunt < lines.txt
    """
    wish = Wish(label=seed or uuid.uuid4().hex, circuit=_named(circuit), topic=topic, level=level)
    asked = fresh or bool(circuit or topic or level != ANY)
    window = open_window(plain)
    if log is not None:
        path = log
    else:
        hunts = make_private(home(student), HUNTS)
        path = _log(hunts, wish if seed else None, asked, fresh)
    if fresh and log is not None and log.exists():
        raise InputError(f"{log}: there is a file of that name; --new needs another one")
    sitting, going_on = _sitting(wish, path, scenario)
    _Play(window, sitting, ascii_only(no_boxes)).run(going_on)


def _named(circuit: str) -> str:
    """A shipped circuit by its name, a file by its whole path: the hunt may go on elsewhere."""
    path = Path(circuit.strip())
    return realpath(path) if path.suffix in (".yaml", ".yml") else circuit.strip()


def _log(hunts: Path, named: Wish | None, asked: bool, fresh: bool) -> Path:
    """The file of the hunt that is open, or of a new one; a labelled hunt has its own.

    A hunt that is over has its file set aside, so the one that is open needs no searching.
    """
    if named is not None and not fresh:
        wishes = "\n".join((named.label, named.circuit, named.topic, named.level))
        return hunts / f"open-{hashlib.sha256(wishes.encode()).hexdigest()[:12]}.jsonl"
    found = sorted(hunts.glob("open-*.jsonl"), key=lambda p: p.stat().st_mtime, reverse=True)
    return found[0] if found and not asked else hunts / f"open-{uuid.uuid4().hex[:12]}.jsonl"


def _sitting(wish: Wish, log: Path, scenario: str) -> tuple[Sitting, bool]:
    """The hunt in the file, or a new one; and whether it goes on.

    A file without one whole line is of a hunt that was killed before anything was told.
    """
    if log.exists() and b"\n" in log.read_bytes():
        return Sitting.resume(log), True
    with progress_line() as progress:
        progress("Bringing a machine in")
        return Sitting.start(log, wish, find_scenario(scenario), scenario), False


class _Play:
    """One sitting: lines in, pages out."""

    def __init__(self, window: Window, sitting: Sitting, no_boxes: bool) -> None:
        self.window = window
        self.sitting = sitting
        self.no_boxes = no_boxes
        self.reviewing: Reviewing | None = None

    def run(self, going_on: bool) -> None:
        """Until the fault is named, the student stops, or no more lines come."""
        _complete(lambda before: typed.completions(self.sitting.hunt, before))
        over = self.sitting.hunt.over
        told = (Para(say("over_already")),) if over else None
        self.window.show(told or telling.opening(self.sitting.hunt, going_on))
        if _somebody_types() and not over:  # of a file all lines are there at once
            self.reviewing = Reviewing(self.sitting.log)
        try:
            if not over:
                self.window.converse(self._prompt, self._take, self._goodbye)
            if self.sitting.hunt.over:
                self._end()
        finally:
            if self.reviewing:
                self.reviewing.close()

    def _prompt(self) -> str:
        return say("ask", minutes=minutes(self.sitting.hunt.standing.minutes))

    def _goodbye(self) -> None:
        if not self.sitting.hunt.over:
            self.window.show((Para(say("goodbye")),))

    def _take(self, line: str) -> bool:
        """One line; False when the student stops or the fault has been named."""
        try:
            wanted = typed.read_line(line, self.sitting.hunt)
            if isinstance(wanted, Act):
                outcome = self.sitting.do(wanted)
                if self.reviewing:
                    self.reviewing.news()
                if wanted.do != REPAIR:
                    self.window.show(telling.told(self.sitting.hunt, wanted, outcome))
            elif wanted is not None:
                if wanted.what == typed.QUIT:
                    return False
                self.window.show(self._tell(wanted))
        except (InputError, CircuitError) as error:
            problem = str(error).removeprefix(f"{self.sitting.case.circuit.name}: ")
            self.window.show((Para(sentence(problem)),))
        return not self.sitting.hunt.over

    def _tell(self, wanted: typed.Tell) -> Page:
        hunt = self.sitting.hunt
        match wanted.what:
            case typed.LOOK:
                from quizgen.cli.hunt_diagram import look_page  # drawing is not needed to start

                size = shutil.get_terminal_size((NARROW, ROWS))
                return look_page(
                    hunt.case.circuit, wanted.args, size.columns, size.lines, self.no_boxes,
                    self.window.plain,
                )  # fmt: skip
            case typed.STATE:
                return telling.state_page(hunt)
            case typed.INFO:
                return telling.info_page(hunt, wanted.args)
            case typed.PAST:
                return telling.past_page(hunt)
        return telling.help_page()

    def _end(self) -> None:
        with progress_line() as progress:
            progress("Looking back")
            page = (self.reviewing.debrief() if self.reviewing else None) or self._debrief()
        self.window.show((*page, Para(say("again"))))
        log = self.sitting.log
        if log.name.startswith("open-"):
            log.replace(log.with_name(log.name.replace("open-", "over-", 1)))

    def _debrief(self) -> Page:
        """Worked out here and now, which takes some seconds."""
        from quizgen.drill.hunt.debrief import look_back
        from quizgen.drill.hunt.debrief_page import debrief_page

        return debrief_page(look_back(self.sitting.hunt))


def _somebody_types() -> bool:
    return sys.stdin is not None and sys.stdin.isatty()


def _complete(words: Callable[[str], list[str]]) -> None:
    """Tab completes commands, parts and terminals, where somebody types and the system has it."""
    if not _somebody_types():
        return
    with suppress(ImportError):
        import readline

        def complete(text: str, number: int) -> str | None:
            before = readline.get_line_buffer()[: readline.get_begidx()]
            low = text.lower()
            fitting = [w for w in words(before) if w.lower().startswith(low)]
            return f"{fitting[number]} " if number < len(fitting) else None

        readline.set_completer_delims(" ")
        readline.set_completer(complete)
        readline.parse_and_bind("tab: complete")
