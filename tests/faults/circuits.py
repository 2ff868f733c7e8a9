"""Hand-made circuits for the tests of faults and instruments; 12 V unless said otherwise."""

from __future__ import annotations

from quizgen.circuit import components as c
from quizgen.circuit.netlist import CHASSIS, Circuit, Control


def wire(number: str, start: str, end: str, mm2: float = 1.5, metres: float = 1.0) -> c.Wire:
    """A red wire between two nodes."""
    return c.Wire(id=number, nodes=(start, end), colour="RD", mm2=mm2, metres=metres)


def battery(volts: float = 12.6) -> c.Battery:
    """Plus at GB1.+, minus on the frame."""
    return c.Battery(id="GB1", nodes=("GB1.+", CHASSIS), emf_volts=volts, internal_ohm=0.01)


def fuse(number: str, amps: float, **more: object) -> c.Fuse:
    """Between the nodes NAME.1 and NAME.2."""
    return c.Fuse(id=number, nodes=(f"{number}.1", f"{number}.2"), amps=amps, **more)  # type: ignore[arg-type]


def contact(a: str, b: str) -> c.Contact:
    """A contact between two pins."""
    return c.Contact(a=a, b=b)


def toggle(name: str) -> c.Switch:
    """off, on: joins NAME.1 and NAME.2."""
    return c.Switch(
        id=name,
        nodes=(f"{name}.1", f"{name}.2"),
        pins=("1", "2"),
        positions=("off", "on"),
        closes=((), (contact("1", "2"),)),
        control=name,
    )


def ground(name: str) -> c.Ground:
    """A stud called NAME on the frame."""
    return c.Ground(id=name, nodes=(name, CHASSIS), name="left frame stud")


def circuit(name: str, *parts: c.Part, controls: tuple[Control, ...] = ()) -> Circuit:
    """A 12 V circuit; every hand switch becomes a control."""
    known = {k.name for k in controls}
    hands = tuple(
        Control(name=p.id, positions=p.positions, rest=p.positions[0])
        for p in parts
        if isinstance(p, c.Switch) and p.control == p.id and p.id not in known
    )
    return Circuit(name=name, title=name, system_volts=12.0, parts=parts, controls=controls + hands)


def one_lamp() -> Circuit:
    """Battery, 10 A fuse, switch, plug, 21 W lamp, ground stud; W1 to W5 in order."""
    return circuit(
        "one-lamp",
        battery(),
        fuse("F1", 10.0, name="lamp fuse"),
        toggle("S1"),
        c.Connector(
            id="X1",
            nodes=("X1.1a", "X1.1b", "X1.2a", "X1.2b"),
            cavities=("1", "2"),
            cavity_ohm=(0.003, 0.003),
        ),
        c.Lamp(id="E1", nodes=("E1.1", "E1.2"), watts=21.0, volts=13.5, name="work lamp"),
        ground("G1"),
        wire("W1", "GB1.+", "F1.1", 4.0, 0.5),
        wire("W2", "F1.2", "S1.1"),
        wire("W3", "S1.2", "X1.1a", metres=2.0),
        wire("W4", "X1.1b", "E1.1"),
        wire("W5", "E1.2", "X1.2b"),
        wire("W6", "X1.2a", "G1"),
    )


def pump_relay() -> Circuit:
    """Relay K1 feeds pump M1 through a 15 A fuse; button S1 grounds the coil, fed by F2."""
    return circuit(
        "pump-relay",
        battery(),
        fuse("F1", 15.0, name="pump fuse"),
        fuse("F2", 5.0, name="relay fuse"),
        c.Relay(
            id="K1",
            nodes=("K1.86", "K1.85", "K1.30", "K1.87"),
            suppression="diode",
            name="pump relay",
        ),
        toggle("S1"),
        c.Motor(
            id="M1",
            nodes=("M1.1", "M1.2"),
            volts=13.5,
            run_amps=8.0,
            stall_amps=40.0,
            name="pump",
        ),
        c.Splice(id="XS1", nodes=("XS1",)),
        ground("G1"),
        ground("G2"),
        wire("W1", "GB1.+", "XS1", 6.0),
        wire("W2", "XS1", "F1.1", 4.0),
        wire("W3", "XS1", "F2.1"),
        wire("W4", "F1.2", "K1.30", 2.5),
        wire("W5", "K1.87", "M1.1", 2.5, 2.0),
        wire("W6", "M1.2", "G1", 2.5),
        wire("W7", "F2.2", "K1.86", 1.0),
        wire("W8", "K1.85", "S1.1", 1.0, 3.0),
        wire("W9", "S1.2", "G2", 1.0),
    )


