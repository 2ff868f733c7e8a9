"""Students made of code: one follows the course, one tests at random, one does anything."""

from __future__ import annotations

import json
import random
from dataclasses import dataclass, fields
from functools import cached_property

from click.testing import CliRunner

from quizgen.circuit.components import Breaker, Wire
from quizgen.circuit.template import find_template
from quizgen.cli.main import cli
from quizgen.cli.options import used_settings
from quizgen.drill.hunt import engine as e
from quizgen.drill.hunt.case import Case, Wish, draw_case
from quizgen.drill.hunt.course import Course, acts_for
from quizgen.drill.hunt.engine import Act, Hunt, Taken, act, begin
from quizgen.drill.hunt.field import Field, Opened, View, field_of
from quizgen.drill.hunt.standing import Standing
from quizgen.drill.hunt.tree import Fork, Ready
from quizgen.instruments import INSTRUMENTS
from quizgen.scenario.scenario import find_scenario

SCENARIO = find_scenario("brindlemere")


def drawn(label: str, circuit: str = "", level: str = "any") -> Case:
    """A case of the shipped scenario."""
    return draw_case(Wish(label=label, circuit=circuit, level=level), SCENARIO)


@dataclass(frozen=True)
class Played:
    """Where a student has come to: the hunt, and the claims that the readings leave."""

    hunt: Hunt
    claims: frozenset[int]


class Remembering(Field):
    """Suspects that solve nothing twice: those who follow a course begin alike."""

    def views(self, done: Act, standing: Standing, opened: Opened) -> tuple[list[View], Opened]:
        """As `Field.views`."""
        how = (standing.moves, standing.apart, standing.unplugged, standing.jumper)
        key = done, how, standing.renewed, opened
        if key not in self.kept:
            self.kept[key] = super().views(done, standing, opened)
        return self.kept[key]

    @cached_property
    def kept(self) -> dict[object, tuple[list[View], Opened]]:
        """All that was asked."""
        return {}


def suspects_of(case: Case) -> Field:
    """The suspects of a case, remembering."""
    found = field_of(case)
    return Remembering(**{f.name: getattr(found, f.name) for f in fields(found)})


def follow(course: Course, truth: int) -> Played:
    """Do what the course says with a truth hidden, and go by what is shown alone.

    Raises KeyError where the course has no branch for what is shown.
    """
    field = course.field
    hunt = begin(course.case.with_fault(field.claimed[truth].usual))
    node, opened, left = course.root, field.opened, field.everything
    while isinstance(node, Fork):
        for done in acts_for(field, course.trials[node.trial], hunt.standing):
            hunt, _ = act(hunt, done)
            left, opened, _ = field.after(hunt.taken[-1], opened, left)
        node = dict(node.branches)[left]
    return Played(hunt, field.claims_in(left))


def at_random(course: Course, truth: int, rng: random.Random) -> float:
    """Minutes that the same tests take in any order, none twice, until all left is right."""
    cells, ready, minutes = course.field.everything, Ready(), 0.0
    for trial in rng.sample(course.trials, len(course.trials)):
        if course.field.claims_in(cells) <= course.answers[truth]:
            break
        minutes += ready.cost(trial)
        ready, cells = ready.after(trial), cells & trial.leaves[truth]
    return minutes


def anything(hunt: Hunt, rng: random.Random) -> Act:
    """Some act, sensible or not, possible or not."""
    circuit = hunt.case.circuit
    parts = [p.id for p in circuit.parts]
    pins = [f"{p.id}.{t}" for p in circuit.parts for t in p.terminals if not isinstance(p, Wire)]
    pins += [circuit.reference, *(pin.replace(".", "/") for pin in pins[:6])]
    off = (*hunt.standing.apart, *hunt.standing.unplugged)
    control = rng.choice(circuit.controls) if circuit.controls else None
    tool = rng.choice([*INSTRUMENTS, "voltmeter", "voltmeter", "ohmmeter"])
    points = (rng.choice(pins), rng.choice([circuit.reference, rng.choice(pins)]))
    acts = {
        Act(e.MEASURE, (e.CLAMP, rng.choice(parts)) if tool == e.CLAMP else (tool, *points)): 40,
        Act(e.WATCH): 15,
        Act(e.TURN, (control.name, rng.choice(control.positions)) if control else ()): 20,
        Act(e.APART, (rng.choice(parts),)): 5,
        Act(e.UNPLUG, (rng.choice(parts),)): 8,
        Act(e.BACK, (rng.choice([*off, rng.choice(parts)]),)): 8,
        Act(e.JUMP, points): 4,
        Act(e.JUMP, (e.OFF,)): 2,
        Act(e.FUSE, (rng.choice(parts),)): 4,
        Act("dance"): 1,
    }
    return rng.choices(list(acts), list(acts.values()))[0]


def as_commanded(hunt: Hunt, taken: Taken) -> str | None:
    """What `quizgen circuit measure` shows for a reading of a hunt, "" if it refuses.

    None where the command has no option for how the machine stands: a jumper, a new fuse.
    """
    before, circuit = taken.before, hunt.case.circuit
    if before.jumper or before.renewed:
        return None
    name = hunt.case.wish.circuit or circuit.name
    words = ["circuit", "measure", name, "--json", "--instrument", taken.act.args[0]]
    words += ["--red", taken.act.args[1]]
    if len(taken.act.args) > 2 and taken.act.args[2]:
        words += ["--black", taken.act.args[2]]
    for key, value in used_settings(find_template(name), circuit).items():
        text = (
            {True: "true", False: "false"}.get(value, value) if isinstance(value, bool) else value
        )
        words += ["--set", f"{key}={text}"]
    for control, position in before.moves:
        words += ["--position", f"{control}={position}"]
    words += ["--fault", str(hunt.case.fault)]
    for part in before.opened:
        mode = "stuck-open" if isinstance(circuit.part(part), Breaker) else "blown"
        words += ["--fault", f"{part}:{mode}"]
    for option, names in (("--apart", before.apart), ("--unplugged", before.unplugged)):
        words += [word for part in names for word in (option, part)]
    found = CliRunner().invoke(cli, words, catch_exceptions=False, standalone_mode=False)
    return str(json.loads(found.output)["shown"])
