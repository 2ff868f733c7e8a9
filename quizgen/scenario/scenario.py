"""A scenario: the setting in which problems play, read from a folder of plain files.

The README.md of the shipped scenario tells an instructor how to write one.
"""

from __future__ import annotations

import random
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from quizgen.base.errors import InputError
from quizgen.base.paths import data_folder
from quizgen.base.suggest import shown, suggest
from quizgen.circuit.values import check_fields, text, texts
from quizgen.circuit.values import the_table as table_of
from quizgen.circuit.yaml_reader import Table, fail, read_file
from quizgen.scenario.people import MOST, invent_people
from quizgen.scenario.reading import check_head, read_machines, read_wording, whole
from quizgen.scenario.records import Machine, Person, Wording

_REQUIRED = ("name", "college", "course", "owner", "people", "cautions")
_COUNTS = ("instructors", "students", "drivers")


@dataclass(frozen=True)
class Scenario:
    """College, fleet, people and the way drivers talk."""

    name: str
    college: str
    course: str
    owner: str
    about: str
    language: str
    cautions: tuple[str, ...]
    machines: tuple[Machine, ...]
    wording: Wording
    seed: int
    locales: tuple[str, ...]
    counts: tuple[tuple[str, int], ...]  # role → how many people it has

    def machine(self, machine_id: str) -> Machine:
        """The machine called `machine_id`. Raises InputError that names what there is."""
        for machine in self.machines:
            if machine.id == machine_id:
                return machine
        hint = suggest(machine_id, (m.id for m in self.machines))
        raise InputError(f"{self.name}: no machine {shown(machine_id)}{hint}")

    def machines_with(self, family: str) -> tuple[Machine, ...]:
        """Every machine that carries the circuit `family`, in the order of the file."""
        return tuple(m for m in self.machines if any(c.family == family for c in m.carries))

    def people(self, role: str, count: int, seed: int | None = None) -> tuple[Person, ...]:
        """`count` invented people; by default from the scenario's own seed."""
        return invent_people(role, count, self.seed if seed is None else seed, self.locales)

    @cached_property
    def instructors(self) -> tuple[Person, ...]:
        """Who teaches the class."""
        return self.people("instructor", dict(self.counts)["instructors"])

    @cached_property
    def students(self) -> tuple[Person, ...]:
        """The class roster."""
        return self.people("student", dict(self.counts)["students"])

    @cached_property
    def drivers(self) -> tuple[Person, ...]:
        """Who brings the machines in."""
        return self.people("driver", dict(self.counts)["drivers"])

    def complaint(
        self,
        rng: random.Random,
        machine: Machine,
        family: str,
        positions: Mapping[str, str],
        *,
        part: str,
        load: str,
        does: str,
        instead_of: str = "",
    ) -> str:
        """What a driver says of `part` (named `load`), seen to do `does` with `positions` set.

        Two sentences in the driver's words, framed by who says it. Empty when nobody has
        written a sentence for this observation.
        """
        sentences = self.wording.sentences(family, part, does, instead_of)
        if not sentences:
            return ""
        said = rng.choice(sentences).format(
            circuit=machine.carried(family).called,
            machine=machine.name,
            load=load,
            when=self.wording.situation(family, positions),
        )
        said = re.sub(r" +([.,:;?!])", r"\1", " ".join(said.split()))  # where `when` is empty
        person = rng.choice(self.drivers).name
        frame = rng.choice(self.wording.frames)
        return frame.format(person=person, machine=machine.name, words=said)


def load_scenario(folder: Path) -> Scenario:
    """Read the scenario in `folder`. Raises InputError or FileError for what is wrong."""
    root = read_file(folder / "setting.yaml")
    check_head(root, (*_REQUIRED, "about", "language"), _REQUIRED)
    name = text(root.entries["name"], {})
    if name != folder.resolve().name:
        fail(root.entries["name"], f"expected the name of the folder, {folder.resolve().name}")
    people = table_of(root.entries["people"], "seed, locales and counts of people")
    check_fields(people, ("seed", "locales", *_COUNTS), ("seed", "locales", *_COUNTS))
    locales = texts(people.entries["locales"], {})
    if not locales:
        fail(people.entries["locales"], "there is no locale, such as en_GB")
    return Scenario(
        name=name,
        college=text(root.entries["college"], {}),
        course=text(root.entries["course"], {}),
        owner=text(root.entries["owner"], {}),
        about=_optional(root, "about", ""),
        language=_optional(root, "language", "en"),
        cautions=texts(root.entries["cautions"], {}),
        machines=read_machines(read_file(folder / "fleet.yaml")),
        wording=read_wording(read_file(folder / "complaints.yaml")),
        seed=whole(people.entries["seed"], 0, 2**32),
        locales=locales,
        counts=tuple((role, whole(people.entries[role], 1, MOST)) for role in _COUNTS),
    )


def _optional(root: Table, name: str, default: str) -> str:
    tree = root.get(name)
    return text(tree, {}) if tree else default


def shipped_scenarios() -> tuple[str, ...]:
    """The names of the scenarios that travel with the program, sorted."""
    return tuple(sorted(p.parent.name for p in data_folder("scenarios").glob("*/setting.yaml")))


def find_scenario(name_or_folder: str) -> Scenario:
    """A shipped scenario by its name, or the one in a folder. Raises InputError for neither."""
    if name_or_folder in shipped_scenarios():
        return load_scenario(data_folder("scenarios") / name_or_folder)
    if Path(name_or_folder).is_dir():
        return load_scenario(Path(name_or_folder))
    hint = suggest(name_or_folder, shipped_scenarios())
    raise InputError(f"no scenario {shown(name_or_folder)}{hint} (or name a folder)")
