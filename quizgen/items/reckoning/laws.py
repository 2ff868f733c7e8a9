"""Ohm's law and power, with what the meters show across and through one thing."""

from __future__ import annotations

import random
from collections.abc import Iterator

from quizgen.circuit import components as c
from quizgen.circuit.wire_data import MILLIOHM_PER_METRE
from quizgen.faults.wording import point_name
from quizgen.items.item import Figure
from quizgen.items.places import ends
from quizgen.items.reckoning.problem import (
    LEAST_CLAMPED_AMPS,
    Asked,
    Form,
    Reckoned,
    Setting,
    Shown,
    Slip,
    amps,
    plain,
    read,
    value_of,
    wire_in_series,
)
from quizgen.items.sentences import the

LEAST_MILLIOHM = 7.0  # of a wire: its two crimps are then under 3 % of it
LEAST_DROP = 0.03  # volts
MOST_2V = 1.9  # what the range of 2 V still shows
LEAST_READ_VOLTS = 2.0  # a tenth more or less is then 2.5 % at most


def nominal(setting: Setting) -> Figure:
    """The nominal voltage, which a careless reader takes for every voltage."""
    return Figure(name="nominal", value=setting.circuit.system_volts, unit="V")


# --- the drop along a wire, or there and back ------------------------------------------------


def _drops(setting: Setting, rng: random.Random) -> Iterator[Asked]:
    wires = [p for p in setting.circuit.parts if isinstance(p, c.Wire) and _long_enough(p)]
    for wire in wires:
        if setting.fault is None and abs(amps(setting.point, wire)) >= LEAST_CLAMPED_AMPS:
            yield from _drop_along(setting, (wire,))
    for load in setting.circuit.parts:
        if setting.fault is None and isinstance(load, c.LOADS):
            pair = _there_and_back(setting, load, wires)
            if pair:
                yield from _drop_along(setting, pair)


def _long_enough(wire: c.Wire) -> bool:
    return MILLIOHM_PER_METRE[wire.mm2] * wire.metres >= LEAST_MILLIOHM


def _there_and_back(
    setting: Setting, load: c.Part, wires: list[c.Wire]
) -> tuple[c.Wire, c.Wire] | None:
    """A wire at each side of a load, both with its current and with nothing else's."""
    current = amps(setting.point, load)
    if len(load.nodes) != 2 or abs(current) < LEAST_CLAMPED_AMPS:
        return None
    found = [
        [w for w in wires if node in w.nodes and abs(abs(amps(setting.point, w)) - abs(current))
         < 0.005 * abs(current)]
        for node in load.nodes
    ]  # fmt: skip
    return (found[0][0], found[1][0]) if found[0] and found[1] else None


def _drop_along(setting: Setting, wires: tuple[c.Wire, ...]) -> Iterator[Asked]:
    exact = sum(abs(setting.point.flows(w)[0].volts or 0.0) for w in wires)
    if exact < LEAST_DROP:
        return
    given = tuple(
        figure
        for w in wires
        for figure in (
            Figure(name=f"{w.id}.milliohm_per_metre", value=MILLIOHM_PER_METRE[w.mm2],
                   unit="mΩ/m"),
            Figure(name=f"{w.id}.metres", value=round(w.metres, 3), unit="m"),
        )
    )  # fmt: skip
    words = {"wire": f"wire {wires[0].id}", "other": f"wire {wires[-1].id}"}
    for n, w in enumerate(wires, 1):
        words |= {f"metres{n}": f"{round(w.metres, 3):g}", f"mm{n}": f"{w.mm2:g}",
                  f"milliohm{n}": f"{MILLIOHM_PER_METRE[w.mm2]:g}"}  # fmt: skip
    yield Asked(
        quantity="drop:" + "+".join(w.id for w in wires),
        about=wires[0].id,
        leads=(setting.measured("clamp-ammeter", wires[0].id),),
        exact=exact,
        given=given,
        words=words,
        variant="pair" if len(wires) > 1 else "",
    )


def _wire_milliohm(asked: Asked) -> list[tuple[float, float]]:
    """(mΩ/m, m) of each wire of the sum."""
    values = [figure.value for figure in asked.given]
    return list(zip(values[::2], values[1::2], strict=True))


