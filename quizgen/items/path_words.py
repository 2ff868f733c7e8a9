"""Names of what a current passes, and the figures that sentences about it give."""

from __future__ import annotations

from dataclasses import dataclass, field

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.faults.wording import part_name, point_name
from quizgen.items.current_path import Flows, Path, Step, amps_when_open, amps_words
from quizgen.items.item import Figure
from quizgen.items.sentences import Sentences

PINS = {"exciter": "D+-31", "output": "B+-31", "sense": "S-31", "electronics": "49-31"}
EN_DASH = "\N{EN DASH}"
CONTACTS = (c.Switch, c.Relay, c.StarterSolenoid, c.Flasher)


def short_name(circuit: Circuit, label: str, sentences: Sentences) -> str:
    """As in a list: "F1", "X1 (cavity 2)", "K1 (30–87)"."""
    part, _, branch = label.partition(":")
    if not branch:
        return sentences.say("short_plain", id=part)
    form = "cavity" if isinstance(circuit.by_id[part], c.Connector) else "contact"
    return sentences.say(f"short_{form}", id=part, pins=_pins(branch))


def long_name(circuit: Circuit, label: str, sentences: Sentences) -> str:
    """Standing alone, with a capital: "Pump relay K1, contact 30–87"."""
    part, _, branch = label.partition(":")
    name = part_name(circuit.by_id[part])
    if not branch:
        return sentences.say("long_plain", name=name)
    kind = circuit.by_id[part]
    form = "cavity" if isinstance(kind, c.Connector) else "other"
    if isinstance(kind, CONTACTS) and "-" in branch and "-in" not in branch:
        form = "contact"
    return sentences.say(f"long_{form}", name=name, pins=_pins(branch))


def end_name(circuit: Circuit, step: Step, node: str) -> str:
    """The end of a step that lies on `node`: "K1 terminal 87", "X1 cavity 2 (W7 side)"."""
    part = circuit.by_id[step.part]
    if isinstance(part, c.Connector | c.Ground):
        return point_name(circuit, node, names=False)
    return f"{part.id} terminal {part.terminals[part.nodes.index(node)]}"


def _pins(branch: str) -> str:
    """Terminals with a dash between them; windings by name."""
    text = PINS.get(branch, branch)
    return text if text.endswith("-in") else text.replace("-", EN_DASH)


@dataclass
class Account:
    """Currents of a path in words; each that is told is written down as a figure."""

    flows: Flows
    path: Path
    told: dict[str, Figure] = field(default_factory=dict)

    def through(self, label: str) -> str:
        """The current that passes `label` as the machine stands."""
        step = self.flows.step(label)
        return self._tell(f"current through {label}", step.amps if step else 0.0)

    def with_open(self, label: str) -> str:
        """The current that is left for the load with `label` open."""
        name = f"current through {self.path.load.label} with {label} open"
        return self._tell(name, self.left(self.flows.step(label)))

    def left(self, step: Step | None) -> float:
        """The load's current with `step` open, ampere; the full current if nothing passes it."""
        load = self.path.load
        if step is None:
            return load.amps
        point = self.flows.point
        moves = point.solutions.moves[point.case]
        return amps_when_open(point.circuit, moves, load.part, [step])[0]

    def figures(self) -> tuple[Figure, ...]:
        """What has been told since the last call."""
        found = tuple(self.told.values())
        self.told.clear()
        return found

    def _tell(self, name: str, amps: float) -> str:
        self.told[name] = Figure(name=name, value=round(amps, 5) + 0.0, unit="A")
        return amps_words(amps)
