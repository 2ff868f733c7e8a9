"""What is hunted: a machine with a hidden fault, and what its driver tells.

Everything follows from a label and the wishes, so a log needs no more than those to begin again,
and does not say what the fault is. A fault is only hidden where a voltmeter at every point, with
the controls as the driver had them, leaves next to nothing else standing.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace

from quizgen.base.errors import InputError, UnprovableError
from quizgen.base.seeds import Seed
from quizgen.base.suggest import shown, suggest
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.template import Template, find_template, shipped_templates
from quizgen.diagnosis.claims import claims
from quizgen.diagnosis.clicks import BUZZES, CLICKS, NO_CLICK
from quizgen.diagnosis.dictionary import FaultDictionary, build_dictionary
from quizgen.drill.hunt.naming import place
from quizgen.faults import Fault, WeightedFault, inject, universe
from quizgen.items.complaint import complaints, told
from quizgen.items.material import Material, draw_material
from quizgen.items.sentences import Sentences
from quizgen.items.standing import Standing as Suspected
from quizgen.items.stem import write_stem
from quizgen.scenario.records import Machine
from quizgen.scenario.scenario import Scenario
from quizgen.solver.operating_point import Moves

LEVELS = {"easy": (3, 6), "middle": (7, 14), "hard": (15, 10_000)}
"""In how many places the fault may be to begin with, from and to."""

ANY = "any"
MOST_ALIKE = 2  # places that no voltmeter tells from that of the fault, itself included
TRIES = 8  # circuits
ROWS = 30  # faults of one circuit
HUNT = Seed(b"a fault to be hunted, not a secret", ("hunt",))
SAID = {CLICKS: "yes", NO_CLICK: "no", BUZZES: "buzzes"}


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What sort of hunt is wanted; "" leaves it to chance."""

    label: str
    circuit: str = ""  # a name, or a file of one's own
    topic: str = ""
    level: str = ANY


@dataclass(frozen=True, kw_only=True)
class Case:
    """A sound circuit, the fault that is in it, and what the driver saw with `moves` made."""

    wish: Wish
    machine: str  # "" if nobody has one with this circuit
    circuit: Circuit
    fault: Fault = field(repr=False)
    moves: Moves
    story: tuple[str, ...]  # paragraphs
    sees: tuple[tuple[str, str], ...]  # load, level
    clicks: tuple[tuple[str, str], ...]  # relay, as in evidence
    places: int  # in which a fault would agree with the story

    @property
    def faulty(self) -> Circuit:
        """The circuit with the fault in it."""
        return inject(self.circuit, self.fault)

    @property
    def level(self) -> str:
        """Which of `LEVELS` the number of places makes it."""
        return next(name for name, (_, most) in LEVELS.items() if self.places <= most)

    def with_fault(self, fault: Fault) -> Case:
        """Another fault that the driver would have told the same of."""
        return replace(self, fault=fault)


def draw_case(wish: Wish, scenario: Scenario) -> Case:
    """A hunt as wished; where none of the level turns up, the one that comes nearest to it.

    Raises InputError for an unknown circuit, topic or level, UnprovableError when there is
    nothing to hunt for.
    """
    if wish.level not in (ANY, *LEVELS):
        raise InputError(f"no level {shown(wish.level)}{suggest(wish.level, (ANY, *LEVELS))}")
    names = _circuits(wish)
    label = find_template(wish.circuit).name if wish.circuit else ""  # the same in any folder
    nearest: Case | None = None
    tried: set[tuple[str, Moves]] = set()
    for attempt in range(TRIES):
        rng = HUNT.under(wish.label, label, wish.topic, wish.level, attempt).rng()
        material = _untried(_material(rng.choice(names), scenario, rng), tried, rng)
        case = _case(wish, material, rng) if material else None
        if case and not _miss(wish, case.places):
            return case
        if case and (nearest is None or _miss(wish, case.places) < _miss(wish, nearest.places)):
            nearest = case
    if nearest is None:
        raise UnprovableError(
            f"{wish.circuit or wish.topic or 'hunt'}: no fault turned up that a driver notices"
            " and readings can decide; try another circuit"
        )
    return nearest


