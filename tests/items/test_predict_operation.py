"""Items that ask what the loads do: made, verified, altered."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template
from quizgen.faults import inject, parse_fault
from quizgen.items.item import Figure, Item, Option
from quizgen.items.kinds.predict_operation import make
from quizgen.items.material import Request, draw_material
from quizgen.items.verify import Verifier
from quizgen.solver import solve
from quizgen.solver.observation import observe
from tests.items.altered import swapped, with_option, wrong

FAMILIES = (
    "blower-pack", "central-locking", "charging", "fuel-gauge", "ground-cluster",
    "ground-switched-lamps", "headlamps", "intake-heater", "push-button-relay", "radiator-fan",
    "tail-stop-plate", "two-station-motor",
)  # fmt: skip


def items_of(family: str, count: int) -> list[Item]:
    """Items of one family, each of another circuit."""
    rng = random.Random(f"operation {family}")
    template = find_template(family)
    found: list[Item] = []
    while len(found) < count:
        try:
            found.append(make(draw_material(template, rng), Request(used=found), rng))
        except UnprovableError:
            continue
    return found


def in_turn(item: Item) -> bool:
    """Some control is moved twice."""
    return len(dict(item.origin.positions)) < len(item.origin.positions)


@pytest.fixture(scope="module")
def items() -> tuple[Item, ...]:
    """Three of each family, and one with controls moved in turn."""
    found = [item for family in FAMILIES for item in items_of(family, 3)]
    return (*found, next(filter(in_turn, items_of("heated-window", 12))))


@pytest.fixture(scope="module")
def verifier() -> Verifier:
    """One that remembers all circuits."""
    return Verifier(remembered=40)


def test_items_are_verified(items: tuple[Item, ...], verifier: Verifier) -> None:
    """The verifier has nothing to say against an item as made."""
    assert {item.id: verifier.verify(item) for item in items} == {item.id: () for item in items}


def test_loads_of_the_told_circuit_do_what_the_key_says(items: tuple[Item, ...]) -> None:
    """Made again from its origin alone; motors that are only slow or fast still turn."""
    for item in items:
        circuit = find_template(item.origin.template).build(dict(item.origin.parameters))
        point = solve(
            inject(circuit, parse_fault(item.told[0])),
            [{name: position} for name, position in item.origin.positions],
        )
        seen = {o.load: o.level.replace(" ", "_") for o in observe(point)}
        for word in item.key.claim.split():
            load, _, level = word.partition("=")
            assert level in (seen[load], "turns_slowly", "turns_too_fast")


def test_some_controls_are_moved_in_turn(items: tuple[Item, ...]) -> None:
    """Where a circuit remembers, items also ask what comes of it when a control is let go."""
    assert any(map(in_turn, items))


def test_options_speak_of_the_same_loads(items: tuple[Item, ...]) -> None:
    """Three or four options, one load to four, lengths that give nothing away."""
    for item in items:
        loads = {tuple(w.partition("=")[0] for w in o.claim.split()) for o in item.options}
        lengths = [len(o.text) for o in item.options]
        assert len(loads) == 1
        assert 1 <= len(next(iter(loads))) <= 4
        assert 3 <= len(item.options) <= 4
        assert max(lengths) <= 1.7 * min(lengths)


def test_the_same_seed_makes_the_same_item() -> None:
    """Nothing but the generator's own randomness counts."""
    assert items_of("charging", 1) == items_of("charging", 1)


# --- alterations -----------------------------------------------------------------------------


def with_claim(item: Item, old: Option, claim: str) -> Item:
    """The item with the claim of an option changed."""
    return with_option(item, old, claim=claim)


def first_load(option: Option) -> str:
    """The load that its claim begins with."""
    return option.claim.partition("=")[0]


def with_figure(item: Item, name: str, value: float) -> Item:
    """The key with another figure."""
    return with_option(item, item.key, figures=(Figure(name=name, value=value, unit="V"),))


ALTERED: dict[str, tuple[Callable[[Item], Item], str]] = {
    "key": (swapped, "the key says"),
    "true claim": (
        lambda i: with_claim(i, wrong(i), f"{i.key.claim} "), "is true as well"
    ),
    "other loads": (lambda i: with_claim(i, wrong(i), "Q9=dark"), "does not speak of"),
    "no load": (
        lambda i: replace(i, options=tuple(replace(o, claim="") for o in i.options)), "the claim ''"
    ),
    "no such part": (
        lambda i: replace(i, options=tuple(
            replace(o, claim=f"Q9=dark{'_' * n}") for n, o in enumerate(i.options)
        )),
        "Q9 is no load",
    ),
    "no load but a part": (
        lambda i: replace(i, options=tuple(
            replace(o, claim=f"GB1=dark{'_' * n}") for n, o in enumerate(i.options)
        )),
        "is no load",
    ),
    "no such level": (
        lambda i: with_claim(i, wrong(i), wrong(i).claim.replace(
            wrong(i).claim.split()[0], f"{first_load(wrong(i))}=purple")), "cannot be 'purple'"
    ),
    "text": (lambda i: with_option(i, wrong(i), text="It is worn out"), "its text names"),
    "text of the key": (
        lambda i: with_option(i, i.key, text=f"{i.key.text} again"), "does not say that"
    ),
    "model": (lambda i: with_option(i, wrong(i), misconception=""), "no wrong model"),
    "rationale": (lambda i: with_option(i, wrong(i), rationale=()), "has no rationale"),
    "figure in a rationale": (
        lambda i: with_option(i, wrong(i), rationale=("It has 77.7 V.",)), "has 77.7 V"
    ),
    "figure": (lambda i: with_figure(i, first_load(i.key), 77.7), "not 77.7"),
    "figure of another load": (lambda i: with_figure(i, "Q9", 0.0), "no option speaks of"),
    "proof": (
        lambda i: replace(i, proof=replace(i.proof, figures=(
            Figure(name=first_load(i.key), value=float("nan")),))), "not nan"
    ),
    "fault": (lambda i: replace(i, told=("W1:open",)), "the fault put in is"),
    "no fault": (
        lambda i: replace(i, told=(), origin=replace(i.origin, fault="")), "the fault put in is"
    ),
    "no such fault": (
        lambda i: replace(i, told=("Q9:open",), origin=replace(i.origin, fault="Q9:open")),
        "cannot be made again",
    ),
    "stem": (lambda i: replace(i, stem=("It does not work.",)), "does not tell that"),
    "state": (lambda i: replace(i, stem=i.stem[:1]), "does not say"),
    "kind at fault": (lambda i: replace(i, key_kind="source"), "kind of part at fault"),
}  # fmt: skip


@pytest.mark.parametrize("what", ALTERED)
def test_what_was_altered_is_found(items: tuple[Item, ...], what: str, verifier: Verifier) -> None:
    """Whatever is changed, the verifier says what is wrong, in a line."""
    alter, line = ALTERED[what]
    item = next(i for i in items if i.origin.positions)
    findings = verifier.verify(alter(item))
    assert any(line in finding for finding in findings), findings
    assert not [finding for finding in findings if "\n" in finding]


def test_moves_told_in_another_order_are_found(items: tuple[Item, ...], verifier: Verifier) -> None:
    """Order matters where a control is moved twice, so the stem has to keep it."""
    item = next(filter(in_turn, items))
    told, moves = item.stem[0], item.stem[-1]
    first, *steps = moves.removesuffix(".").split(", then ")
    start, _, step = first.rpartition(": ")
    turned = f"{start}: {', then '.join([*steps[::-1], step])}."
    assert any(
        "in its order" in line for line in verifier.verify(replace(item, stem=(told, turned)))
    )
