"""Question kind: which way does the current take through a load, from battery to frame?

Claims are steps in the notation of `current_path.Step.label`: of an ordering each option is
one (`F1`, `K1:30-87`, `X1:2`), of a list the load and all steps (`M1:F1>K1:30-87>M1>G2`). The
first thing observed is the load. That each step is in series with the load is proved by opening
it; the order is that in which one current passes them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from quizgen.base.errors import UnprovableError
from quizgen.circuit import components as c
from quizgen.items.current_path import SHARE, Flows, Path, Step, amps_when_open
from quizgen.items.item import Figure, Item, Moves, Observed, Option, Proof, Response
from quizgen.items.kind import Kind
from quizgen.items.material import IDLE, Material, Request
from quizgen.items.path_words import Account, end_name, long_name, short_name
from quizgen.items.sentences import Sentences, capital, load_words, state_words, the
from quizgen.items.wrong_paths import Wrong, labels, wrong_paths
from quizgen.solver.observation import Observation

NAME = "trace-path"
KIND_FILE = "trace_path"
MOST_STATES = 10  # of the controls, looked at for one item
LEAST_AMPS = 0.005  # of a load that somebody would speak of
FEWEST_STEPS, MOST_STEPS = 4, 6  # of an ordering
LONGEST_LIST = 9
LONGEST_RATIO = 1.7  # of option lengths, our threshold
STILL_FED = 0.9  # of its current: nothing was taken from the load
LAST_RESORT = ("starts-at-the-panel", "order-by-habit", "against-the-current")
FORWARDS = {"turns backwards": "turns"}  # of a sound motor that has two directions


@dataclass(frozen=True)
class Draft:
    """A load at work in one state, and the one way of its current."""

    material: Material
    seen: Observation
    flows: Flows
    path: Path
    loads: tuple[str, ...]  # all that are at work

    @property
    def account(self) -> Account:
        return Account(self.flows, self.path)


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved item about a load that works, in the material's state or another.

    Raises UnprovableError when no load has one way of its own with enough parts in it.
    """
    for response in KIND.ways(request, rng):
        asked = {_about(i) for i in request.used if i.kind == NAME and i.response == response}
        for draft in _drafts(material, rng):
            if (material.template, draft.path.load.part, draft.material.moves) in asked:
                continue
            item = _item(draft, response, request.options, rng)
            if item is not None:
                return item
    raise UnprovableError(
        f"{material.template}: no load has one way of the current that is long enough; "
        "try other parameters"
    )


def _about(item: Item) -> tuple[str, str, Moves]:
    return item.family, item.proof.observed[0].part, item.origin.positions


def _drafts(material: Material, rng: random.Random) -> Iterator[Draft]:
    """Every load that works, state by state, the material's own state first."""
    others = [moves for moves in material.states if moves != material.moves]
    rng.shuffle(others)
    for moves in [material.moves, *others[:MOST_STATES]]:
        here = replace(material, moves=moves)
        if here.sound.behaviour != "steady" or here.sound.ambiguous:
            continue
        flows = Flows(here.sound)
        at_work = [o for o in here.seen if o.level not in IDLE]
        found = []
        for seen in at_work:
            path = flows.path(seen.load)
            if path is not None and path.load.amps >= LEAST_AMPS and not seen.doubtful:
                found.append((rng.random() ** (1.0 / len(path.devices)), seen, path))
        for _, seen, path in sorted(found, key=lambda f: -f[0]):
            yield Draft(here, seen, flows, path, tuple(o.load for o in at_work))


def _item(draft: Draft, response: Response, options: int, rng: random.Random) -> Item | None:
    sentences = Sentences(KIND_FILE, rng)
    if response == "order":
        steps = _some_steps(draft, rng)
        return _ordering(draft, steps, sentences, rng) if steps else None
    if len(draft.path.devices) > LONGEST_LIST or not _in_series(draft, draft.path.devices):
        return None
    wrong = _choose(draft, sentences, options - 1, rng)
    if len(wrong) < min(options - 1, 2):
        return None
    return _lists(draft, wrong, sentences, rng)


def _in_series(draft: Draft, steps: Sequence[Step]) -> bool:
    load = draft.path.load
    left = amps_when_open(draft.material.circuit, draft.material.moves, load.part, steps)
    return max(left) <= SHARE * load.amps


