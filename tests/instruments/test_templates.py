"""Instruments anywhere on the shipped circuits, faults and preparations at random."""

from __future__ import annotations

import random

import pytest

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.faults import inject, universe
from quizgen.instruments import INSTRUMENTS, Measurement, measure

CERTIFICATE = 1e-9  # relative Kirchhoff residual


def anywhere(circuit: Circuit, instrument: str, rng: random.Random) -> Measurement:
    """Two different points, controls moved at random, now and then a part out."""
    red, black = rng.sample(circuit.nodes, 2)
    if instrument == "clamp-ammeter":
        red, black = rng.choice([p.id for p in circuit.parts if isinstance(p, c.Wire)]), ""
    own_cells = instrument in ("ohmmeter", "self-powered-lamp")
    fuses = [p.id for p in circuit.parts if isinstance(p, c.Fuse)]
    plugs = [p.id for p in circuit.parts if isinstance(p, c.Connector)]
    return Measurement(
        instrument=instrument,
        red=red,
        black=black,
        positions=tuple((k.name, rng.choice(k.positions)) for k in circuit.controls),
        unplugged=("GB1",) if own_cells else (),
        removed=tuple(f for f in fuses if rng.random() < 0.2),
        apart=tuple(x for x in plugs if rng.random() < 0.2),
    )


@pytest.mark.parametrize("name", shipped_templates())
def test_every_instrument_reads_or_refuses_anywhere(name: str) -> None:
    """A display or a reason, and currents that balance with the instrument on the circuit."""
    rng = random.Random(name)
    template = find_template(name)
    for instrument in INSTRUMENTS:
        circuit = template.build(template.draw(rng))
        circuit = inject(circuit, rng.choice(universe(circuit)).fault)
        shown = measure(circuit, anywhere(circuit, instrument, rng))
        assert bool(shown.shown) != bool(shown.refused)
        if shown.point is not None:
            assert shown.point.solutions.certificate().max() < CERTIFICATE
