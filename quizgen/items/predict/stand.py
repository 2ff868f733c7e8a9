"""Where a point stands in volts, and why: a sentence that a reader can check by the diagram."""

from __future__ import annotations

from quizgen.circuit import components as c
from quizgen.faults.wording import point_name
from quizgen.items.predict.paths import Link
from quizgen.items.predict.probe import Line
from quizgen.items.predict.scene import Scene
from quizgen.items.sentences import listed, the, volts_words

NEAR_VOLTS = 0.25  # what wires and closed contacts may lose without a word
NO_AMPS = 0.02
MOST_USERS = 2  # more on one way make a sentence nobody follows


def stand(scene: Scene, node: str) -> Line | None:
    """Why `node` stands where it does with the fault in it; None where no one line tells it."""
    volts = scene.real.volts(node)
    up, down = scene.paths.to_supply(node), scene.paths.to_frame(node)
    words = {
        "point": point_name(scene.circuit, node, names=False),
        "volts": volts_words(volts or 0),
    }
    if volts is None or (up is None and down is None):
        return Line("floats" if up is None else "adrift", words)
    if abs(scene.supply - volts) < NEAR_VOLTS and up is not None:
        return _near(scene, node, up, "full", "live", words)
    if abs(volts) < NEAR_VOLTS and down is not None:
        return _near(scene, node, down, "near_frame", "dead", words)
    return _shared(scene, volts, up, down, words)


def _near(
    scene: Scene, node: str, way: tuple[Link, ...], busy: str, idle: str, words: dict[str, str]
) -> Line | None:
    """A point that wires, or a load without current, tie to the supply or to the frame."""
    users = scene.paths.users(way)
    if not users:
        carries = scene.paths.amps_at(node) > NO_AMPS
        return Line(busy if carries else idle, words)
    if len(users) > MOST_USERS or any(_amps(scene, u) > NO_AMPS for u in users):
        return None
    return Line(f"{idle}_through", words | {"load": listed([the(u) for u in users])})


def _amps(scene: Scene, part: c.Part) -> float:
    return max((abs(k.amps) for k in scene.paths.links if k.part == part.id), default=0.0)


def _shared(
    scene: Scene,
    volts: float,
    up: tuple[Link, ...] | None,
    down: tuple[Link, ...] | None,
    words: dict[str, str],
) -> Line | None:
    """A point between the supply and the frame: the told resistance is all that lies one way."""
    lost = round(scene.added_amps, 1) * scene.added_ohm  # as a reader works it out
    if not lost or scene.fault is None or up is None or down is None:
        return None
    words = words | drop_words(scene)
    for way, rest, name in (
        (up, scene.supply - volts, "lost_before"),
        (down, volts, "lost_after"),
    ):
        passes = any(k.part == scene.fault.part for k in way) and not scene.paths.users(way)
        if passes and abs(rest - lost) < NEAR_VOLTS:
            return Line(name, words)
    return None


def drop_words(scene: Scene) -> dict[str, str]:
    """The told resistance, its current, what it loses by these two, and the supply."""
    shown = round(scene.added_amps, 1)
    return {
        "ohm": f"{scene.added_ohm:g} Ω",
        "amps": f"{scene.added_amps:.1f} A",
        "lost": volts_words(shown * scene.added_ohm),
        "supply": volts_words(scene.supply),
    }
