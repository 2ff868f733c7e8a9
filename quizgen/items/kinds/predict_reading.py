"""Question kind: the fault is told; what does the instrument show?

The options are what wrong mental models expect of the same circuit; an option that the
instrument could not tell from the truth, or from another option, is left out. The claim of an
option is the act and its display: `voltmeter red=E1.2 black=chassis S1=on -> 12.6 V`.

Everything that the figure follows from is told: the fault with its size, the controls, the
voltage across the battery as it is loaded, and the current where it matters. So the reading can
be worked out by hand, up to what sound wires lose.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

from quizgen.base.errors import UnprovableError
from quizgen.items.item import Item, Proof, Response
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.predict.amps import amps_probes
from quizgen.items.predict.lamp import lamp_probes
from quizgen.items.predict.ohm import ohm_probes
from quizgen.items.predict.probe import Probe
from quizgen.items.predict.reading import Draft, draft_reading
from quizgen.items.predict.scene import Scene, draw_scenes
from quizgen.items.predict.volts import volts_probes
from quizgen.items.predict.write import UNITS, Writer

NAME = "predict-reading"
FAULTS = 10  # tried on one material
MOST_TRIES = 12
INSTRUMENTS = {"voltmeter": 6.0, "clamp-ammeter": 1.5, "test-lamp": 1.5, "ohmmeter": 1.5}
SORTS = {  # how much a sort of reading is worth asking; 1 unless named
    "full": 0.4, "near_frame": 0.4, "dead": 0.6, "floats": 0.5, "live_through": 3.0,
    "lost_before": 3.0, "lost_after": 3.0, "across_added": 2.0, "across_wire_none": 0.1,
    "across_relay_none": 0.3, "across_fuse_none": 0.3, "across_switch_none": 0.3,
    "lamp_starved": 3.0, "lamp_shares": 3.0,
}  # fmt: skip


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about one reading. Raises UnprovableError where the material gives none.

    No reading is asked twice of one family with one fault; instruments asked less often come
    first.
    """
    scenes = draw_scenes(material, rng, FAULTS, ("open", "resistance", "short"))
    asked = {(i.family, i.told, i.key_claims[0].partition(" ->")[0]) for i in request.used}
    for _ in range(MOST_TRIES if scenes else 0):
        instrument = _instrument(request, rng)
        found = _pick(scenes, instrument, rng)
        if found is None:
            continue
        scene, probe = found
        told = () if scene.fault is None else (str(scene.fault),)
        if (material.template, told, str(probe.act)) in asked:
            continue
        draft = draft_reading(scene, probe, request.options)
        if draft is not None:
            return _write(draft, request.response or "one", rng)
    raise UnprovableError(
        f"{material.template}: no reading tried with {dict(material.moves)} parts the truth "
        "from the wrong models; try other positions or parameters"
    )


def _instrument(request: Request, rng: random.Random) -> str:
    """By weight, those already asked less often first; only some answer with a number."""
    names = [n for n in INSTRUMENTS if request.response != "number" or UNITS[n] in ("V", "A")]
    had = [i.key_claims[0].split()[0] for i in request.used if i.kind == NAME]
    return rng.choices(names, [INSTRUMENTS[n] / (1 + had.count(n)) for n in names])[0]


def _pick(scenes: list[Scene], instrument: str, rng: random.Random) -> tuple[Scene, Probe] | None:
    """A scene, a sort of reading, a reading of that sort."""
    scene = rng.choice(scenes)
    probes: dict[str, list[Probe]] = {}
    for probe in _probes(scene, instrument, rng):
        probes.setdefault(probe.sort, []).append(probe)
    if not probes:
        return None
    sort = rng.choices(list(probes), [SORTS.get(sort, 1.0) for sort in probes])[0]
    return scene, rng.choice(probes[sort])


def _probes(scene: Scene, instrument: str, rng: random.Random) -> Iterator[Probe]:
    match instrument:
        case "voltmeter":
            yield from volts_probes(scene)
        case "clamp-ammeter":
            yield from amps_probes(scene)
        case "test-lamp":
            yield from lamp_probes(scene, rng)
        case _:
            yield from ohm_probes(scene)


def _write(draft: Draft, response: Response, rng: random.Random) -> Item:
    scene, material = draft.scene, draft.scene.material
    fault = "" if scene.fault is None else str(scene.fault)
    number = response == "number"
    writer = Writer(draft, rng)
    return Item(
        **KIND.label(material, rng),
        key_kind="" if scene.fault is None else scene.circuit.part(scene.fault.part).kind,
        stem=writer.stem(),
        readings=tuple(writer.readings()),
        question=writer.question(number),
        options=() if number else writer.options(),
        origin=replace(material.origin(fault), positions=draft.probe.act.moves),
        proof=Proof(figures=writer.figures()),
        response=response,
        number=writer.number() if number else None,
        solution=writer.why() if number else (),
        told=(fault,) if fault else (),
        in_natural_order=True,
    )


KIND = Kind(
    name=NAME,
    about="what an instrument shows, the fault being told",
    level="predict",
    responses=("one", "number"),
    make=make,
)
