"""Fixtures of the oracles' own tests."""

from tests.oracles.spice import ngspice

__all__ = ["ngspice"]
