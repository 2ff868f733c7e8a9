"""Random bare networks for the solver's tests, and the same networks as exact edges.

A network is a circuit of resistors, batteries and ideal sources with reference node "0".
Voltages are multiples of 1/8 V, so that a loop of ideal sources either adds up exactly or
is out by an eighth at least: floats and fractions agree on what contradicts itself.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from fractions import Fraction
from math import inf

from hypothesis import strategies as st

from quizgen.circuit.components import Battery, Part, Resistor, Source
from quizgen.circuit.netlist import Circuit
from tests.oracles.exact import Edge, resistor, source

REFERENCE = "0"


def network(parts: Sequence[Part]) -> Circuit:
    """A circuit of these parts."""
    return Circuit(
        name="net", title="net", system_volts=12, parts=tuple(parts), reference=REFERENCE
    )


def edges_of(circuit: Circuit) -> list[Edge]:
    """One exact edge per part, in order; reciprocals of resistances are not rounded."""
    edges = []
    for part in circuit.parts:
        a, b = part.nodes
        match part:
            case Resistor():
                edges.append(resistor(a, b, part.ohm))
            case Source():
                edges.append(source(a, b, part.volts))
            case Battery():
                inside = resistor(a, b, part.internal_ohm)
                edges.append(Edge(a, b, inside.siemens, Fraction(part.emf_volts)))
            case _:
                raise AssertionError(f"{part.id} is not a part of a bare network")
    return edges


def _ohm(rng: random.Random, low: float, high: float, special: bool) -> float:
    kind = rng.random()
    if special and kind < 0.10:
        return 0.0
    if special and kind < 0.22:
        return inf
    return float(10 ** rng.uniform(low, high))


def random_network(
    rng: random.Random,
    nodes: int,
    parts: int,
    *,
    decades: tuple[float, float] = (-6, 15),
    special: bool = True,
    sources: int = 2,
) -> Circuit:
    """Resistances log-uniform over 10^`decades` ohm; `special` adds joints and opens.

    Also `sources` ideal sources anywhere and, with `special`, a battery for every eighth part.
    """
    names = [str(n) for n in range(nodes)]
    made: list[Part] = []
    for i in range(parts):
        ends = tuple(rng.sample(names, 2))
        ohm = _ohm(rng, *decades, special)
        if special and rng.random() < 1 / 8:
            emf = rng.randint(-200, 200) / 8
            made.append(Battery(id=f"GB{i}", nodes=ends, emf_volts=emf, internal_ohm=ohm))
        else:
            made.append(Resistor(id=f"R{i}", nodes=ends, ohm=ohm))
    for i in range(sources):
        ends = tuple(rng.sample(names, 2))
        made.append(Source(id=f"V{i}", nodes=ends, volts=rng.randint(-200, 200) / 8))
    return network(made)


def random_tree(rng: random.Random, nodes: int) -> Circuit:
    """What a vehicle circuit looks like: one supply, a tree of wires, loads back to ground.

    Wires are milliohms with a few opens and joints, loads 0.5 Ω to 10 MΩ (a meter).
    """
    made: list[Part] = [Battery(id="GB", nodes=("1", "0"), emf_volts=12.65, internal_ohm=0.01)]
    for n in range(2, nodes):
        ohm = rng.choice([inf, 0.0]) if rng.random() < 0.08 else 10 ** rng.uniform(-4, -1)
        made.append(Resistor(id=f"W{n}", nodes=(str(rng.randint(1, n - 1)), str(n)), ohm=ohm))
        if rng.random() < 0.5:
            ohm = 10 ** rng.uniform(-0.3, 7)
            made.append(Resistor(id=f"E{n}", nodes=(str(n), "0"), ohm=ohm))
    return network(made)


OHMS = st.one_of(
    st.just(0.0),
    st.just(inf),
    st.floats(-6, 15).map(lambda decade: float(10**decade)),
    st.sampled_from([1e-6, 1e-3, 1.0, 85.0, 1e7, 1e12, 1e15]),
)
EIGHTHS = st.integers(-200, 200).map(lambda n: n / 8)


@st.composite
def networks(draw: st.DrawFn) -> Circuit:
    """Up to nine nodes and sixteen parts of any value, joined in any way, also to themselves."""
    names = [str(n) for n in range(draw(st.integers(1, 9)))]
    ends = st.tuples(st.sampled_from(names), st.sampled_from(names))
    made: list[Part] = []
    for i in range(draw(st.integers(1, 16))):
        a_and_b = draw(ends)
        kind = draw(st.sampled_from(["R", "R", "R", "GB", "V"]))
        if kind == "R":
            made.append(Resistor(id=f"R{i}", nodes=a_and_b, ohm=draw(OHMS)))
        elif kind == "GB":
            made.append(
                Battery(
                    id=f"GB{i}", nodes=a_and_b, emf_volts=draw(EIGHTHS), internal_ohm=draw(OHMS)
                )
            )
        else:
            made.append(Source(id=f"V{i}", nodes=a_and_b, volts=draw(EIGHTHS)))
    return network(made)
