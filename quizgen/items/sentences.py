"""Sentences from `templates/wording/`, filled in; each list of alternatives is used in turn."""

from __future__ import annotations

import random
from functools import cache
from typing import Any

import yaml

from quizgen.base.errors import InputError
from quizgen.base.paths import data_folder
from quizgen.circuit.components import Part
from quizgen.circuit.netlist import Circuit, Control
from quizgen.faults.wording import part_name
from quizgen.instruments.instrument import displayed

PLAIN_POSITIONS = {"on", "off", "pressed", "released", "open", "closed", "up", "down", "rest"}


@cache
def wording(name: str) -> dict[str, Any]:
    """The file `templates/wording/NAME.yaml`. Raises InputError if it is no mapping."""
    path = data_folder("templates") / "wording" / f"{name}.yaml"
    data = yaml.safe_load(path.read_text(encoding="utf-8"))
    if not isinstance(data, dict):
        raise InputError(f"{path}: expected a mapping of names to sentences")
    return data


class Sentences:
    """One file of sentences. Alternatives start at a random one and then go round."""

    def __init__(self, name: str, rng: random.Random, part: str = "") -> None:
        self._table = wording(name)[part] if part else wording(name)
        self._next = {key: rng.randrange(1000) for key in self._table}
        self._told: set[str] = set()

    def say(self, key: str, **words: str) -> str:
        """The next sentence called `key` with `words` filled in."""
        choices = self._table[key]
        if isinstance(choices, str):
            choices = [choices]
        self._next[key] += 1
        words |= {k.capitalize(): capital(v) for k, v in words.items()}
        return str(choices[self._next[key] % len(choices)]).format_map(words)

    def once(self, key: str) -> tuple[str, ...]:
        """The sentence called `key` the first time, nothing after: said twice it wears thin."""
        if key in self._told:
            return ()
        self._told.add(key)
        return (self.say(key),)


def capital(text: str) -> str:
    """`text` with its first letter as a capital."""
    return text[:1].upper() + text[1:]


def listed(names: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def load_words(part: Part, level: str) -> str:
    """What a person says of a load at a level; no capital, no full stop."""
    return f"{the(part)} {predicate([part], level)}"


def predicate(parts: list[Part], level: str) -> str:
    """What loads of one kind do: "stays dark", or for several "stay dark"."""
    one, several = wording("loads")[parts[0].kind][level]
    return str(one if len(parts) == 1 else several)


def the(part: Part) -> str:
    """A part with its article: "the blower motor M1", "ground point G2 (left stud)"."""
    name = part_name(part)
    return f"the {name}" if part.name and part.kind != "ground" else name


def state_words(circuit: Circuit, positions: dict[str, str]) -> str:
    """How the machine stands, one clause per control that matters: no capital, no full stop."""
    return ", ".join(
        control_words(control, positions[control.name])
        for control in circuit.controls
        if control.name in positions
    )


def control_words(control: Control, position: str) -> str:
    """`ignition switch S1 on`, `blower switch S2 in position 2`, `coolant hot`."""
    name = control.label or control.name
    if control.by == "hand" and control.name not in name:
        name = f"{name} {control.name}"
    if control.by == "condition" or position in PLAIN_POSITIONS:
        return f"{name} {position}"
    return f"{name} in position {position}"


def volts_words(volts: float) -> str:
    """A reading as a common digital meter shows it, with a printer's minus.

    >>> volts_words(12.349), volts_words(-0.02), volts_words(-12.6)
    ('12.3 V', '0.0 V', '−12.6 V')
    """
    return f"{displayed(volts, 1)} V".replace("-", "−")


def tenths(volts: float) -> float:
    """Volts to one decimal, halves away from zero whatever the last bits say.

    >>> tenths(12.65), tenths(12.649999999999), tenths(-0.02)
    (12.7, 12.7, 0.0)
    """
    return float(displayed(volts, 1))
