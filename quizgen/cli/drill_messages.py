"""What the drill and the maker of its questions say to each other, a line of JSON each."""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.drill.question import Question

FIRST = "*"


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """A question for a topic at a level, or the catalogue where `topic` is "".

    The topic `FIRST` is the first of the catalogue, for whoever does not know it yet. `seed` is the
    student's, in hexadecimal. `ascii_only` draws without box characters.
    """

    number: int = 0
    topic: str = ""
    level: str = ""
    seed: str = ""
    ascii_only: bool = False


@dataclass(frozen=True, kw_only=True)
class Reply:
    """A question, the levels of each topic, or what went wrong; `barren` if no question exists."""

    number: int = 0
    question: Question | None = None
    catalogue: dict[str, tuple[str, ...]] | None = None
    barren: bool = False
    error: str = ""
