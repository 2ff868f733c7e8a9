"""Question kind: the fault is told and controls are moved; what do the loads do?

An option says for each of the same few loads what it does; its claim is `E1=dark E2=dim`, blanks
in a level written as underscores. Exactly one option is true of the circuit; the others are what
wrong mental models expect. Where a circuit remembers, controls may be moved one after the other.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from quizgen.base.errors import UnprovableError
from quizgen.circuit import components as c
from quizgen.faults import Fault
from quizgen.items.item import Item, Moves, Option, Proof
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.places import Nature
from quizgen.items.predict.levels import Levels, Operation, chosen_loads, expected
from quizgen.items.predict.operation_words import OperationWriter, claim_of
from quizgen.items.predict.scene import Scene, draw_scenes
from quizgen.solver.observation import observe

NAME = "predict-operation"
FAULTS = 14
FEWEST_OPTIONS = 3
MORE_STATES = 2
SEQUENCE_SHARE = 0.5  # of the materials that remember
LONGEST_RATIO = 1.7  # of option lengths, our threshold
PLAIN = {"fault-passed-over", "equal-drop", "all-dead", "branches-mixed-up"}
BACKWARDS = "turns backwards"
EDGES, CLEAR = (0.23, 0.72), 0.2  # shares at which levels change, about; how far off is clear
REMEMBER = (c.Relay, c.StarterSolenoid, c.Fuse, c.FusibleLink, c.Breaker)
REMEMBERED: tuple[Nature, ...] = ("short", "other", "open")
NATURES: tuple[Nature, ...] = ("open", "resistance", "short", "other")


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about what the loads do. Raises UnprovableError where there is none.

    No fault of one family is asked twice.
    """
    asked = {i.told for i in request.used if i.kind == NAME and i.family == material.template}
    for moved in _ways_to_move(material, rng):
        drafts = []
        natures = REMEMBERED if _repeats(moved.moves) else NATURES
        for scene in draw_scenes(moved, rng, 2 * FAULTS, natures):
            if scene.fault is None or (str(scene.fault),) in asked or _unknowable(scene.fault):
                continue
            draft = _draft(scene, request.options)
            if draft is not None:
                drafts.append(draft)
        if drafts:
            draft = rng.choices(drafts, [2.0**d.interest for d in drafts])[0]
            return _write(draft, rng)
    raise UnprovableError(
        f"{material.template}: no fault tried with {dict(material.moves)} parts the truth from "
        "the wrong models; try other positions or parameters"
    )


def _ways_to_move(material: Material, rng: random.Random) -> list[Material]:
    """The material in its state, then in others, should that give nothing.

    Now and then, where the circuit remembers, all of these with one control let go at the end
    come first.
    """
    more = [s for s in material.states if s != material.moves]
    states = [material.moves, *rng.sample(more, min(len(more), MORE_STATES))]
    parts = material.circuit.parts
    remembers = any(isinstance(p, REMEMBER) for p in parts)
    # with its ignition off an engine would stop, whatever the alternator's switch says
    remembers &= not any(isinstance(p, c.Alternator) for p in parts)
    if remembers and rng.random() < SEQUENCE_SHARE:
        states = [*(back for s in states if (back := _let_go(material, s, rng))), *states]
    return [replace(material, moves=moves) for moves in states]


def _let_go(material: Material, moves: Moves, rng: random.Random) -> Moves:
    """The moves and one hand control let go again, a momentary one if there is; () if none."""
    controls = [material.circuit.by_control[name] for name, _ in moves]
    hands = [control for control in controls if control.by == "hand"]
    hands = [control for control in hands if control.momentary] or hands
    if not hands:
        return ()
    control = rng.choice(hands)
    return (*moves, (control.name, control.rest))


@dataclass(frozen=True)
class Draft:
    """The loads that options speak of, and the wrong expectations of them."""

    operation: Operation
    loads: list[str]
    wrong: list[tuple[str, Levels]]

    @property
    def interest(self) -> float:
        """How much is to be thought about: telling wrong models, loads half at work or more."""
        op = self.operation
        telling = sum(name not in PLAIN for name, _ in self.wrong)
        odd = any(op.real[load] not in (op.usual[load], op.idle[load]) for load in self.loads)
        return telling + odd + 2.0 * op.history_matters - 2.0 * (len(self.loads) == 1)