def _untried(
    material: Material | None, tried: set[tuple[str, Moves]], rng: random.Random
) -> Material | None:
    """In another state of the controls, where nothing came of this one; it is added to `tried`."""
    if material is None:
        return None
    fresh = [moves for moves in material.states if (material.template, moves) not in tried]
    if fresh and material.moves not in fresh:
        material = replace(material, moves=rng.choice(fresh))
    tried.add((material.template, material.moves))
    return material


def _miss(wish: Wish, places: int) -> int:
    """By how many places a hunt is too easy or too hard."""
    low, high = LEVELS.get(wish.level, (LEVELS["easy"][0], LEVELS["hard"][1]))
    return max(low - places, places - high, 0)


def _circuits(wish: Wish) -> tuple[str, ...]:
    if wish.circuit:
        find_template(wish.circuit)
        return (wish.circuit,)
    names = shipped_templates()
    if not wish.topic:
        return names
    topics = {name: find_template(name).topics for name in names}
    able = tuple(name for name in names if wish.topic in topics[name])
    if not able:
        known = sorted({topic for some in topics.values() for topic in some})
        raise InputError(f"no topic {shown(wish.topic)}{suggest(wish.topic, known)}")
    return able


def _material(name: str, scenario: Scenario, rng: random.Random) -> Material | None:
    """None where nothing can be switched on."""
    template = find_template(name)
    machines = scenario.machines_with(template.name)
    try:
        if machines:
            return _on_machine(template, rng.choice(machines), scenario, rng)
        return draw_material(template, rng)
    except UnprovableError:
        return None


def _on_machine(
    template: Template, machine: Machine, scenario: Scenario, rng: random.Random
) -> Material:
    def complain(part: str, name: str, does: str, instead_of: str, moves: Moves) -> str:
        return scenario.complaint(
            rng, machine, template.name, dict(moves),
            part=part, load=name, does=does, instead_of=instead_of,
        )  # fmt: skip

    settings = machine.settings(template.name)
    try:
        return draw_material(template, rng, settings, machine.title, complain)
    except InputError as error:
        raise InputError(f"scenario {scenario.name}, {machine.id}: {error}") from None


def _case(wish: Wish, material: Material, rng: random.Random) -> Case | None:
    """The first hunt of the level on a material, or the nearest to it; None if there is none."""
    pool = universe(material.circuit)
    dictionary = _dictionary(material, pool)
    found: tuple[int, int] | None = None
    for row in complaints(dictionary, (), rng, ROWS):
        many = _places(Suspected(dictionary, row, pool=pool))
        nearer = found is None or _miss(wish, many) < _miss(wish, found[1])
        if many > 1 and nearer and _decidable(dictionary, row, pool):
            found = row, many
            if not _miss(wish, many):
                break
    return _told_case(wish, material, dictionary, *found, rng) if found else None


def _dictionary(material: Material, pool: tuple[WeightedFault, ...]) -> FaultDictionary:
    """Without the severities that nobody hides here; they are two thirds of the work."""
    usual = {weighted.fault for weighted in pool}
    possible = tuple(
        replace(claim, members=tuple(fault for fault in claim.members if fault in usual))
        for claim in claims(material.circuit, pool)
    )
    points = [n for n in material.circuit.nodes if n != material.circuit.reference]
    return build_dictionary(material.circuit, material.moves, points, possible)


def _decidable(dictionary: FaultDictionary, row: int, pool: tuple[WeightedFault, ...]) -> bool:
    return _places(Suspected(dictionary, row, dictionary.points, pool)) <= MOST_ALIKE


def _places(suspected: Suspected) -> int:
    circuit = suspected.dictionary.circuit
    return len({place(circuit, fault) for fault in suspected.suspects})


def _told_case(
    wish: Wish,
    material: Material,
    dictionary: FaultDictionary,
    row: int,
    many: int,
    rng: random.Random,
) -> Case:
    fault = dictionary.members[row].fault
    assert fault is not None  # a complaint has a fault behind it
    observed = told(dictionary, row)
    loads = len(dictionary.seen[row])
    return Case(
        wish=wish,
        machine=material.machine,
        circuit=material.circuit,
        fault=fault,
        moves=material.moves,
        story=write_stem(dictionary, row, material.complain, Sentences("fault_from_readings", rng)),
        sees=tuple((o.part, o.level) for o in observed[:loads]),
        clicks=tuple((o.part, SAID[o.level]) for o in observed[loads:]),
        places=many,
    )
