"""Getting a machine ready for a measurement: connectors apart, parts off their wires."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from quizgen.base.errors import InputError
from quizgen.circuit.components import Bridge, Connector, Ground, Splice
from quizgen.circuit.netlist import Circuit
from quizgen.instruments.measurement import Measurement


def prepare(circuit: Circuit, measurement: Measurement) -> Circuit:
    """The circuit after the measurement's preparation.

    A part off its wires keeps working among nodes of its own, `M1/1`, `M1/2`; the wires keep
    theirs. Raises InputError for a part that cannot be taken off or apart.
    """
    pulled = [_apart(circuit, part_id) for part_id in measurement.apart]
    return loosen(
        circuit.with_parts(changed=pulled), (*measurement.removed, *measurement.unplugged)
    )


def _apart(circuit: Circuit, part_id: str) -> Connector:
    part = circuit.part(part_id)
    if not isinstance(part, Connector):
        known = " ".join(p.id for p in circuit.parts if isinstance(p, Connector)) or "none"
        raise InputError(
            f"{circuit.name}: {part_id} is no connector and cannot be pulled apart; "
            f"connectors: {known}"
        )
    return replace(part, apart=True)


def loosen(circuit: Circuit, part_ids: Iterable[str]) -> Circuit:
    """The circuit with parts taken off their wires. Raises InputError where that cannot be."""
    loose = []
    for part_id in dict.fromkeys(part_ids):
        part = circuit.part(part_id)
        if isinstance(part, Splice | Ground | Bridge):
            raise InputError(
                f"{circuit.name}: {part_id} is a {part.kind} and cannot be taken off; "
                "name a fuse, relay, load, wire or battery"
            )
        nodes = tuple(f"{part_id}/{terminal}" for terminal in part.terminals)
        loose.append(replace(part, nodes=nodes))
    return circuit.with_parts(changed=loose)