def _draft(scene: Scene, options: int) -> Draft | None:
    """None if the fault changes nothing, something is in doubt, or few models part from it."""
    op = Operation(scene)
    if not op.changed or (_repeats(scene.material.moves) and not op.history_matters):
        return None
    models = expected(op)
    loads = chosen_loads(op, models)
    if any(op.usual[load] == BACKWARDS for load in loads):
        return None  # the words for it say that it should not
    odd = any(op.real[load] not in (op.usual[load], op.idle[load]) for load in loads)
    if odd and _trickles(scene):
        return None
    if not loads or op.doubtful(loads) or (scene.nature == "resistance" and not _clear(op)):
        return None
    seen = [claim_of(op.real, loads)]
    wrong: list[tuple[str, Levels]] = []
    for name, levels in models:
        claim = claim_of(levels, loads)
        if claim not in seen and name not in {n for n, _ in wrong}:
            seen.append(claim)
            wrong.append((name, levels))
    draft = Draft(op, loads, wrong[: options - 1])
    return draft if len(draft.wrong) >= FEWEST_OPTIONS - 1 and draft.interest > -1.0 else None


def _trickles(scene: Scene) -> bool:
    """A breaker that holds itself open by its heater lets a little through, nobody knows what."""
    opened = {e.part for e in scene.real.events if e.change == "opens"}
    breakers = [p for p in scene.circuit.parts if isinstance(p, c.Breaker)]
    return any(p.id in opened and p.reset == "held" for p in breakers)


def _unknowable(fault: Fault) -> bool:
    """Its effect hangs on figures that the stem does not tell."""
    return fault.mode in ("wrong-rating", "wrong-lamp", "weak")


def _clear(op: Operation) -> bool:
    """An estimate is enough: no load touched by the resistance is near the edge of a level.

    Of coils a reader knows no current, so loads are to be touched directly.
    """
    seen = {o.load: o for o in observe(op.scene.real)}
    for load in op.changed:
        if not op.struck(op.scene.circuit.part(load)):
            return False
        share = seen[load].share / (op.sound[load].share or 1.0)
        if any(abs(share - edge) < CLEAR * edge for edge in EDGES):
            return False
    return True


def _repeats(moves: Moves) -> bool:
    """A control is moved more than once."""
    return len(dict(moves)) < len(moves)


def _write(draft: Draft, rng: random.Random) -> Item:
    op, material = draft.operation, draft.operation.scene.material
    fault = op.scene.fault
    assert fault is not None  # drafted only with one
    writer = OperationWriter(op, draft.loads, rng)
    options = [writer.key(), *(writer.wrong(name, levels) for name, levels in draft.wrong)]
    options = _even(options)
    if len(options) < FEWEST_OPTIONS:
        raise UnprovableError(f"{material.template}: the options would be of unequal lengths")
    rng.shuffle(options)
    return Item(
        **KIND.label(material, rng),
        key_kind=op.scene.circuit.part(fault.part).kind,
        stem=writer.stem(),
        readings=(),
        question=writer.question(),
        options=tuple(options),
        origin=material.origin(str(fault)),
        proof=Proof(figures=writer.figures()),
        told=(str(fault),),
    )


def _even(options: list[Option]) -> list[Option]:
    """Without options that stand out by their length; the first one, the key, stays."""
    key = len(options[0].text)
    near = [o for o in options if 1 / LONGEST_RATIO < len(o.text) / key < LONGEST_RATIO]
    while max(len(o.text) for o in near) > LONGEST_RATIO * min(len(o.text) for o in near):
        near.remove(max(near[1:], key=lambda o: abs(len(o.text) - key)))
    return near


KIND = Kind(
    name=NAME,
    about="what the loads do, the fault being told",
    level="predict",
    responses=("one",),
    make=make,
)
