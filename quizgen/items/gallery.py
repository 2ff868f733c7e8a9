"""Every likely fault of a circuit, as it looks and sounds in a few states of the controls."""

from __future__ import annotations

from dataclasses import dataclass, field

from quizgen.circuit.netlist import Circuit
from quizgen.diagnosis.claims import Claim, claims
from quizgen.diagnosis.clicks import CLICKS, NO_CLICK
from quizgen.items.item import Moves
from quizgen.items.material import Material
from quizgen.items.sightings import Place, Sighting, sight

MOST_STATES = 6  # looked at for one circuit


@dataclass(frozen=True, eq=False)
class Gallery:
    """Every likely fault of a circuit as it looks in each of `states`; the item's own first."""

    circuit: Circuit
    states: tuple[Moves, ...]
    claims: tuple[Claim, ...]
    sound: Sighting
    looks: tuple[Sighting, ...]  # the likeliest member of each claim
    _members: dict[int, tuple[Sighting, ...]] = field(default_factory=dict)

    def members(self, claim: int) -> tuple[Sighting, ...]:
        """A claim in every severity; looked at when first asked for."""
        if claim not in self._members:
            what = self.claims[claim]
            rest = [f for f in what.members if f != what.usual]
            found = {look.fault: look for look in sight(self.circuit, self.states, rest)}
            found[what.usual] = self.looks[claim]
            self._members[claim] = tuple(found[f] for f in what.members)
        return self._members[claim]


def make_gallery(material: Material) -> Gallery:
    """The gallery of a circuit: the material's state and the nearest others, rest among them."""
    circuit, own = material.circuit, material.moves
    others = [m for m in ((), *material.states) if m != own]
    nearest = sorted(others, key=lambda m: len(set(m) ^ set(own)))[: MOST_STATES - 1]
    states = (own, *nearest)
    found = claims(circuit)
    sound, *looks = sight(circuit, states, [None, *(claim.usual for claim in found)])
    return Gallery(circuit, states, found, sound, tuple(looks))


def told_in(gallery: Gallery, key: int, state: int) -> dict[str, str]:
    """Part → word: every load, and relays that are heard or missed."""
    look, sound = gallery.looks[key], gallery.sound
    words = {p: look.word(Place(state, p)) for p in look.words[state]}
    return {
        part: word
        for part, word in words.items()
        if word
        and (
            part in look.sound[state]
            or word != NO_CLICK
            or sound.word(Place(state, part)) == CLICKS
        )
    }
