"""Ohmmeter readings worth predicting: a part out of its holder, with its fault or without."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from quizgen.circuit import components as c
from quizgen.instruments.ohmmeter import display_ohm
from quizgen.items.act import Act
from quizgen.items.predict.probe import Line, Probe, Wrong
from quizgen.items.predict.scene import Scene
from quizgen.items.sentences import the

OL = inf
GONE = {"open", "blown", "burned-out", "coil-open"}
SHORT = {"shorted", "coil-shorted"}


def ohm_probes(scene: Scene) -> Iterator[Probe]:
    """A relay's coil, a lamp, a heater, a fuse: isolated, in good order or with the told fault."""
    if scene.fault is None:
        for part in scene.circuit.parts:
            if isinstance(part, c.Lamp):
                yield from _lamp(scene, part)
        return
    part = scene.circuit.part(scene.fault.part)
    if not isinstance(part, c.Relay | c.Lamp | c.Heater | c.Fuse | c.Solenoid):
        return
    if scene.fault.mode in GONE:
        yield _probe(scene, part, OL, "ohm_open", _open_wrongs(part))
    elif scene.fault.mode in SHORT:
        yield _probe(scene, part, 0.0, "ohm_shorted", _short_wrongs(part))


def nominal_ohm(part: c.Part) -> float:
    """What the figures on a part promise; a lamp's are those of its hot filament."""
    match part:
        case c.Relay():
            return part.coil_ohm
        case c.Lamp() | c.Heater():
            return part.volts**2 / part.watts
        case c.Solenoid():
            return part.ohm
        case _:
            return 0.0


def sound_ohm(part: c.Part) -> float:
    """What the meter shows of a sound one: a filament is measured cold."""
    ohm = nominal_ohm(part)
    return ohm / part.cold_ratio if isinstance(part, c.Lamp) else ohm


def _open_wrongs(part: c.Part) -> tuple[Wrong, ...]:
    words = {"part": the(part)}
    nominal = sound_ohm(part)
    found = [Wrong(0.0, "nothing-for-open", Line("wrong_nothing-for-open", words))]
    if nominal > 1.0:
        line = Line("wrong_marking-believed", words | {"would": display_ohm(nominal).shown})
        found.append(Wrong(nominal, "marking-believed", line))
    return tuple(found)


def _short_wrongs(part: c.Part) -> tuple[Wrong, ...]:
    words = {"part": the(part), "would": display_ohm(sound_ohm(part)).shown}
    return (
        Wrong(OL, "nothing-for-open", Line("wrong_open-for-nothing", words)),
        Wrong(sound_ohm(part), "marking-believed", Line("wrong_marking-believed", words)),
    )


def _lamp(scene: Scene, lamp: c.Lamp) -> Iterator[Probe]:
    hot, cold = nominal_ohm(lamp), sound_ohm(lamp)
    words = {"part": the(lamp), "would": display_ohm(hot).shown, "ohm": display_ohm(cold).shown}
    yield _probe(
        scene, lamp, cold, "ohm_cold",
        (
            Wrong(hot, "hot-for-cold", Line("wrong_hot-for-cold", words)),
            Wrong(OL, "unplugged-is-open", Line("wrong_unplugged-is-open", words)),
            Wrong(0.0, "load-is-a-wire", Line("wrong_load-is-a-wire", words)),
        ),
    )  # fmt: skip


def _probe(scene: Scene, part: c.Part, ohm: float, sort: str, wrong: tuple[Wrong, ...]) -> Probe:
    ends = [f"{part.id}/{t}" for t in ("86", "85")]
    if not isinstance(part, c.Relay):
        ends = [f"{part.id}/{t}" for t in part.terminals]
    supplies = [p.id for p in scene.circuit.parts if isinstance(p, c.Battery)]
    away = (part.id,)
    removed = away if isinstance(part, c.Relay | c.Fuse | c.Lamp) else ()
    unplugged = (*supplies, *(away if not removed else ()))
    act = Act(
        instrument="ohmmeter", red=ends[0], black=ends[1], moves=(), removed=removed,
        unplugged=unplugged,
    )  # fmt: skip
    words = {
        "part": the(part),
        "ohm": display_ohm(ohm).shown,
        "nominal": f"{nominal_ohm(part):g} Ω",
    }
    says = (Line(f"plate_{part.kind}", words | _plate(part)),) if nominal_ohm(part) else ()
    return Probe(act=act, value=ohm, sort=sort, why=(Line(sort, words),), wrong=wrong, says=says)


def _plate(part: c.Part) -> dict[str, str]:
    """What stands on the part."""
    if isinstance(part, c.Lamp | c.Heater):
        return {"watts": f"{part.watts:g} W", "rated": f"{part.volts:g} V"}
    return {}
