"""Taking a measurement: prepare, clip on, set the controls, close the clip, read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown as quoted
from quizgen.base.suggest import suggest
from quizgen.circuit.netlist import Circuit
from quizgen.instruments.ammeter import ClampAmmeter, SeriesAmmeter
from quizgen.instruments.continuity_lamp import ContinuityLamp
from quizgen.instruments.fused_jumper import FusedJumper
from quizgen.instruments.instrument import CLIP, Instrument, Reading
from quizgen.instruments.lamp_tester import LampTester
from quizgen.instruments.measurement import Measurement, Shown
from quizgen.instruments.ohmmeter import Ohmmeter
from quizgen.instruments.setup import prepare
from quizgen.instruments.voltmeter import Voltmeter
from quizgen.solver import OperatingPoint, solve_cases

INSTRUMENTS: dict[str, Instrument] = {
    "voltmeter": Voltmeter(),
    "voltmeter-2V": Voltmeter(decimals=3, most_volts=1.999),
    "test-lamp": LampTester(),
    "ohmmeter": Ohmmeter(),
    "self-powered-lamp": ContinuityLamp(),
    "fused-jumper": FusedJumper(),
    "ammeter": SeriesAmmeter(),
    "clamp-ammeter": ClampAmmeter(),
}


def measure(
    circuit: Circuit,
    measurement: Measurement,
    instruments: Mapping[str, Instrument] = INSTRUMENTS,
) -> Shown:
    """What the instrument shows on `circuit` (its fault already in it).

    An unsafe use gives `refused`, a doubtful one `warnings`. Raises InputError for an unknown
    instrument, point, part, control or position, CircuitError for a circuit that cannot be
    solved.
    """
    return measure_many([circuit], measurement, instruments)[0]


def measure_many(
    circuits: Sequence[Circuit],
    measurement: Measurement,
    instruments: Mapping[str, Instrument] = INSTRUMENTS,
) -> tuple[Shown, ...]:
    """`measure` on many variations of one circuit, solved together. Raises as `measure`."""
    instrument = instruments.get(measurement.instrument)
    if instrument is None:
        raise InputError(
            f"no instrument {quoted(measurement.instrument)}"
            f"{suggest(measurement.instrument, instruments)}"
        )
    setups = [_setup(circuit, instrument, measurement) for circuit in circuits]
    before = measurement.positions
    cases = []
    for i, setup in enumerate(setups):
        after = (*before, (CLIP, "on")) if CLIP in setup.circuit.by_control else before
        cases += [(i, before), (i, after)]
    solutions = solve_cases([s.circuit for s in setups], cases)
    return tuple(
        _look(
            setup,
            instrument,
            measurement.instrument,
            solutions.point(2 * i),
            solutions.point(2 * i + 1),
        )
        for i, setup in enumerate(setups)
    )


@dataclass(frozen=True)
class _Setup:
    """A circuit with the instrument on it, and the nodes of the leads."""

    circuit: Circuit
    red: str
    black: str


def _setup(circuit: Circuit, instrument: Instrument, measurement: Measurement) -> _Setup:
    ready = prepare(circuit, measurement)
    if isinstance(instrument, ClampAmmeter):
        red, black = measurement.red, measurement.black
    else:
        red, black = _lead(ready, measurement.red), _lead(ready, measurement.black)
        if red == black:
            raise InputError(
                f"{circuit.name}: both leads are on {red}; put them on two different points"
            )
    return _Setup(instrument.fit(ready, red, black), red, black)


def _lead(circuit: Circuit, text: str) -> str:
    """The node of a lead; a terminal of a part that is off its wires stays the wire's end."""
    part_id, _, terminal = text.rpartition(".")
    part = circuit.by_id.get(part_id)
    if part is None or terminal not in part.terminals:
        return circuit.point(text)
    node = part.node(terminal)
    if node != f"{part_id}/{terminal}":
        return node
    if text not in circuit.terminals_at:
        raise InputError(
            f"{circuit.name}: nothing is left at {text} with {part_id} off; "
            f"its own terminal is {node}"
        )
    return text


def _look(
    setup: _Setup, instrument: Instrument, name: str, bare: OperatingPoint, point: OperatingPoint
) -> Shown:
    red, black = setup.red, setup.black
    refused = instrument.objection(bare, red, black)
    if refused:
        return Shown(instrument=name, refused=refused, unit=instrument.unit)
    points = [phase.point for phase in point.phases] or [point]
    readings = [instrument.read(p, red, black) for p in points]
    return replace(
        _combined(readings),
        instrument=name,
        unit=instrument.unit,
        warnings=instrument.warnings(bare, red, black),
        doubts=(*point.ambiguous, *dict.fromkeys(r.doubt for r in readings if r.doubt)),
        point=point,
    )


def _combined(readings: list[Reading]) -> Shown:
    """One reading, or while the circuit cycles all of them in turn."""
    raws = [r.raw for r in readings]
    return Shown(
        instrument="",
        shown=", then ".join(dict.fromkeys(r.shown for r in readings)),
        raw=raws[0],
        low=min(raws),
        high=max(raws),
        tolerance=max(r.tolerance for r in readings),
        resolution=max(r.resolution for r in readings),
    )
