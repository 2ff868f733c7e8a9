"""Instruments: what a person would read on a circuit, and which uses are unsafe."""

from quizgen.instruments.measure import INSTRUMENTS, measure, measure_many
from quizgen.instruments.measurement import Measurement, Shown, distinguishable

__all__ = [
    "INSTRUMENTS",
    "Measurement",
    "Shown",
    "distinguishable",
    "measure",
    "measure_many",
]
