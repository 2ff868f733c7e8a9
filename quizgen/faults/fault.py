"""A fault as a record and as text: `PART:MODE` or `PART:MODE:DETAIL`.

What the modes are and what a detail means for each is in `quizgen.faults.modes`. A fault
knows nothing of a circuit: whether it fits one is seen when it is injected.
"""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.base.errors import InputError

# Modes whose detail is, or ends in, a number. "2.0" and "2" must be one fault, not two.
NUMBERED = frozenset(
    {"resistance", "wrong-rating", "wrong-lamp", "weak", "short-to-ground", "short-to-supply"}
)


@dataclass(frozen=True, order=True)
class Fault:
    """One thing that is wrong with one part.

    `detail` says where or how much: added ohm, a cavity, a contact, a place along a wire.

    >>> str(Fault("W5", "resistance", "2.0"))
    'W5:resistance:2'
    """

    part: str
    mode: str
    detail: str = ""

    def __post_init__(self) -> None:
        if self.mode in NUMBERED:
            object.__setattr__(self, "detail", _plain_number(self.detail))

    def __str__(self) -> str:
        return ":".join(piece for piece in (self.part, self.mode, self.detail) if piece)


@dataclass(frozen=True)
class WeightedFault:
    """A fault and how likely it is, relative to the others of its circuit."""

    fault: Fault
    weight: float


def parse_fault(text: str) -> Fault:
    """The fault written as `text`.

    Raises InputError when the text has no part or no mode.

    >>> parse_fault("S1:resistance:30-1=2")
    Fault(part='S1', mode='resistance', detail='30-1=2')
    """
    part, _, rest = text.strip().partition(":")
    mode, _, detail = rest.partition(":")
    if not part or not mode:
        raise InputError(
            f"fault {text!r}: write PART:MODE or PART:MODE:DETAIL, "
            "such as W5:open, W5:resistance:2 or F1:blown"
        )
    return Fault(part, mode, detail)


def _plain_number(detail: str) -> str:
    """The detail with the number after the last `=` written the short way."""
    where, equals, number = detail.rpartition("=")
    try:
        return f"{where}{equals}{float(number):g}"
    except ValueError:
        return detail
