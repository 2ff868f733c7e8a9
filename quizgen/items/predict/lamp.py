"""Test lamp readings worth predicting: where a filament and a voltmeter part company."""

from __future__ import annotations

import random
from collections.abc import Iterator

from quizgen.circuit import components as c
from quizgen.faults.wording import point_name
from quizgen.instruments import Measurement, Shown, measure_many
from quizgen.items.act import Act
from quizgen.items.predict.probe import Line, Probe, Wrong
from quizgen.items.predict.scene import Scene
from quizgen.items.sentences import the, volts_words

LAMP_WATTS = 3.0
MOST_POINTS = 3
NEARLY_ALL, HARDLY_ANY = 0.85, 0.1  # shares of the supply
SHOWN = {"dark": "dark", "glows dim": "dim", "lit bright": "bright"}
STAND_INS = {"dark": 0.0, "dim": 0.45, "bright": 1.0}  # shares for levels a model expects


def lamp_probes(scene: Scene, rng: random.Random) -> Iterator[Probe]:
    """Some points at the loads, the lamp's clip on a clean frame."""
    if scene.fault is None:
        return
    acts = list(_acts(scene))
    for act in rng.sample(acts, min(len(acts), MOST_POINTS)):
        lamp, meter = (_shown(scene, act, name) for name in ("test-lamp", "voltmeter"))
        if lamp.shown not in SHOWN or lamp.doubts or lamp.warnings or meter.raw is None:
            continue
        yield from _probe(scene, act, lamp, meter.raw)


def _acts(scene: Scene) -> Iterator[Act]:
    circuit, moves = scene.circuit, scene.material.moves
    loads = [p for p in circuit.parts if isinstance(p, c.Lamp | c.Motor | c.Heater | c.Horn)]
    near = [n for p in loads for n in p.nodes if n != circuit.reference]
    near = [n for n in near if abs((scene.real.volts(n) or 0) - (scene.sound.volts(n) or 0)) > 1.0]
    for node in dict.fromkeys(near):
        yield Act(instrument="test-lamp", red=node, black=circuit.reference, moves=moves)
    for load in loads:
        node = load.nodes[0]
        if node == f"{load.id}.{load.terminals[0]}" and node in circuit.nodes:
            yield Act(
                instrument="test-lamp", red=node, black=circuit.reference, moves=moves,
                unplugged=(load.id,),
            )  # fmt: skip


def _shown(scene: Scene, act: Act, instrument: str) -> Shown:
    asked = Measurement(
        instrument=instrument, red=act.red, black=act.black, positions=act.moves,
        unplugged=act.unplugged,
    )  # fmt: skip
    return measure_many([scene.real.circuit], asked)[0]


def _probe(scene: Scene, act: Act, lamp: Shown, volts: float) -> Iterator[Probe]:
    level = SHOWN[lamp.shown]
    share = volts / scene.supply if scene.supply else 0.0
    need = LAMP_WATTS / (28.0 if scene.circuit.system_volts > 18.0 else 13.5)
    on_the_way = _on_the_way(scene, act)
    starved = scene.added_ohm * need > 2.0 * scene.supply
    was_live = (scene.sound.volts(act.red) or 0.0) > NEARLY_ALL * scene.supply
    words = {
        "point": point_name(scene.circuit, act.red, names=False),
        "volts": volts_words(volts),
        "ohm": f"{scene.added_ohm:g} Ω",
        "most": f"{scene.supply / (scene.added_ohm or 1.0):.2f} A",
        "need": f"{need:.2f} A",
        "lost": volts_words(need * scene.added_ohm),
        "subject": scene.fault.part if scene.fault else "",
    }
    if level == "dark" and share > NEARLY_ALL and starved and on_the_way:
        why, wrong = "lamp_starved", (("bright", "unloaded-is-loaded"), ("dim", "equal-drop"))
    elif level == "dark" and abs(share) < HARDLY_ANY and was_live:
        why, wrong = "lamp_dead", (("bright", "fault-passed-over"), ("dim", "equal-drop"))
    elif level == "bright" and share > NEARLY_ALL:
        if 0.0 < need * scene.added_ohm < HARDLY_ANY * scene.supply and on_the_way:
            why, wrong = "lamp_held", (("dark", "open-for-resistance"), ("dim", "equal-drop"))
        else:
            return
    else:
        through = _through(scene, act)
        if level != "dim" or not through:
            return
        why = "lamp_shares"
        wrong = (("dark", "one-wire"), ("bright", "unloaded-is-loaded"))
        words["load"] = through
    yield Probe(
        act=act, value=float(lamp.raw or 0.0), sort=why, why=(Line(why, words),),
        wrong=tuple(
            Wrong(STAND_INS[x], name, Line(f"lamp_{name}", words)) for x, name in wrong
        ),
    )  # fmt: skip


def _on_the_way(scene: Scene, act: Act) -> bool:
    """The told fault's part lies between the supply and the point."""
    way = scene.paths.to_supply(act.red) or ()
    return scene.fault is not None and scene.fault.part in {k.part for k in way}


def _through(scene: Scene, act: Act) -> str:
    """The one load through which the point has its supply, where a break lets no other flow."""
    if scene.nature != "open" or act.unplugged:
        return ""
    users = scene.paths.users(scene.paths.to_supply(act.red) or ())
    return the(users[0]) if len(users) == 1 else ""
