"""Questions that need not know of each other are made at the same time, and only those."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from quizgen.forms.assemble import waves
from quizgen.forms.slots import Slot

PAIRS = st.lists(st.tuples(st.sampled_from("abcde"), st.sampled_from("pqrs")), max_size=30)


def slots(pairs: list[tuple[str, str]]) -> list[Slot]:
    """One for each pair of family and kind."""
    return [Slot(n, family, kind, "any", "read") for n, (family, kind) in enumerate(pairs, 1)]


def kin(one: Slot, other: Slot) -> bool:
    """They share the family or the kind."""
    return one.family == other.family or one.kind == other.kind


@given(PAIRS)
def test_each_slot_comes_right_after_its_kin(pairs: list[tuple[str, str]]) -> None:
    """Every slot once; later than every kin before it, and no later than that needs."""
    made = waves(slots(pairs))
    assert sorted(s.number for wave in made for s in wave) == [*range(1, len(pairs) + 1)]
    place = {slot: n for n, wave in enumerate(made) for slot in wave}
    for slot, at in place.items():
        before = [n for s, n in place.items() if s.number < slot.number and kin(s, slot)]
        assert at == max(before, default=-1) + 1


def test_a_plan_of_many_circuits_is_one_wave_and_of_one_circuit_as_many_as_questions() -> None:
    """The two ends."""
    assert len(waves(slots(list(zip("abcd", "pqrs", strict=True))))) == 1
    assert len(waves(slots(list(zip("aaaa", "pqrs", strict=True))))) == 4
