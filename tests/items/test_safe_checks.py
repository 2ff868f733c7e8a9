"""Which check is safe, which one confirms: items as made are right, altered ones are found out."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template
from quizgen.items.item import Figure, Item
from quizgen.items.kinds import safe_procedure, which_instrument
from quizgen.items.material import Request, draw_material
from quizgen.items.verify import Verifier
from tests.items.altered import swapped, with_option, wrong

FAMILIES = ("push-button-relay", "two-station-motor", "intake-heater", "warning-lamp", "wiper")
KINDS = (safe_procedure.KIND, which_instrument.KIND)


@pytest.fixture(scope="module")
def made() -> dict[str, list[Item]]:
    """Kind → a few items, two of each family."""
    found: dict[str, list[Item]] = {kind.name: [] for kind in KINDS}
    for family in FAMILIES:
        rng = random.Random(f"checks {family}")
        for _ in range(2):
            material = draw_material(find_template(family), rng)
            for kind in KINDS:
                used = found[kind.name]
                used.append(kind.make(material, Request(used=used), rng))
    return found


@pytest.fixture(scope="module")
def checker() -> Verifier:
    return Verifier(remembered=32)


def test_items_as_made_are_right(made: dict[str, list[Item]], checker: Verifier) -> None:
    """Instruments and rules of safety, written twice, agree on every option."""
    items = [item for found in made.values() for item in found]
    wrong = {f"{i.family} {i.key_claims}": f for i in items if (f := checker.verify(i))}
    assert len(items) == 20
    assert not wrong


def test_no_unsafe_act_is_right(made: dict[str, list[Item]]) -> None:
    """A bare wire, an ammeter or a jumper across anything, an ohmmeter with the battery on."""
    for item in (item for found in made.values() for item in found):
        instrument = item.key.claim.split(maxsplit=1)[0]
        assert instrument not in ("unfused-jumper", "ammeter", "fused-jumper")
        if instrument in ("ohmmeter", "self-powered-lamp"):
            assert "GB1 disconnected" in item.key.text


def test_every_wrong_check_of_a_safe_procedure_has_another_reason(
    made: dict[str, list[Item]],
) -> None:
    """Three wrong options, three lessons."""
    for item in made["safe-procedure"]:
        sorts = [o.misconception for o in item.options if not o.is_key]
        assert len(set(sorts)) == len(sorts) >= 2


def test_machines_with_an_alternator_are_left_alone() -> None:
    """Isolating the battery does not make them dead while the engine runs."""
    rng = random.Random("alternator")
    material = draw_material(find_template("charging"), rng)
    for kind in KINDS:
        with pytest.raises(UnprovableError, match="more than a battery"):
            kind.make(material, Request(), rng)


# --- alterations ----------------------------------------------------------------------------


def key(item: Item, **changes: object) -> Item:
    return with_option(item, item.key, **changes)


def seen_otherwise(item: Item) -> Item:
    first, *rest = item.proof.observed
    level = "bright" if first.level == "dark" else "dark"
    seen = (replace(first, level=level), *rest)
    return replace(item, proof=replace(item.proof, observed=seen))


def figures(item: Item) -> Item:
    one, other = item.key.figures
    return key(item, figures=(Figure(name=one.name, value=77.7, unit=one.unit), other))


BOTH: dict[str, tuple[Callable[[Item], Item], str]] = {
    "another key": (swapped, ""),
    "text of the key": (lambda i: key(i, text="Look at it: dark"), "the option reads"),
    "text of another": (lambda i: with_option(i, wrong(i), text="Look at it"), "the option reads"),
    "what is off": (lambda i: key(i, text=i.key.text + ", S1 off"), "says that S1 is off"),
    "rationale": (lambda i: key(i, rationale=("It is so.",)), "rationale"),
    "figure": (figures, "77.7"),
    "no figures": (lambda i: key(i, figures=()), ""),
    "observation": (seen_otherwise, "not '"),
    "nothing observed": (
        lambda i: replace(i, proof=replace(i.proof, observed=())), "nothing is said to be seen"
    ),
    "stem": (lambda i: replace(i, stem=("It is broken.",)), "the stem does not"),
    "kind of part": (lambda i: replace(i, key_kind="gauge"), "is filed under"),
    "fault": (lambda i: replace(i, origin=replace(i.origin, fault="GB1:weak:50")), ""),
    "no such part": (
        lambda i: replace(i, origin=replace(i.origin, fault="Q9:open")), "no part 'Q9'"
    ),
    "act that is none": (lambda i: key(i, claim="voltmeter red -> 0.0 V"), "is no pair"),
    "no act": (lambda i: key(i, claim=""), "cannot be made again"),
    "point that is none": (
        lambda i: key(i, claim="voltmeter red=Q9.1 black=chassis -> 0.0 V"), "cannot be made again"
    ),
    "bare wire": (
        lambda i: key(i, claim="unfused-jumper " + i.key.claim.partition(" ")[2]), "wire"
    ),
    "both leads on one point": (
        lambda i: key(i, claim="ohmmeter red=chassis black=chassis -> OL"), ""
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS])
@pytest.mark.parametrize(("place", "what"), list(enumerate(BOTH)), ids=list(BOTH))
def test_what_was_altered_is_named(
    made: dict[str, list[Item]], checker: Verifier, kind: str, place: int, what: str
) -> None:
    """Whatever is changed, the verifier says so in a line."""
    alter, expected = BOTH[what]
    items = made[kind]
    found = checker.verify(alter(items[place % len(items)]))
    assert found
    assert any(expected in line for line in found), found
    assert not [line for line in found if "\n" in line]


def test_a_reading_that_others_give_as_well_confirms_nothing(
    made: dict[str, list[Item]], checker: Verifier
) -> None:
    """Some wrong reading of the sound circuit or a dead point, marked right, is found out."""
    for item in made["which-instrument"]:
        for other in [o for o in item.options if not o.is_key]:
            turned = with_option(with_option(item, other, is_key=True), item.key, is_key=False)
            assert checker.verify(turned), other


def test_told_suspicion_is_the_fault(made: dict[str, list[Item]], checker: Verifier) -> None:
    """The stem's suspicion and the fault put in are one."""
    item = made["which-instrument"][0]
    assert any("the suspicion is" in f for f in checker.verify(replace(item, told=())))
