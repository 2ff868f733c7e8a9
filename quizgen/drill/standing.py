"""The machine as the student has left it, and what one reading on it costs."""

from __future__ import annotations

from dataclasses import dataclass, replace

from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.checks import MINUTES, TURN_MINUTES, places
from quizgen.instruments import Measurement, Shown, measure
from quizgen.solver.operating_point import Moves

OTHER_MINUTES = 1.0  # instruments without an entry of their own (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class Standing:
    """All moves so far, what is off or apart now, places reached, minutes used."""

    moves: Moves = ()
    turned: bool = False  # controls moved since the last reading
    apart: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    unplugged: tuple[str, ...] = ()
    reached: frozenset[str] = frozenset()
    minutes: float = 0.0
    unsafe: int = 0


def read(
    circuit: Circuit, standing: Standing, instrument: str, red: str, black: str
) -> tuple[Standing, Shown]:
    """A reading on `circuit` (its fault in it); an unsafe one is counted and costs no minutes.

    Raises InputError as `measure`.
    """
    shown = measure(
        circuit,
        Measurement(
            instrument=instrument, red=red, black=black, positions=standing.moves,
            apart=standing.apart, removed=standing.removed, unplugged=standing.unplugged,
        ),
    )  # fmt: skip
    if shown.refused:
        return replace(standing, unsafe=standing.unsafe + 1), shown
    nodes = [_node(circuit, end) for end in (red, black) if end]
    new = places(circuit, nodes, standing.reached) or ()
    use = MINUTES.get(instrument, OTHER_MINUTES) + (TURN_MINUTES if standing.turned else 0.0)
    after = replace(
        standing,
        turned=False,
        reached=standing.reached | {place for place, _ in new},
        minutes=standing.minutes + use + sum(minutes for _, minutes in new),
    )
    return after, shown


def _node(circuit: Circuit, end: str) -> str:
    """The node of a point on the machine all in one piece; of a wire its first end."""
    part = circuit.by_id.get(end)
    return part.nodes[0] if part is not None else circuit.point(end.replace("/", "."))
