"""The words of a question about a reading: stem, table of what is given, question, rationales."""

from __future__ import annotations

import random
from collections.abc import Iterator
from math import isinf

from quizgen.circuit.netlist import CHASSIS, Circuit
from quizgen.faults import describe
from quizgen.faults.wording import point_name
from quizgen.items.evidence import margin_volts
from quizgen.items.item import Figure, Number, Option, Reading, WrongNumber
from quizgen.items.predict.probe import Wrong
from quizgen.items.predict.reading import WIRE_VOLTS, Draft, level, text_of
from quizgen.items.sentences import Sentences, capital, listed, state_words, the

UNITS = {"voltmeter": "V", "clamp-ammeter": "A", "test-lamp": "of rated voltage", "ohmmeter": "Ω"}
NEXT = {"open": "next_open", "resistance": "next_resistance", "short": "next_short"}
STATED_OL = -1.0  # OL in a figure


class Writer:
    """Writes one item; alternatives of sentences go round."""

    def __init__(self, draft: Draft, rng: random.Random) -> None:
        self.draft = draft
        self.sentences = Sentences("predict_reading", rng)
        self.misconceptions = Sentences("misconceptions", rng, "sentences")

    @property
    def circuit(self) -> Circuit:
        return self.draft.scene.circuit

    def stem(self) -> tuple[str, ...]:
        """The fault; how the machine stands; what is taken apart; what stands on the part."""
        act, say, fault = self.draft.probe.act, self.sentences.say, self.draft.scene.fault
        first = say("sound")
        if fault is not None:
            first = say("told", claim=describe(self.circuit, fault, names=False))
        state = state_words(self.circuit, dict(act.moves))
        second = [say("state", state=state) if state else say("at_rest")]
        if act.instrument == "ohmmeter":
            own = act.red.partition("/")[0]
            second = [say("isolated", part=the(self.circuit.part(own)))]
        elif act.unplugged:
            off = listed([the(self.circuit.part(p)) for p in act.unplugged])
            second.append(say("unplugged", part=off))
        second += [say(line.name, **line.words) for line in self.draft.probe.says]
        return first, " ".join(second)

    def question(self, number: bool) -> str:
        """What is asked, leads named."""
        act, say = self.draft.probe.act, self.sentences.say
        more = "_number" if number else ""
        if act.instrument == "clamp-ammeter":
            return say(f"ask_clamp{more}", wire=act.red)
        if act.instrument == "ohmmeter":
            (part, _, red), black = act.red.partition("/"), act.black.partition("/")[2]
            return say("ask_ohm", part=part, red=red, black=black)
        ask = "ask_lamp" if act.instrument == "test-lamp" else f"ask_volts{more}"
        return say(ask, red=self.lead(act.red), black=self.lead(act.black))

    def lead(self, node: str) -> str:
        """A point as a stem calls it."""
        if node == self.circuit.reference:
            return self.sentences.say("frame" if node == CHASSIS else "reference")
        return point_name(self.circuit, node, names=False)

    def readings(self) -> Iterator[Reading]:
        """What the stem gives: the supply, and a current where the answer follows from one."""
        for act, shown in zip(self.draft.probe.given, self.draft.given, strict=True):
            clamp = act.instrument == "clamp-ammeter"
            value = float(shown.raw or 0.0)
            yield Reading(
                instrument=act.instrument,
                red_node=act.red,
                black_node=act.black,
                red=f"wire {act.red}" if clamp else self.lead(act.red),
                black="" if clamp else self.lead(act.black),
                state=capital(state_words(self.circuit, dict(act.moves))),
                shown=text_of(act.instrument, value),
                volts=round(value, 1) + 0.0,
            )

    def options(self) -> tuple[Option, ...]:
        """The truth and the wrong values, the smallest first."""
        name = self.draft.instrument
        values = [(self.draft.value, None), *((w.value, w) for w in self.draft.wrong)]
        values.sort(key=lambda pair: pair[0])
        return tuple(self._option(name, value, wrong) for value, wrong in values)

    def _option(self, name: str, value: float, wrong: Wrong | None) -> Option:
        shown = text_of(name, value)
        text = self.sentences.say(level(value)) if name == "test-lamp" else shown
        figure = Figure(name="shown" if wrong is None else "expected", unit=UNITS[name],
                        value=STATED_OL if isinf(value) else round(value, 4) + 0.0)  # fmt: skip
        return Option(
            claim=f"{self.draft.probe.act} -> {shown}",
            text=text,
            is_key=wrong is None,
            rationale=self.why() if wrong is None else self._why_not(wrong),
            misconception="" if wrong is None else wrong.misconception,
            figures=(figure,),
        )

    def why(self) -> tuple[str, ...]:
        """Why the instrument shows what it shows, and what that is good for."""
        say, scene = self.sentences.say, self.draft.scene
        lines = [say(line.name, **line.words) for line in self.draft.probe.why]
        if scene.nature in NEXT and self.draft.instrument in ("voltmeter", "test-lamp"):
            lines.append(say(NEXT[scene.nature]))
        return tuple(lines)

    def _why_not(self, wrong: Wrong) -> tuple[str, ...]:
        line = self.sentences.say(wrong.line.name, **wrong.line.words)
        return line, *self.misconceptions.once(wrong.misconception)

    def number(self) -> Number:
        """The answer as a number: within the meter's tolerance and what sound wires lose."""
        draft = self.draft
        value = round(draft.value, 1) + 0.0
        wide = margin_volts(value) + WIRE_VOLTS if draft.instrument == "voltmeter" else 0.0
        wide = wide or 2.0 * (0.025 * value + 0.3)
        wide = min([wide, *(abs(w.value - value) / 2.0 for w in draft.wrong)])
        return Number(
            quantity=str(draft.probe.act),
            value=value,
            low=round(value - wide, 2) + 0.0,
            high=round(value + wide, 2) + 0.0,
            unit=UNITS[draft.instrument],
            decimals=1,
            wrong=tuple(
                WrongNumber(
                    value=round(w.value, 1) + 0.0,
                    misconception=w.misconception,
                    rationale=self._why_not(w),
                )
                for w in draft.wrong
            ),
        )

    def figures(self) -> tuple[Figure, ...]:
        """What the answer follows from."""
        scene = self.draft.scene
        found = [Figure(name="supply", value=round(scene.supply, 3), unit="V")]
        if scene.added_ohm:
            found.append(Figure(name="added", value=scene.added_ohm, unit="Ω"))
            found.append(Figure(name="through it", value=round(scene.added_amps, 3), unit="A"))
        return tuple(found)
