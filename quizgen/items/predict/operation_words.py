"""The words of a question about what loads do: stem, options, rationales."""

from __future__ import annotations

import random
from collections.abc import Sequence

from quizgen.circuit import components as c
from quizgen.faults import describe
from quizgen.items.item import Figure, Option
from quizgen.items.predict.levels import Levels, Operation, ways
from quizgen.items.sentences import (
    Sentences,
    capital,
    control_words,
    listed,
    predicate,
    state_words,
    the,
    volts_words,
)

NO_VOLTS = 0.5


def claim_of(levels: Levels, loads: Sequence[str]) -> str:
    """`E1=dark M1=turns_slowly`."""
    return " ".join(f"{load}={levels[load].replace(' ', '_')}" for load in loads)


class OperationWriter:
    """Writes one item; alternatives of sentences go round."""

    def __init__(self, operation: Operation, loads: Sequence[str], rng: random.Random) -> None:
        self.op = operation
        self.loads = [operation.scene.circuit.part(load) for load in loads]
        self.sentences = Sentences("predict_operation", rng)
        self.misconceptions = Sentences("misconceptions", rng, "sentences")

    def stem(self) -> tuple[str, ...]:
        """The fault, then how the controls stand or in which order they are moved."""
        scene, say = self.op.scene, self.sentences.say
        assert scene.fault is not None
        claim = describe(scene.circuit, scene.fault, names=False)
        return say("told", claim=claim), " ".join([self._moves(), *self._draws()])

    def _draws(self) -> list[str]:
        """Without the currents nobody can tell how much a resistance matters."""
        if self.op.scene.nature != "resistance":
            return []
        hit = [p for p in self.loads if p.id in self.op.changed]
        return [self.sentences.say("draws", load=the(p), amps=f"{self.amps(p):.1f} A") for p in hit]

    def amps(self, load: c.Part) -> float:
        """What a load draws with nothing wrong."""
        point = self.op.scene.sound
        return sum(abs(flow.amps) for flow in point.flows(point.circuit.by_id[load.id]))

    def _moves(self) -> str:
        circuit, moves = self.op.scene.circuit, self.op.scene.material.moves
        if not self.in_sequence:
            state = state_words(circuit, dict(moves))
            return self.sentences.say("state", state=state) if state else self._say("at_rest")
        steps = [
            control_words(circuit.by_control[n], position).replace(" rest", " back at rest")
            for n, position in moves
        ]
        return self.sentences.say("one_by_one", state=", then ".join(steps))

    def _say(self, name: str) -> str:
        return self.sentences.say(name)

    @property
    def in_sequence(self) -> bool:
        """A control is moved more than once."""
        moves = self.op.scene.material.moves
        return len(dict(moves)) < len(moves)

    def question(self) -> str:
        """What is asked."""
        return self.sentences.say("question_sequence" if self.in_sequence else "question")

    def key(self) -> Option:
        """The true option."""
        return Option(
            claim=claim_of(self.op.real, self._ids),
            text=self._text(self.op.real),
            is_key=True,
            rationale=self._why(),
            figures=tuple(self._figure(p) for p in self.loads),
        )

    def wrong(self, name: str, levels: Levels) -> Option:
        """What a wrong model expects; one load on which it is mistaken is named."""
        off = next(p for p in self.loads if levels[p.id] != self.op.real[p.id])
        fault = self.op.scene.fault
        inside = fault is not None and fault.part == off.id and self.volts(off) > NO_VOLTS
        line = "wrong_inside" if inside else f"wrong_{name}"
        words = {
            "load": the(off),
            "volts": volts_words(self.volts(off)),
            "does": predicate([off], self.op.real[off.id]),
            "would": predicate([off], levels[off.id]),
        }
        return Option(
            claim=claim_of(levels, self._ids),
            text=self._text(levels),
            is_key=False,
            rationale=(self.sentences.say(line, **words), self.misconceptions.say(name)),
            misconception=name,
            figures=(self._figure(off),),
        )

    def figures(self) -> tuple[Figure, ...]:
        """What stands across each load."""
        return tuple(self._figure(p) for p in self.loads)

    @property
    def _ids(self) -> list[str]:
        return [p.id for p in self.loads]

    def _figure(self, load: c.Part) -> Figure:
        return Figure(name=load.id, value=round(self.volts(load), 3) + 0.0, unit="V")

    def volts(self, load: c.Part, sound: bool = False) -> float:
        """Across a load; the greatest of several branches."""
        point = self.op.scene.sound if sound else self.op.scene.real
        part = point.circuit.by_id[load.id]
        return max(map(abs, point.across(part)))

    def _text(self, levels: Levels) -> str:
        """One clause for all loads of a kind that do the same."""
        groups: dict[str, list[c.Part]] = {}
        for part in self.loads:
            groups.setdefault(predicate([part, part], levels[part.id]), []).append(part)
        clauses = [
            f"{listed([the(p) for p in parts])} {predicate(parts, levels[parts[0].id])}"
            for parts in groups.values()
        ]
        return capital("; ".join(clauses))

    # --- rationale of the key ----------------------------------------------------------------

    def _why(self) -> tuple[str, ...]:
        lines = []
        opened = [e.part for e in self.op.scene.real.events if e.change == "opens"]
        by_id = self.op.scene.circuit.by_id
        protectors = [by_id[p] for p in dict.fromkeys(opened)]
        protectors = [p for p in protectors if isinstance(p, c.Fuse | c.FusibleLink | c.Breaker)]
        if protectors:
            lines.append(
                self.sentences.say("opens", protector=listed([the(p) for p in protectors]))
            )
        groups: dict[tuple[str, str, str, str], list[c.Part]] = {}
        for part in self.loads:
            volts = volts_words(self.volts(part)), volts_words(self.volts(part, sound=True))
            reason = self._reason(part)
            shown = volts if reason in ("starved", "fed", "altered") else ("", "")
            key = (reason, predicate([part, part], self.op.real[part.id]), *shown)
            groups.setdefault(key, []).append(part)
        for (reason, _, volts_now, volts_sound), parts in groups.items():
            words = {
                "load": listed([the(p) for p in parts]),
                "does": predicate(parts, self.op.real[parts[0].id]),
                "volts": volts_now,
                "sound": volts_sound,
            }
            many = "many" if len(parts) > 1 else "one"
            lines.append(self.sentences.say(f"{reason}_{many}", **words))
        return tuple(lines)

    def _reason(self, load: c.Part) -> str:
        """Why a load does what it does: the name of a sentence."""
        op = self.op
        now, usual, idle = op.real[load.id], op.usual[load.id], op.idle[load.id]
        volts, sound = self.volts(load), self.volts(load, sound=True)
        if now == usual:
            return "idle" if now == idle else "kept"
        if now != idle:
            return "fed" if usual == idle else "starved" if volts < sound - NO_VOLTS else "altered"
        if op.scene.fault is not None and op.scene.fault.part == load.id:
            return "inside" if volts > NO_VOLTS else "altered"
        part = op.scene.real.circuit.by_id[load.id]
        feed, ground = ways(op.scene.paths, part)
        if volts > NO_VOLTS:
            return "starved"
        return self._missing(part, bool(feed), bool(ground))

    def _missing(self, load: c.Part, fed: bool, grounded: bool) -> str:
        """Which way is gone. At a load without current both terminals stand alike."""
        point = self.op.scene.real
        level = max(abs(point.volts(n) or 0.0) for n in load.nodes)
        if not grounded and level > NO_VOLTS:
            return "lost_ground"
        return "altered" if fed and grounded else "lost_feed"