def shared_breaker() -> Circuit:
    """One self-resetting breaker feeds two switched lamps through splice XS1."""
    lamps = [
        c.Lamp(id=f"E{n}", nodes=(f"E{n}.1", f"E{n}.2"), watts=21.0, volts=13.5) for n in (1, 2)
    ]
    return circuit(
        "shared-breaker",
        battery(),
        c.Breaker(id="F1", nodes=("F1.1", "F1.2"), amps=10.0, reset="manual"),
        c.Splice(id="XS1", nodes=("XS1",)),
        toggle("S1"),
        toggle("S2"),
        *lamps,
        ground("G1"),
        wire("W1", "GB1.+", "F1.1", 4.0),
        wire("W2", "F1.2", "XS1"),
        wire("W3", "XS1", "S1.1"),
        wire("W4", "XS1", "S2.1"),
        wire("W5", "S1.2", "E1.1"),
        wire("W6", "S2.2", "E2.1"),
        wire("W7", "E1.2", "G1"),
        wire("W8", "E2.2", "G1"),
    )


def reversing_motor() -> Circuit:
    """One station; at rest both leads of the motor are grounded."""
    station = c.Switch(
        id="S1",
        nodes=("S1.30", "S1.1", "S1.2", "S1.31"),
        pins=("30", "1", "2", "31"),
        positions=("rest", "up", "down"),
        closes=(
            (contact("1", "31"), contact("2", "31")),
            (contact("30", "1"), contact("2", "31")),
            (contact("30", "2"), contact("1", "31")),
        ),
        control="S1",
    )
    return circuit(
        "reversing-motor",
        battery(),
        fuse("F1", 20.0),
        station,
        c.Motor(id="M1", nodes=("M1.1", "M1.2"), volts=13.5, run_amps=6.0, stall_amps=30.0),
        ground("G1"),
        wire("W1", "GB1.+", "F1.1", 4.0),
        wire("W2", "F1.2", "S1.30", 2.5),
        wire("W3", "S1.1", "M1.1", 2.5),
        wire("W4", "S1.2", "M1.2", 2.5),
        wire("W5", "S1.31", "G1", 2.5),
    )


def one_of_each() -> Circuit:
    """Every component kind once or more; nothing here needs to make sense."""
    loads: list[c.Part] = [
        c.LedLamp(id="E2", nodes=("E2.1", "E2.2"), watts=3, volts=12, forward_volts=6),
        c.Heater(id="E3", nodes=("E3.1", "E3.2"), watts=120, volts=12),
        c.Solenoid(id="Y1", nodes=("Y1.1", "Y1.2"), ohm=10, pull_in_volts=7),
        c.Horn(id="P1", nodes=("P1.1", "P1.2"), amps=4, volts=12, least_volts=8),
        c.Sender(
            id="B1", nodes=("B1.1", "B1.2"), control="tank", positions=("empty", "full"),
            ohms=(10.0, 180.0),
        ),
        c.Resistor(id="R1", nodes=("R1.1", "R1.2"), ohm=47.0),
        c.Diode(id="V1", nodes=("V1.1", "V1.2")),
    ]  # fmt: skip
    feeds = [wire(f"W1{i}", "F2.2", part.nodes[0]) for i, part in enumerate(loads)]
    returns = [wire(f"W2{i}", part.nodes[1], "G9") for i, part in enumerate(loads)]
    base = one_lamp()
    tank = Control(name="tank", positions=("empty", "full"), rest="full", by="condition")
    return circuit(
        "one-of-each",
        *base.parts,
        c.FusibleLink(id="F2", nodes=("GB1.+", "F2.2"), amps=40.0),
        c.Breaker(id="F3", nodes=("F2.2", "F3.2"), amps=10.0),
        c.Source(id="G8", nodes=("F3.2", "G8.-"), volts=0.0),
        c.ResistorPack(id="R2", nodes=("R2.1", "R2.2", "R2.3"), ohms=(1.0, 2.0)),
        c.Relay(id="K1", nodes=("F2.2", CHASSIS, "F3.2", "R2.1", "K1.87a"), contact="changeover"),
        c.Splice(id="XS1", nodes=("XS1",)),
        wire("W8", "R2.3", "XS1"),
        wire("W9", "XS1", CHASSIS),
        ground("G9"),
        *loads,
        *feeds,
        *returns,
        c.Bridge(id="~1", nodes=("K1.87a", "G8.-")),
        controls=(tank,),
    )


ALL = (one_lamp, pump_relay, shared_breaker, reversing_motor, one_of_each)
