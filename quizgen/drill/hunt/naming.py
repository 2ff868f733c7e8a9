"""What a student names in the end: a part, the cavity of a connector, perhaps how it fails."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim, claims
from quizgen.faults import Fault


@dataclass(frozen=True)
class Named:
    """A place to repair. `cavity` of a connector; `mode` "" if it was not said."""

    part: str
    cavity: str = ""
    mode: str = ""

    def fits(self, claim: Claim) -> bool:
        """The claim is about this place, and fails in this way if one was said."""
        here = claim.part == self.part or (_of_two_wires(claim) and claim.place == self.part)
        return (
            here
            and (not self.cavity or claim.place == self.cavity)
            and (not self.mode or claim.mode == self.mode)
        )

    def mends(self, fault: Fault) -> bool:
        """Repairing this place does away with the fault, whatever way it fails."""
        if fault.mode in TWO_WIRES and fault.detail == self.part:
            return True
        cavity = fault.detail.partition("=")[0]
        return fault.part == self.part and (not self.cavity or cavity == self.cavity)


def place(circuit: Circuit, fault: Fault) -> tuple[str, str]:
    """Where a fault is mended: the part, and of a connector the cavity.

    >>> from quizgen.circuit.template import find_template
    >>> place(find_template("blower-pack").build(), Fault("X1", "resistance", "2=5"))
    ('X1', '2')
    """
    plug = isinstance(circuit.part(fault.part), c.Connector)
    return fault.part, fault.detail.partition("=")[0] if plug else ""


TWO_WIRES = ("short-to", "swapped")


def _of_two_wires(claim: Claim) -> bool:
    return claim.mode in TWO_WIRES


def read_named(circuit: Circuit, words: Sequence[str]) -> Named:
    """What `words` name: a part, then a cavity or a way of failing in any order.

    Raises InputError for a part that cannot fail, a connector without its cavity, an unknown way.
    """
    pieces = [piece for word in words for piece in word.split(":") if piece]
    if not pieces:
        raise InputError("name the part to repair, such as W5, or X1 and a cavity")
    part = circuit.part(pieces[0])
    possible = [claim for claim in claims(circuit) if claim.part == part.id]
    if not possible:
        raise InputError(f"{part.id} cannot fail here; name another part")
    cavities = part.cavities if isinstance(part, c.Connector) else ()
    modes = dict.fromkeys(claim.mode for claim in possible)
    cavity = mode = ""
    for piece in pieces[1:]:
        if piece in cavities:
            cavity = piece
        elif piece in modes:
            mode = piece
        else:
            raise InputError(
                f"{part.id}: {shown(piece)} is unknown{suggest(piece, [*cavities, *modes])}"
            )
    if cavities and not cavity:
        raise InputError(
            f"{part.id} is a connector; say which cavity as well: {' '.join(cavities)}"
        )
    return Named(part.id, cavity, mode)
