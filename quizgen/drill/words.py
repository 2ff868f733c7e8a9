"""The drill's sentences, from `templates/wording/drill.yaml`.

Read here and not through `quizgen.items`, which loads circuits and faults: the first screen has to
be there at once.
"""

from __future__ import annotations

from datetime import timedelta
from functools import cache
from typing import Any

import yaml

from quizgen.base.paths import data_folder

FILE = "drill.yaml"


@cache
def _sentences() -> dict[str, Any]:
    text = (data_folder("templates") / "wording" / FILE).read_text(encoding="utf-8")
    table: dict[str, Any] = yaml.safe_load(text)
    return table


def say(key: str, /, **words: object) -> str:
    """The sentence called `key`, with `words` filled in."""
    return str(_sentences()[key]).format(**words)


def sayings(key: str) -> tuple[str, ...]:
    """The sentences of the list called `key`."""
    return tuple(str(text) for text in _sentences()[key])


def named(key: str) -> dict[str, str]:
    """The table called `key`: names and their sentences."""
    return {str(name): str(text) for name, text in _sentences()[key].items()}


def plain(name: str) -> str:
    """A topic or kind as words: "ground-side-switching" is "ground side switching"."""
    return name.replace("-", " ")


def capital(text: str) -> str:
    """`text` with its first letter as a capital."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """A problem as a sentence.

    >>> sentence("no part 'M9'; did you mean M1?"), sentence("name one part")
    ("No part 'M9'; did you mean M1?", 'Name one part.')
    """
    return capital(text) if text.endswith((".", "?", "!")) else f"{capital(text)}."


def level_words(level: str) -> str:
    """What a level asks for, in words."""
    return named("levels").get(level, level)


def listing(names: list[str] | tuple[str, ...], most: int = 4) -> str:
    """Names with commas; of many the first few and how many more.

    >>> listing(["a", "b", "c", "d", "e", "f"])
    'a, b, c, d and 2 more'
    """
    shown = ", ".join(names[:most])
    return f"{shown} and {len(names) - most} more" if len(names) > most else shown


def when(wait: timedelta) -> str:
    """How long from now, roughly.

    >>> [when(timedelta(seconds=s)) for s in (0, 60, 600, 7200, 200000)]
    ['now', 'in 1 minute', 'in 10 minutes', 'in 2 hours', 'in 2 days']
    """
    seconds = wait.total_seconds()
    if seconds <= 0:
        return "now"
    for size, name in ((86400, "day"), (3600, "hour"), (60, "minute")):
        if seconds >= size:
            count = round(seconds / size)
            return f"in {count} {name}{'s' if count > 1 else ''}"
    return "in less than a minute"
