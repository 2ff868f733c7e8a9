"""From a circuit to its operating point: exact, batched, with a history and a certificate."""

from quizgen.solver.history import Event
from quizgen.solver.operating_point import (
    BranchFlow,
    OperatingPoint,
    Phase,
    Solutions,
    solve,
    solve_cases,
)

__all__ = ["BranchFlow", "Event", "OperatingPoint", "Phase", "Solutions", "solve", "solve_cases"]
