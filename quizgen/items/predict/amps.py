"""Clamp readings worth predicting: what follows from other clamps by Kirchhoff's current law."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from quizgen.circuit import components as c
from quizgen.faults.wording import point_name
from quizgen.items.act import Act
from quizgen.items.predict.paths import Link
from quizgen.items.predict.probe import Line, Probe, Wrong
from quizgen.items.predict.scene import Scene
from quizgen.items.sentences import the

LEAST_AMPS = 1.5  # a clamp is off by some tenths
NOTHING_AMPS = 1e-3


def amps_probes(scene: Scene) -> Iterator[Probe]:
    """The wire beyond a load, and the third wire of a joint."""
    wires = [k for k in scene.paths.links if isinstance(scene.real.circuit.by_id[k.part], c.Wire)]
    busy = [k for k in wires if abs(k.amps) > LEAST_AMPS]
    for load in scene.circuit.parts:
        if isinstance(load, c.LOADS) and len(load.nodes) == 2:
            yield from _beyond(scene, load, busy)
    for node in scene.circuit.nodes:
        mine = [k for k in wires if node in (k.a, k.b) and abs(k.amps) > NOTHING_AMPS]
        if len(mine) == 3 and all(k in busy for k in mine):
            yield from _joint(scene, node, mine)


def _beyond(scene: Scene, load: c.Part, busy: Sequence[Link]) -> Iterator[Probe]:
    """One wire on each side of a load; they carry the same."""
    sides = [[k for k in busy if node in (k.a, k.b)] for node in load.nodes]
    if not all(len(side) == 1 for side in sides):
        return
    near, far = sides[0][0], sides[1][0]
    volts = [scene.real.volts(node) or 0.0 for node in load.nodes]
    if volts[0] < volts[1]:
        near, far = far, near
    amps = abs(far.amps)
    if abs(abs(near.amps) - amps) > NOTHING_AMPS or near.part == far.part:
        return
    if not _touched(scene, (near, far)):
        return
    words = {"load": the(load), "amps": _words(amps), "wire": far.part, "given": near.part}
    wrong = (
        _wrong(0.0, "current-used-up", words),
        _wrong(amps / 2.0, "half-used-up", words),
    )
    yield Probe(
        act=_clamp(scene, far), value=amps, sort="amps_beyond",
        why=(Line("same_current", words),), wrong=wrong, given=(_clamp(scene, near),),
    )  # fmt: skip


def _joint(scene: Scene, node: str, wires: Sequence[Link]) -> Iterator[Probe]:
    """Two of three wires at a joint are given; the greatest current is the sum of the others."""
    place = point_name(scene.circuit, node, names=False)
    *parts, whole = sorted(wires, key=lambda k: abs(k.amps))
    one, other, total = abs(parts[0].amps), abs(parts[1].amps), abs(whole.amps)
    if abs(one + other - total) > NOTHING_AMPS or not _touched(scene, wires):
        return
    words = {
        "point": place, "total": _words(total), "whole": whole.part,
        "one": _words(one), "other": _words(other),
        "first": parts[0].part, "second": parts[1].part,
    }  # fmt: skip
    yield Probe(
        act=_clamp(scene, whole), value=total, sort="amps_sum", why=(Line("sum", words),),
        wrong=(
            _wrong(other, "one-for-all", words),
            _wrong(total / 2.0, "equal-split", words),
            _wrong(other - one, "currents-subtract", words),
        ),
        given=tuple(_clamp(scene, k) for k in parts),
    )  # fmt: skip
    yield Probe(
        act=_clamp(scene, parts[1]), value=other, sort="amps_rest", why=(Line("rest", words),),
        wrong=(
            _wrong(total, "one-for-all", words),
            _wrong(total / 2.0, "equal-split", words),
            _wrong(one, "equal-branches", words),
        ),
        given=(_clamp(scene, whole), _clamp(scene, parts[0])),
    )  # fmt: skip


def _touched(scene: Scene, links: Sequence[Link]) -> bool:
    return scene.touched(node for k in links for node in (k.a, k.b))


def _clamp(scene: Scene, link: Link) -> Act:
    return Act(instrument="clamp-ammeter", red=link.part, moves=scene.material.moves)


def _wrong(amps: float, name: str, words: dict[str, str]) -> Wrong:
    return Wrong(amps, name, Line(f"wrong_{name}", words | {"would": _words(amps)}))


def _words(amps: float) -> str:
    return f"{amps + 0.0:.1f} A"
