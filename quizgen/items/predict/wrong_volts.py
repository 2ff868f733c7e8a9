"""Voltages as wrong mental models expect them, computed on the same circuit.

Sources of the models: the lists of Engelhardt and Beichner (2004) and others, as numbered in
`templates/wording/misconceptions.yaml`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from quizgen.faults import describe
from quizgen.faults.wording import point_name
from quizgen.items.predict.probe import Line, Wrong
from quizgen.items.predict.scene import Scene
from quizgen.items.predict.stand import NO_AMPS, drop_words
from quizgen.items.sentences import volts_words
from quizgen.solver import OperatingPoint

Leads = tuple[str, str]
TELLING_VOLTS = 0.5  # a model that expects nearly the truth is no wrong model here


def shown_volts(point: OperatingPoint, leads: Leads) -> float:
    """What a meter that loads nothing shows; points that nothing joins show nothing."""
    return point.between(*leads) or 0.0


def wrong_volts(scene: Scene, leads: Leads) -> list[Wrong]:
    """What each wrong model that has a view of this reading expects, the likeliest first."""
    models = MODELS[scene.nature if scene.fault else "sound"]
    real = shown_volts(scene.real, leads)
    words = _words(scene, leads, real)
    found = []
    for model in models:
        for value in model(scene, leads):
            if abs(value - real) > TELLING_VOLTS:
                name = NAMES[model]
                would = volts_words(value)
                found.append(Wrong(value, name, Line(f"wrong_{name}", words | {"would": would})))
    return found


def _words(scene: Scene, leads: Leads, real: float) -> dict[str, str]:
    red, black = (point_name(scene.circuit, node, names=False) for node in leads)
    alone = leads[1] == scene.circuit.reference
    words = {
        "point": red,
        "where": f"at {red}" if alone else f"between {red} and {black}",
        "volts": volts_words(real),
        "claim": "nothing is wrong",
        "subject": "",
    }
    if scene.fault is not None:
        words["claim"] = describe(scene.circuit, scene.fault, severity=False, names=False)
        words["subject"] = scene.fault.part
    return words | drop_words(scene)


def _sound(scene: Scene, leads: Leads) -> float:
    return shown_volts(scene.sound, leads)


def one_wire(scene: Scene, leads: Leads) -> Iterator[float]:
    """M1: the way back does not matter, so a fault in it changes nothing."""
    if scene.side == "ground":
        yield _sound(scene, leads)


def no_current_no_voltage(scene: Scene, leads: Leads) -> Iterator[float]:
    """M8: where no current flows there is no voltage either."""
    frame = scene.circuit.reference
    if all(scene.paths.amps_at(node) < NO_AMPS for node in leads if node != frame):
        yield 0.0


def only_downstream(scene: Scene, leads: Leads) -> Iterator[float]:
    """M5: a fault changes only what comes after it."""
    if leads[0] in scene.before and leads[1] == scene.circuit.reference:
        yield _sound(scene, leads)


def passed_over(scene: Scene, leads: Leads) -> Iterator[float]:
    """The way from the supply to the leads is not traced, and the fault on it is missed."""
    yield _sound(scene, leads)


def equal_drop(scene: Scene, leads: Leads) -> Iterator[float]:
    """M3: two things in series take half each, whatever they are."""
    yield scene.supply / 2.0


def drop_for_level(scene: Scene, leads: Leads) -> Iterator[float]:
    """What is lost on the way is taken for what is left."""
    if leads[1] == scene.circuit.reference:
        yield scene.supply - shown_volts(scene.real, leads)


def level_for_drop(scene: Scene, leads: Leads) -> Iterator[float]:
    """What is left for the rest of the path is taken for what is lost here."""
    if leads[1] != scene.circuit.reference:
        yield scene.supply - shown_volts(scene.real, leads)


def unloaded_is_loaded(scene: Scene, leads: Leads) -> Iterator[float]:
    """M9: the meter is expected to show what it would with no current flowing."""
    if scene.side == "feed" and scene.added_amps > NO_AMPS:
        yield _sound(scene, leads)


def open_for_resistance(scene: Scene, leads: Leads) -> Iterator[float]:
    """A poor joint is taken for a break."""
    if scene.broken is not None and scene.added_amps > NO_AMPS:
        yield shown_volts(scene.broken, leads)


def clashing(scene: Scene, leads: Leads) -> Iterator[float]:
    """M4: current comes to the load from both sides, so both terminals are at supply."""
    if leads[1] == scene.circuit.reference and scene.paths.amps_at(leads[0]) > NO_AMPS:
        yield scene.supply


Model = Callable[[Scene, Leads], Iterator[float]]

NAMES: dict[Model, str] = {
    one_wire: "one-wire",
    no_current_no_voltage: "no-current-no-voltage",
    only_downstream: "only-downstream",
    passed_over: "fault-passed-over",
    equal_drop: "equal-drop",
    drop_for_level: "drop-for-level",
    level_for_drop: "level-for-drop",
    unloaded_is_loaded: "unloaded-is-loaded",
    open_for_resistance: "open-for-resistance",
    clashing: "clashing",
}
MODELS: dict[str, tuple[Model, ...]] = {
    "open": (one_wire, no_current_no_voltage, only_downstream, passed_over, equal_drop),
    "resistance": (
        one_wire, unloaded_is_loaded, only_downstream, open_for_resistance, drop_for_level,
        level_for_drop, equal_drop,
    ),
    "short": (no_current_no_voltage, passed_over, equal_drop),
    "other": (no_current_no_voltage, passed_over, equal_drop),
    "sound": (no_current_no_voltage, clashing, level_for_drop, equal_drop),
}  # fmt: skip
