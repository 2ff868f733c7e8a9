"""The process that looks over a student's shoulder during a hunt.

It plans the best course while the student works, and then follows the hunt's log: a line on its
standard input says that there is something new in it. When the hunt is over it writes the debrief,
pickled, and ends; it ends as well when there are no more lines. It changes nothing.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
from collections.abc import Iterable
from pathlib import Path

from quizgen.drill.hunt.course import plan_course
from quizgen.drill.hunt.debrief import Looking, look_back
from quizgen.drill.hunt.debrief_page import debrief_page
from quizgen.drill.hunt.field import field_of
from quizgen.drill.hunt.sitting import Sitting
from quizgen.drill.page import Page

NICER = 5  # the student's own readings come first where there is one core


def review(log: Path, news: Iterable[object]) -> Page | None:
    """The debrief of the hunt in `log`, looked at each time that `news` gives something.

    None if it stops before the hunt is over. Raises as `Sitting.resume`, CircuitError if a test
    cannot be solved.
    """
    sitting = Sitting.resume(log)
    looking = Looking(plan_course(sitting.case, field_of(sitting.case)))
    for _ in news:
        sitting.catch_up()
        for taken in sitting.hunt.taken[len(looking.looks) :]:
            looking.at(taken)
        if sitting.hunt.over:
            return debrief_page(look_back(sitting.hunt, looking))
    return None


def main() -> None:
    """Review the hunt whose log is named, as long as lines come."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the student's window
    if hasattr(os, "nice"):
        os.nice(NICER)
    page = review(Path(sys.argv[1]), sys.stdin.buffer)
    if page is not None:
        pickle.dump(page, sys.stdout.buffer)


if __name__ == "__main__":
    main()