# --- the order ------------------------------------------------------------------------


def _some_steps(draft: Draft, rng: random.Random) -> tuple[Step, ...]:
    """Four to six steps with the load and what lies behind it, wires only where they lack."""
    path = draft.path
    pool = [s for s in path.devices if _in_series(draft, [s])]
    if path.load not in pool:
        return ()
    wires = [s for s in path.steps if s.kind == c.Wire.kind and _in_series(draft, [s])]
    rng.shuffle(wires)
    pool += wires[: max(FEWEST_STEPS - len(pool), 0)]
    needed = [path.load, *[s for s in path.after if s in pool][-1:]]
    rest = [s for s in pool if s not in needed]
    chosen = [*needed, *rng.sample(rest, min(len(rest), MOST_STEPS - len(needed)))]
    chosen = [s for s in path.steps if s in chosen]
    return tuple(chosen) if len(chosen) >= FEWEST_STEPS else ()


def _ordering(
    draft: Draft, steps: tuple[Step, ...], sentences: Sentences, rng: random.Random
) -> Item:
    circuit = draft.material.circuit
    shuffled = list(steps)
    while tuple(shuffled) == steps:
        rng.shuffle(shuffled)
    account = draft.account
    options = []
    for step in shuffled:
        passed = sentences.say(
            "passed",
            through=account.through(step.label),
            a=end_name(circuit, step, step.a),
            b=end_name(circuit, step, step.b),
        )
        text = long_name(circuit, step.label, sentences)
        options.append(
            Option(
                claim=step.label, text=text, is_key=False, rationale=(passed,),
                figures=account.figures(),
            )
        )  # fmt: skip
    item = _frame(draft, steps, sentences, rng, "question_order")
    return replace(
        item,
        response="order",
        options=tuple(options),
        order=tuple(shuffled.index(step) for step in steps),
        solution=_key_words(draft, steps, draft.account, sentences),
    )


# --- lists ----------------------------------------------------------------------------


def _choose(draft: Draft, sentences: Sentences, count: int, rng: random.Random) -> list[Wrong]:
    """Wrong ways of different sorts, of like length, one of them as long as the right one."""
    right = _list_text(draft, labels(draft.path.devices), sentences)
    pool = list(wrong_paths(draft.flows, draft.path, draft.loads, draft.material.states))
    rng.shuffle(pool)
    lengths = {w: len(_list_text(draft, w.labels, sentences)) for w in pool}
    pool.sort(key=lambda w: _last(w) + (lengths[w] < len(right)))
    chosen: list[Wrong] = []
    for wrong in [*pool[:1], *sorted(pool[1:], key=_last)]:
        lying = [len(right), lengths[wrong], *(lengths[w] for w in chosen)]
        if max(lying) > LONGEST_RATIO * min(lying) or len(chosen) == count:
            continue
        if _fits(draft, wrong, chosen):
            chosen.append(wrong)
    return chosen


def _last(wrong: Wrong) -> int:
    """What anybody can see through comes last."""
    name = wrong.misconception
    return 2 * (LAST_RESORT.index(name) + 1) if name in LAST_RESORT else 0


def _fits(draft: Draft, wrong: Wrong, chosen: Sequence[Wrong]) -> bool:
    """Another sort and another way than those chosen; what is said of it is true."""
    if any(w.misconception == wrong.misconception or w.labels == wrong.labels for w in chosen):
        return False
    if wrong.misconception == "parallel-as-series":
        account = draft.account
        step = draft.flows.step(wrong.wrong)
        return account.left(step) >= STILL_FED * draft.path.load.amps
    return True


def _list_text(draft: Draft, way: Sequence[str], sentences: Sentences) -> str:
    circuit = draft.material.circuit
    return sentences.say("arrow").join(short_name(circuit, label, sentences) for label in way)


