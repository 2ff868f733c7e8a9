"""What is typed, read as an answer and judged."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.drill.answers import indices, read_answer
from quizgen.drill.marking import judge
from quizgen.drill.question import Question
from tests.drill.asked import ALL, figure, one, order, several


@pytest.mark.parametrize("typed", ["b", "B", " b ", "2", "B)", "b."])
def test_one_letter_or_its_number(typed: str) -> None:
    """Either names the option, capital or not."""
    assert read_answer(one().shown, typed) == "B"


@pytest.mark.parametrize("typed", ["ac", "CA", "a, c", "1 3", "31", "a and c", "C;A"])
def test_several_letters_in_any_order(typed: str) -> None:
    """Run together or apart, letters or numbers."""
    assert read_answer(several().shown, typed) == "A C"


@pytest.mark.parametrize("typed", ["dacb", "D A C B", "4132", "4-1-3-2", "d → a → c → b"])
def test_an_order_is_kept(typed: str) -> None:
    """What comes first is written first."""
    assert read_answer(order().shown, typed) == "D A C B"


@pytest.mark.parametrize(
    ("typed", "means"),
    [("49", "49"), ("49,5", "49.5"), ("49.0 mA", "49.0"), ("49mA", "49"), ("0.049 A", "49"),
     ("−3", "-3"), ("+.5", "0.5"), ("12,", "12"), ("49 milli", None), ("49 V", None),
     ("1e5", None), ("", None), ("a", None), ("9" * 400, None), ("nan", None), ("1.2.3", None)],
)  # fmt: skip
def test_a_figure_with_point_or_comma_and_unit(typed: str, means: str | None) -> None:
    """The unit may be left out, or have another prefix of the SI; another unit is not taken."""
    if means is not None:
        assert read_answer(figure().shown, typed) == means
        return
    with pytest.raises(InputError):
        read_answer(figure().shown, typed)


@pytest.mark.parametrize("ohm", ["Ω", "\N{OHM SIGN}", "ohm", "OHMS", "ohms"])
def test_ohm_is_ohm_however_it_is_typed(ohm: str) -> None:
    """Unicode has two signs for it, and a keyboard often none."""
    asked = figure().shown.__class__(
        number=1, machine="", stem=(), question="", response="number", unit="Ω"
    )
    assert read_answer(asked, f"0,33 {ohm}") == "0.33"
    assert read_answer(asked, f"330 m{ohm}") == "0.33"


@pytest.mark.parametrize(
    ("question", "typed", "said"),
    [(one(), "ac", "one letter"), (one(), "e", "A to D"), (one(), "5", "A to D"),
     (one(), "", "A to D"), (several(), "aa", "twice"), (order(), "da", "B, C missing"),
     (figure(), "5 ohm", "mA is asked for"), (figure(), "lots", "such as 1.5")],
)  # fmt: skip
def test_what_cannot_be_an_answer_says_what_can(question: Question, typed: str, said: str) -> None:
    """One line, with the letters or the unit that is wanted."""
    with pytest.raises(InputError, match=said) as caught:
        read_answer(question.shown, typed)
    assert "\n" not in str(caught.value)


@given(st.sampled_from(ALL), st.text(max_size=30))
def test_anything_may_be_typed(question: Question, typed: str) -> None:
    """Either an answer that reads the same when typed again, or an error in words."""
    try:
        answer = read_answer(question.shown, typed)
    except InputError:
        return
    assert read_answer(question.shown, answer) == answer
    judge(question, answer)


def test_the_key_of_each_sort_is_right_and_all_else_is_not() -> None:
    """Every combination of letters that differs from the key is wrong."""
    for question, right in zip(ALL[:3], ("B", "A C", "D A C B"), strict=True):
        assert judge(question, right).right
        assert indices(right)
    assert [judge(one(), letter).right for letter in "ABCD"] == [False, True, False, False]
    assert not any(judge(several(), a).right for a in ("A", "B", "C", "A B", "B C", "A B C"))
    assert not judge(order(), "D A B C").right


def test_a_wrong_choice_shows_the_belief_behind_it() -> None:
    """For one: that of the choice; for several: of what was chosen or left out wrongly."""
    assert judge(one(), "C").misconceptions == ("load-blamed",)
    assert judge(one(), "B").misconceptions == ()
    assert judge(several(), "A B").explained == (1, 2)
    assert judge(several(), "A B").misconceptions == ("branch",)


def test_the_first_place_that_departs_from_the_order_is_explained() -> None:
    """D A is right so far; then B was put where C belongs."""
    assert judge(order(), "D A B C").explained == (1,)


@pytest.mark.parametrize(
    ("typed", "right", "slip"),
    [("49.0", True, ""), ("46.57", True, ""), ("51.47", True, ""), ("46.5", False, ""),
     ("51.5", False, ""), ("94.1", False, "nominal-for-measured"),
     ("92", False, "nominal-for-measured"), ("70", False, ""), ("-49", False, "")],
)  # fmt: skip
def test_a_figure_within_its_limits_is_right(typed: str, right: bool, slip: str) -> None:
    """Limits count as right; near a known slip the slip is named."""
    verdict = judge(figure(), typed)
    assert verdict.right is right
    assert verdict.misconceptions == ((slip,) if slip else ())
