"""Why the key is right and why each other option is not: sentences with computed figures."""

from __future__ import annotations

from dataclasses import dataclass

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim
from quizgen.diagnosis.dictionary import FaultDictionary
from quizgen.faults import describe
from quizgen.faults.wording import point_name
from quizgen.items.item import Reading, Refutation
from quizgen.items.places import WINDINGS, Side, ends, nature, side
from quizgen.items.sentences import Sentences, listed, load_words, the, volts_words

DEAD_VOLTS = 0.5  # under this a technician calls a point dead
CONTACTORS = c.Relay | c.StarterSolenoid | c.Flasher
INSIDE = {"shorted", "coil-shorted"}  # shorts within a part, no contact with another
FULL_SHARE = 0.9  # of the supply: as good as all of it
SAME_VOLTS = 0.15  # closer bounds than this are one figure for a reader


def claim_text(circuit: Circuit, claim: Claim) -> str:
    """The claim as a clause, severity left open; no capital, no full stop."""
    return describe(circuit, claim.usual, severity=False, names=False)


@dataclass(frozen=True)
class Explainer:
    """Writes the rationales of one item."""

    dictionary: FaultDictionary
    row: int  # of the hidden fault
    key: Claim
    sentences: Sentences
    misconceptions: Sentences

    @property
    def circuit(self) -> Circuit:
        return self.dictionary.circuit

    def volts_at(self, node: str, row: int) -> float:
        """Metered volts of a node; the reference is 0."""
        if node == self.circuit.reference:
            return 0.0
        return float(self.dictionary.low[self.dictionary.points.index(node), row])

    def side(self, claim: Claim) -> Side:
        """Feed side, load or ground side of the sound circuit."""
        sound = {n: self.volts_at(n, 0) for n in self.circuit.nodes}
        return side(self.circuit, claim, sound)

    def for_key(self) -> tuple[str, ...]:
        """What the fault does, with figures, and what to measure next."""
        a, b = ends(self.circuit, self.key)
        va, vb = self.volts_at(a, self.row), self.volts_at(b, self.row)
        if va < vb:
            a, b, va, vb = b, a, vb, va
        kind = nature(self.key)
        name = self._key_sentence(kind, va)
        if kind == "open" and vb < -DEAD_VOLTS:  # the battery itself has lost the frame
            name = "key_open_return"
        figures = {
            "a": point_name(self.circuit, a, names=False),
            "b": point_name(self.circuit, b, names=False),
            "va": volts_words(va),
            "vb": volts_words(vb),
            "lost": volts_words(va - vb),
            "sound": volts_words(self.volts_at(a, 0)),
            "claim": claim_text(self.circuit, self.key),
        }
        return (self.sentences.say(name, **figures), self._next(kind, figures))

    def _key_sentence(self, kind: str, volts: float) -> str:
        """Which sentence explains the key; `volts` is what stands on the live side of it."""
        part = self.circuit.by_id[self.key.part]
        if self.key.mode in INSIDE:
            return "key_other" if isinstance(part, c.Diode) else "key_shorted"
        if kind != "open":
            return f"key_{kind}"
        side = self.side(self.key)
        supply = abs(self.volts_at(self.circuit.supply, 0))
        if side == "ground" and volts < FULL_SHARE * supply:
            return "key_open_feed"  # an LED on the way keeps part of the supply to itself
        return f"key_open_{side}"

    def _next(self, kind: str, figures: dict[str, str]) -> str:
        part = self.circuit.by_id[self.key.part]
        if kind == "short" and isinstance(part, c.Wire):
            return self.sentences.say("next_isolate")
        if self.key.mode == "stuck":  # its contacts may be open or closed as they should not
            return self.sentences.say("next_ohm", part=the(part))
        if isinstance(part, c.Wire | c.Connector | c.Ground | c.Switch | c.Fuse):
            return self.sentences.say("next_across", **figures)
        if isinstance(part, CONTACTORS) and self.key.mode not in WINDINGS:
            return self.sentences.say("next_across", **figures)
        return self.sentences.say("next_ohm", part=the(part))

    def for_wrong(
        self, claim: Claim, refutation: Refutation, readings: tuple[Reading, ...]
    ) -> tuple[str, ...]:
        """What the circuit would show under `claim`, what it did show, why one falls for it."""
        why = self._why(claim)
        if refutation.reading < 0:
            part = self.circuit.part(refutation.part)
            says = load_words(part, refutation.instead), load_words(part, refutation.found)
            return (f"If {claim_text(self.circuit, claim)}, {says[0]}. In fact {says[1]}.", *why)
        reading = readings[refutation.reading]
        words = {
            "claim": claim_text(self.circuit, claim),
            "subject": self._subject(claim),
            "point": reading.red,
            "volts": reading.shown,
            "would": self._would(refutation),
        }
        opened = self._opens(claim)
        short = nature(claim) == "short"
        if opened and short and abs(refutation.high) < DEAD_VOLTS < reading.volts:
            words["protector"] = listed(opened)
            return (self.sentences.say("refuted_opens", **words), *why)
        return (self.sentences.say(self._refuted(claim, refutation, reading), **words), *why)

    def _why(self, claim: Claim) -> tuple[str, ...]:
        """Why one falls for it; said once in an item, or it wears thin."""
        return self.misconceptions.once(self.misconception(claim))

    def _opens(self, claim: Claim) -> list[str]:
        """Protectors that `claim` would open."""
        point = self.dictionary.solutions.point(self.dictionary.row(claim.usual))
        opened = dict.fromkeys(e.part for e in point.events if e.change == "opens")
        parts = [self.circuit.by_id[p] for p in opened]
        return [the(p) for p in parts if not isinstance(p, c.Flasher)]

    def _would(self, refutation: Refutation) -> str:
        if refutation.high - refutation.low < SAME_VOLTS:
            return volts_words((refutation.low + refutation.high) / 2.0)
        return f"between {volts_words(refutation.low)} and {volts_words(refutation.high)}"

    def _refuted(self, claim: Claim, refutation: Refutation, reading: Reading) -> str:
        kind = nature(claim)
        if kind == "open" and refutation.high - refutation.low < SAME_VOLTS:
            dead = abs(refutation.high) < DEAD_VOLTS < reading.volts and self._fed(reading)
            supply = abs(self.volts_at(self.circuit.supply, 0))
            live = refutation.low > 0.8 * supply > reading.volts and self._dry(claim)
            return "refuted_dead" if dead else "refuted_live" if live else "refuted_other"
        if claim.mode in INSIDE:
            return "refuted_other"
        return {"resistance": "refuted_drop", "short": "refuted_short"}.get(kind, "refuted_other")

    def _fed(self, reading: Reading) -> bool:
        """True if the sound circuit keeps the point live: only then can a break make it dead."""
        supply = abs(self.volts_at(self.circuit.supply, 0))
        return abs(self.volts_at(reading.red_node, 0)) > 0.5 * supply

    def _dry(self, claim: Claim) -> bool:
        """True if under `claim` no current passes its place at all."""
        row = self.dictionary.row(claim.usual)
        point = self.dictionary.solutions.point(row)
        part = point.circuit.by_id[claim.part]
        return all(abs(f.amps) < 1e-6 for f in point.flows(part))

    def _subject(self, claim: Claim) -> str:
        part = self.circuit.by_id[claim.part]
        if isinstance(part, c.Wire):
            return part.id
        if isinstance(part, c.Connector):
            return f"cavity {claim.place} of {the(part)}"
        if claim.mode in WINDINGS:
            return "the coil" if isinstance(part, c.Relay) else f"that winding of {the(part)}"
        if isinstance(part, c.Switch | CONTACTORS):
            return f"the contact of {the(part)}"
        return the(part)

    def misconception(self, claim: Claim) -> str:
        """The wrong mental model that makes `claim` tempting when the key is true."""
        here, key_here = self.side(claim), self.side(self.key)
        kind, key_kind = nature(claim), nature(self.key)
        if here == "load":
            return "load-blamed"
        if key_here == "ground" and here == "feed":
            return "ground-side-forgotten"
        if key_kind == "open" and here == "ground" and key_here != "ground":
            return "no-current-no-voltage"
        if key_kind == "resistance" and kind == "open":
            return "open-for-resistance"
        if key_kind == "open" and kind == "resistance":
            return "resistance-for-open"
        return "stops-early"