def _reckon_drop(asked: Asked, shown: Shown) -> Reckoned:
    wires = _wire_milliohm(asked)
    milliohm = sum(per * metres for per, metres in wires)
    per_metre = sum(per for per, _ in wires)
    current, value = shown[0], shown[0] * milliohm / 1000.0
    way = " + ".join(f"{per:g} mΩ/m × {metres:g} m" for per, metres in wires)
    working = f"{way} = {plain(milliohm)} mΩ; {read(current)} A × {plain(milliohm / 1000.0)} Ω"
    first = wires[0][0] * wires[0][1]
    slips = [
        Slip("length-forgotten", current * per_metre / 1000.0,
             f"{read(current)} A × {plain(per_metre)} mΩ"),
        Slip("decimal-slip", value * 10.0, f"{read(current)} A × {plain(milliohm / 100.0)} Ω"),
        Slip("decimal-slip", value / 10.0, f"{read(current)} A × {plain(milliohm / 1e4)} Ω"),
    ]  # fmt: skip
    if len(wires) > 1:
        slips.append(Slip("one-wire", current * first / 1000.0,
                          f"{read(current)} A × {plain(first)} mΩ"))  # fmt: skip
    else:
        slips.append(
            Slip("return-counted", 2.0 * value, f"2 × {read(current)} A × {plain(milliohm)} mΩ")
        )
    return Reckoned(value, working, tuple(slips))


def _would_drop(asked: Asked, shown: Shown, value: float) -> dict[str, str]:
    milliohm = sum(per * metres for per, metres in _wire_milliohm(asked))
    return {
        "milliohm": plain(milliohm),
        "would": f"{plain(1000.0 * value / milliohm)} A",
        "found": f"{read(shown[0])} A",
    }


DROP = Form(
    name="drop", unit="V", tolerance=0.05, find=_drops, reckon=_reckon_drop, would=_would_drop
)


# --- the resistance of a poor joint ----------------------------------------------------------


def _resistances(setting: Setting, rng: random.Random) -> Iterator[Asked]:
    if setting.claim is None:
        return
    part = setting.circuit.by_id[setting.claim.part]
    a, b = ends(setting.circuit, setting.claim)
    volts = setting.point.between(a, b)
    if volts is None or abs(volts) < 10 * LEAST_DROP:
        return
    a, b = (a, b) if volts > 0 else (b, a)
    wire = _wire_through(setting, part, a, b)
    if wire is None or MOST_2V < abs(volts) < LEAST_READ_VOLTS:
        return
    current = abs(amps(setting.point, wire))
    yield Asked(
        quantity=f"resistance:{a},{b}",
        about=part.id,
        leads=(
            setting.measured("voltmeter-2V" if abs(volts) <= MOST_2V else "voltmeter", a, b),
            setting.measured("clamp-ammeter", wire.id),
        ),
        exact=abs(volts) / current,
        given=(nominal(setting),),
        words=_between(setting, a, b) | {"part": the(part)},
    )


def _wire_through(setting: Setting, part: c.Part, a: str, b: str) -> c.Wire | None:
    """The wire itself, or one at either end that carries what passes the joint."""
    if isinstance(part, c.Wire):
        wire: c.Wire | None = part
    else:
        passing = [f.amps for f in setting.point.flows(part) if f.volts is not None]
        volts = setting.point.between(a, b) or 0.0
        mine = [f for f in setting.point.flows(part) if abs(abs(f.volts or 0.0) - volts) < 1e-9]
        wire = wire_in_series(setting.point, part, mine[0].amps) if passing and mine else None
    enough = wire is not None and abs(amps(setting.point, wire)) >= LEAST_CLAMPED_AMPS
    return wire if enough else None


def _between(setting: Setting, a: str, b: str) -> dict[str, str]:
    return {
        "a": point_name(setting.circuit, a, names=False),
        "b": point_name(setting.circuit, b, names=False),
    }


def _reckon_resistance(asked: Asked, shown: Shown) -> Reckoned:
    volts, current = shown
    system = value_of(asked.given, "nominal")
    slips = (
        Slip("nominal-for-measured", system / current, f"{system:g} V ÷ {read(current)} A"),
        Slip("product-for-quotient", volts * current, f"{read(volts)} × {read(current)}"),
        Slip("inverted", current / volts, f"{read(current)} ÷ {read(volts)}"),
        Slip("drop-for-level", (system - volts) / current,
             f"({system:g} V − {read(volts)} V) ÷ {read(current)} A"),
    )  # fmt: skip
    return Reckoned(volts / current, f"{read(volts)} V ÷ {read(current)} A", slips)


def _would_resistance(asked: Asked, shown: Shown, value: float) -> dict[str, str]:
    volts, current = shown
    return {"current": f"{read(current)} A", "would": f"{plain(value * current)} V",
            "found": f"{read(volts)} V"}  # fmt: skip


RESISTANCE = Form(
    name="resistance", unit="Ω", tolerance=0.05,
    find=_resistances, reckon=_reckon_resistance, would=_would_resistance,
)  # fmt: skip


# --- the power that a load takes -------------------------------------------------------------


def rated_watts(part: c.Part) -> float | None:
    """Watts on the data sheet; None for what has none."""
    match part:
        case c.Lamp() | c.Heater():
            return part.watts
        case c.Motor():
            return part.volts * part.run_amps
        case _:
            return None


