"""Faults: a table of modes by component kind, injection, the universe of a circuit, wording."""

from quizgen.faults.fault import Fault, WeightedFault, parse_fault
from quizgen.faults.inject import inject
from quizgen.faults.universe import universe
from quizgen.faults.wording import describe

__all__ = ["Fault", "WeightedFault", "describe", "inject", "parse_fault", "universe"]
