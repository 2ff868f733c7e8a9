"""Where sums may be asked: the sound circuit in a few states, or with one poor joint in it."""

from __future__ import annotations

import random
from collections.abc import Iterator

from quizgen.diagnosis.claims import Claim, claims
from quizgen.faults import Fault, inject
from quizgen.items.calm import at_rest, burns
from quizgen.items.material import Material
from quizgen.items.places import ends
from quizgen.items.reckoning.problem import Setting
from quizgen.solver import OperatingPoint, solve_cases

MOST_STATES = 4  # looked at for one item
MOST_JOINTS = 6  # poor joints tried
OHMS = (0.06, 0.08, 0.12, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0,
        4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 80.0)  # fmt: skip
LEAST_AMPS = 0.05  # through a joint, or nobody notices its resistance


def sound_settings(material: Material, rng: random.Random) -> Iterator[Setting]:
    """The material's own state and a few others, those that stand still."""
    others = [s for s in material.states if s != material.moves]
    states = [material.moves, *rng.sample(others, min(MOST_STATES - 1, len(others)))]
    solutions = solve_cases([material.circuit], [(0, moves) for moves in states])
    for i, moves in enumerate(states):
        if _still(solutions.point(i)):
            yield Setting(point=solutions.point(i), moves=moves)


def poor_joints(sound: list[Setting], rng: random.Random) -> Iterator[Setting]:
    """One joint with a resistance that the current notices."""
    if not sound:
        return
    circuit, cases = sound[0].circuit, []
    worn = [claim for claim in claims(circuit) if claim.mode == "resistance"]
    for setting in sound:
        busy = [
            (claim, amps) for claim in worn if (amps := _passing(setting.point, claim)) > LEAST_AMPS
        ]
        for claim, current in rng.sample(busy, min(MOST_JOINTS, len(busy))):
            supply = circuit.system_volts
            fit = [ohm for ohm in OHMS if 0.06 * supply < ohm * current < 1.5 * supply]
            cases += [(setting, claim, ohm) for ohm in rng.sample(fit, min(2, len(fit)))]
    if not cases:
        return
    faults = [_worn(claim, ohm) for _, claim, ohm in cases]
    solutions = solve_cases(
        [inject(circuit, fault) for fault in faults],
        [(i, setting.moves) for i, (setting, _, _) in enumerate(cases)],
    )
    for i, (setting, claim, _) in enumerate(cases):
        if _still(solutions.point(i)):
            yield Setting(
                point=solutions.point(i), moves=setting.moves, fault=faults[i], claim=claim
            )


def _worn(claim: Claim, ohm: float) -> Fault:
    head = f"{claim.place}=" if claim.place else ""
    return Fault(claim.part, claim.mode, f"{head}{ohm:g}")


def _passing(point: OperatingPoint, claim: Claim) -> float:
    """Current through the place of a claim in the sound circuit; 0 if nobody can say."""
    a, b = ends(point.circuit, claim)
    part = point.circuit.by_id[claim.part]
    volts = point.between(a, b)
    if volts is None:
        return 0.0
    mine = [abs(f.amps) for f in point.flows(part) if abs(abs(f.volts or 0.0) - abs(volts)) < 1e-9]
    return max(mine, default=0.0)


def _still(point: OperatingPoint) -> bool:
    """At rest, beyond doubt, and nothing would burn."""
    return at_rest(point) and not burns(point) and not point.phases