def _lists(draft: Draft, wrong: list[Wrong], sentences: Sentences, rng: random.Random) -> Item:
    path, account = draft.path, draft.account
    why = Sentences("misconceptions", rng, "sentences")
    right = labels(path.devices)
    key = Option(
        claim=f"{path.load.part}:{'>'.join(right)}",
        text=_list_text(draft, right, sentences),
        is_key=True,
        rationale=_key_words(draft, path.devices, account, sentences),
        figures=account.figures(),
    )
    options = [key]
    for w in wrong:
        said = _wrong_words(draft, w, account, sentences)
        options.append(
            Option(
                claim=f"{path.load.part}:{'>'.join(w.labels)}",
                text=_list_text(draft, w.labels, sentences),
                is_key=False,
                rationale=(said, why.say(w.misconception)),
                misconception=w.misconception,
                figures=account.figures(),
            )
        )
    rng.shuffle(options)
    item = _frame(draft, path.devices, sentences, rng, "question_one")
    stem = (f"{item.stem[0]} {sentences.say('complete')}",)
    return replace(item, options=tuple(options), stem=stem)


# --- words ----------------------------------------------------------------------------


def _frame(
    draft: Draft, steps: Sequence[Step], sentences: Sentences, rng: random.Random, question: str
) -> Item:
    """The item without its options."""
    material, load = draft.material, draft.path.load
    circuit = material.circuit
    part = circuit.by_id[load.part]
    state = state_words(circuit, dict(material.moves))
    does = load_words(part, FORWARDS.get(draft.seen.level, draft.seen.level))
    words = {"load": the(part), "supply": the(circuit.by_id[draft.path.supply])}
    return Item(
        **KIND.label(material, rng),
        key_kind=part.kind,
        stem=(sentences.say("stem" if state else "stem_at_rest", state=state, does=does),),
        readings=(),
        question=sentences.say(question, **words),
        options=(),
        origin=material.origin(),
        proof=Proof(
            observed=(Observed(part=load.part, level=draft.seen.level),),
            figures=_proof(draft, steps),
        ),
    )


def _proof(draft: Draft, steps: Sequence[Step]) -> tuple[Figure, ...]:
    """What each step carries alone is said with the options; here what is left without it."""
    account = draft.account
    account.through(draft.path.load.label)
    for step in steps:
        account.with_open(step.label)
    return account.figures()


def _key_words(
    draft: Draft, steps: Sequence[Step], account: Account, sentences: Sentences
) -> tuple[str, ...]:
    circuit, path = draft.material.circuit, draft.path
    load = path.load
    most = max((s for s in steps if s != load), key=account.left)
    feed = path.devices[min(len(path.devices) // 2, len(path.before))]
    words = {
        "load": the(circuit.by_id[load.part]),
        "supply": the(circuit.by_id[path.supply]),
        "amps": account.through(load.label),
        "left": account.with_open(most.label),
        "way": _list_text(draft, labels(steps), sentences),
        "middle": end_name(circuit, feed, feed.a),
    }
    return (sentences.say("key", **words), sentences.say("next", **words))


def _wrong_words(draft: Draft, wrong: Wrong, account: Account, sentences: Sentences) -> str:
    """What is wrong with a way, with the figures that make it so."""
    circuit, flows = draft.material.circuit, draft.flows
    name = wrong.misconception
    words = {
        "load": the(circuit.by_id[draft.path.load.part]),
        "supply": the(circuit.by_id[draft.path.supply]),
        "amps": account.through(draft.path.load.label),
        "wrong": short_name(circuit, wrong.wrong, sentences),
        "state": state_words(circuit, dict(wrong.moves)) or "everything at rest",
    }
    if wrong.right:
        words["right"] = short_name(circuit, wrong.right, sentences)
    if name in ("coil-for-contact", "read-as-drawn", "other-position", "parallel-as-series"):
        words["through"] = account.through(wrong.wrong)
    if name == "neighbour-fuse":
        words["through"] = account.through(wrong.wrong)
        words["left"] = account.with_open(wrong.right)
        name = name if flows.step(wrong.wrong) else "neighbour-fuse-idle"
    if name in ("one-wire", "ground-side-forgotten", "starts-at-the-panel", "parallel-as-series"):
        words["left"] = account.with_open(wrong.wrong)
    step = flows.step(wrong.wrong)
    if step:
        words["a"] = end_name(circuit, step, step.a)
        words["b"] = end_name(circuit, step, step.b)
    first = flows.step(wrong.right)
    if first:
        words["c"] = end_name(circuit, first, first.a)
    return capital(sentences.say(name, **words))


KIND = Kind(
    name=NAME,
    about="the way of the current through a load, in order",
    level="read",
    responses=("order", "one"),
    make=make,
)
