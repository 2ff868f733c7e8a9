"""Fixtures of the solver's tests."""

from tests.oracles.spice import ngspice

__all__ = ["ngspice"]
