"""Putting a fault into a circuit: a new circuit, the old one untouched.

Parts that the fault leaves alone are the same objects as before. Two faults: inject twice;
the order does not matter.
"""

from __future__ import annotations

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown
from quizgen.circuit.components import Part
from quizgen.circuit.netlist import Circuit
from quizgen.faults.details import choices
from quizgen.faults.fault import Fault
from quizgen.faults.modes import FAULTLESS, MODES, Mode


def find_mode(circuit: Circuit, fault: Fault) -> tuple[Part, Mode]:
    """The part and the mode that a fault names.

    Raises InputError that names the parts of the circuit, or the modes of the part.
    """
    part = circuit.by_id.get(fault.part)
    if part is None or part.id.endswith("'"):  # a later piece of a wire that was cut
        ids = [p.id for p in circuit.parts if type(p) in MODES and not p.id.endswith("'")]
        raise InputError(
            f"fault {fault}: {circuit.name} has no part {shown(fault.part)}"
            f"{choices(fault.part, ids, 'part')}"
        )
    if type(part) in FAULTLESS:
        raise InputError(f"fault {fault}: {part.id} cannot fail: {FAULTLESS[type(part)]}")
    modes = {mode.name: mode for mode in MODES[type(part)]}
    if fault.mode not in modes:
        raise InputError(
            f"fault {fault}: {part.id} is a {part.kind.replace('_', ' ')} and has no mode "
            f"{shown(fault.mode)}{choices(fault.mode, modes, 'mode')}"
        )
    return part, modes[fault.mode]


def inject(circuit: Circuit, fault: Fault) -> Circuit:
    """The circuit with the fault in it.

    A short adds a `Bridge` of 0.005 ohm called `~` and the fault's text, from the place
    along the wire (default: its `to` end) to the reference, to the supply's plus pole, or
    to the other wire. A break or a short at a place inside a wire cuts it there: node
    `W5@0.3`, second piece `W5'`.

    Raises InputError for an unknown part, mode or detail, and when the part has a fault of
    that sort already.
    """
    part, mode = find_mode(circuit, fault)
    return mode.apply(circuit, part, fault)