def _powers(setting: Setting, rng: random.Random) -> Iterator[Asked]:
    for part in setting.circuit.parts:
        rated = rated_watts(part)
        if rated is None:
            continue
        flow = setting.point.flows(part)[0]
        wire = wire_in_series(setting.point, part, flow.amps)
        if wire is None or abs(flow.amps) < LEAST_CLAMPED_AMPS or flow.volts is None:
            continue
        if abs(flow.volts) < LEAST_READ_VOLTS:
            continue
        a, b = part.nodes if flow.volts > 0 else part.nodes[::-1]
        yield Asked(
            quantity=f"power:{part.id}",
            about=part.id,
            leads=(
                setting.measured("voltmeter", a, b),
                setting.measured("clamp-ammeter", wire.id),
            ),
            exact=abs(flow.amps * flow.volts),
            given=(nominal(setting), Figure(name=f"{part.id}.watts", value=round(rated, 1),
                                            unit="W")),
            words={"load": the(part)},
        )  # fmt: skip


def _reckon_power(asked: Asked, shown: Shown) -> Reckoned:
    volts, current = shown
    system = value_of(asked.given, "nominal")
    rated = asked.given[1].value
    slips = (
        Slip("nominal-for-measured", system * current, f"{system:g} V × {read(current)} A"),
        Slip("rated-for-actual", rated, "what the data sheet has", taken=True),
        Slip("drop-for-level", (system - volts) * current,
             f"({system:g} V − {read(volts)} V) × {read(current)} A"),
        Slip("quotient-for-product", volts / current, f"{read(volts)} ÷ {read(current)}"),
    )  # fmt: skip
    return Reckoned(volts * current, f"{read(volts)} V × {read(current)} A", slips)


def _would_power(asked: Asked, shown: Shown, value: float) -> dict[str, str]:
    volts, current = shown
    return {"volts": f"{read(volts)} V", "would": f"{plain(value / volts)} A",
            "found": f"{read(current)} A"}  # fmt: skip


POWER = Form(
    name="power", unit="W", tolerance=0.05, find=_powers, reckon=_reckon_power, would=_would_power
)


# --- the current of something whose resistance is known --------------------------------------


def known_ohm(part: c.Part) -> float | None:
    """Resistance by the data sheet of what obeys Ohm's law; None for what does not."""
    match part:
        case c.Solenoid() | c.Resistor():
            return part.ohm
        case c.Relay():
            return part.coil_ohm
        case c.Heater():
            return part.volts**2 / part.watts
        case _:
            return None


def _currents(setting: Setting, rng: random.Random) -> Iterator[Asked]:
    for part in setting.circuit.parts:
        ohm = known_ohm(part)
        if not ohm or ohm == float("inf"):
            continue
        flow = setting.point.flows(part)[0]
        if flow.volts is None or abs(flow.volts) < LEAST_READ_VOLTS:
            continue
        a, b = part.nodes[:2] if flow.volts > 0 else part.nodes[1::-1]
        printed = float(plain(ohm))
        yield Asked(
            quantity=f"current:{part.id}",
            about=part.id,
            leads=(setting.measured("voltmeter", a, b),),
            exact=abs(flow.amps),
            given=(nominal(setting), Figure(name=f"{part.id}.ohm", value=printed, unit="Ω")),
            words={"load": the(part), "ohm": f"{printed:g}"},
            variant="coil" if isinstance(part, c.Relay) else "",
        )


def _reckon_current(asked: Asked, shown: Shown) -> Reckoned:
    volts = shown[0]
    system, ohm = value_of(asked.given, "nominal"), asked.given[1].value
    value = volts / ohm
    slips = [
        Slip("nominal-for-measured", system / ohm, f"{system:g} V ÷ {ohm:g} Ω"),
        Slip(
            "drop-for-level",
            (system - volts) / ohm,
            f"({system:g} V − {read(volts)} V) ÷ {ohm:g} Ω",
        ),
        Slip("inverted", ohm / volts, f"{ohm:g} ÷ {read(volts)}"),
        Slip("product-for-quotient", ohm * volts, f"{ohm:g} × {read(volts)}"),
    ]
    slips += [
        Slip("decimal-slip", value * 10.0, f"{read(volts)} V ÷ {plain(ohm / 10.0)} Ω"),
        Slip("decimal-slip", value / 10.0, f"{read(volts)} V ÷ {plain(ohm * 10.0)} Ω"),
    ]
    return Reckoned(value, f"{read(volts)} V ÷ {ohm:g} Ω", tuple(slips))


def _would_current(asked: Asked, shown: Shown, value: float) -> dict[str, str]:
    ohm = asked.given[1].value
    return {"ohm": f"{ohm:g} Ω", "would": f"{plain(value * ohm)} V", "found": f"{read(shown[0])} V"}


CURRENT = Form(
    name="current", unit="A", tolerance=0.05,
    find=_currents, reckon=_reckon_current, would=_would_current,
)  # fmt: skip
