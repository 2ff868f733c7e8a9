"""The fault universe: every single fault worth considering in a circuit, with its weight."""

from __future__ import annotations

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown
from quizgen.circuit.components import Part
from quizgen.circuit.netlist import Circuit
from quizgen.faults.details import choices
from quizgen.faults.fault import Fault, WeightedFault
from quizgen.faults.modes import FAULTLESS, MODES
from quizgen.faults.survey import Survey


def universe(circuit: Circuit) -> tuple[WeightedFault, ...]:
    """The faults of every part, in the order of parts, then of modes, then of details.

    A part's own `weights` replace the default weight of the modes they name; 0 leaves a
    mode out. Raises InputError when they name a mode the part does not have.
    """
    survey = Survey(circuit)
    return tuple(found for part in circuit.parts for found in _faults_of(survey, part))


def _faults_of(survey: Survey, part: Part) -> list[WeightedFault]:
    if type(part) in FAULTLESS:
        return []
    own = dict(part.weights)
    modes = MODES[type(part)]
    for name in own:
        if name not in {mode.name for mode in modes}:
            raise InputError(
                f"{survey.circuit.name}: {part.id} has a weight for {shown(name)}, which is no "
                f"mode of it{choices(name, [mode.name for mode in modes], 'mode')}"
            )
    return [
        WeightedFault(Fault(part.id, mode.name, detail), weight * share)
        for mode in modes
        if (weight := own.get(mode.name, mode.weight)) > 0.0
        for detail, share in mode.usual(survey, part)
    ]
