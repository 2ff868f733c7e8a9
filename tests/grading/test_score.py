"""Points, part credit, changed keys."""

from __future__ import annotations

from itertools import combinations, permutations

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.grading.keys import Amendment, check_amendment, keys_of, printed_key, read_question
from quizgen.grading.responses import Response
from quizgen.grading.score import Rules, mark, score, worth
from tests.grading import graded

SET = graded.the_set()
RULES = Rules()
STRICT = Rules(part_credit=False)


def amendment(number: int, *texts: str, change: str = "key") -> Amendment:
    """A change of a question of form A."""
    return Amendment(form="A", number=number, change=change, texts=texts, why="misprint", who="ml")  # type: ignore[arg-type]


def points(number: int, value: str | tuple[str, ...], *changes: Amendment) -> float:
    """What an answer of form A is worth."""
    return worth(value, keys_of(SET, changes)["A", number])


def test_each_way_to_answer_has_its_points() -> None:
    """Right is 1, wrong is 0, and the verdict says which."""
    result = score(graded.answered("B", ("A", "C"), tuple("CABD"), "11.9"), keys_of(SET), RULES)
    assert [m.verdict for m in result.marks] == ["right"] * 4
    assert (result.points, result.out_of) == (4.0, 4)
    result = score(graded.answered(("A",), ("B",), tuple("DBAC"), "0.0"), keys_of(SET), RULES)
    assert [m.points for m in result.marks] == [0.0] * 4


def test_letters_come_as_tuples() -> None:
    """The record of a single letter is a tuple of one; only that is right."""
    assert points(1, ("B",)) == 1.0
    assert points(1, ("A",)) == 0.0


@pytest.mark.parametrize(
    ("value", "expected"),
    [("AC", 1.0), ("A", 0.5), ("ABC", 0.5), ("AB", 0.0), ("ABCD", 0.0), ("BD", 0.0)],
)
def test_several_is_right_minus_wrong(value: str, expected: float) -> None:
    """Keys A and C: each right choice is half a point, each wrong one takes half."""
    assert points(2, tuple(value)) == expected


def test_ticking_by_chance_wins_as_little_as_ticking_all() -> None:
    """Before the floor, the mean over all ways to tick k of 4 is 0 with as many right as wrong."""
    for k in range(1, 5):
        raw = [len({*c} & {*"AC"}) - len({*c} - {*"AC"}) for c in combinations("ABCD", k)]
        assert sum(raw) == 0


def test_an_order_scores_as_scipys_kendall() -> None:
    """All 24 orders of four against scipy.stats.kendalltau, with the floor at 0."""
    right = "CABD"
    for given_order in permutations(right):
        ranks = [given_order.index(letter) for letter in right]
        tau = scipy.stats.kendalltau(range(4), ranks).statistic
        assert points(3, given_order) == pytest.approx(max(tau, 0.0), abs=1e-6)


def test_an_empty_place_counts_for_nothing() -> None:
    """C - B D of C A B D: three of six pairs are known, all in order."""
    assert points(3, ("C", "", "B", "D")) == 0.5


@pytest.mark.parametrize(
    ("value", "expected"),
    [("11.7", 1.0), ("12.1", 1.0), ("12.10", 1.0), ("11.6", 0.0), ("12.2", 0.0), ("-11.9", 0.0)],
)
def test_a_number_is_right_within_its_range(value: str, expected: float) -> None:
    """Both ends belong to it, binary fractions or not."""
    assert points(4, value) == expected


@pytest.mark.parametrize("value", ["", "twelve", ("A",), "nan", "inf"])
def test_what_is_no_figure_is_worth_nothing(value: str | tuple[str, ...]) -> None:
    """Whatever a reader hands on, scoring never stops a batch."""
    assert points(4, value) == 0.0


def test_without_part_credit_only_perfect_counts() -> None:
    """A partly right answer scores 0, a right one 1."""
    key = keys_of(SET)["A", 2]
    half = Response(item=2, value=("A",), state="answered")
    assert mark(half, key, STRICT).verdict == "wrong"
    assert mark(half, key, RULES).points == 0.5
    assert mark(Response(item=2, value=("A", "C"), state="answered"), key, STRICT).points == 1.0


def test_doubtful_and_blank_score_nothing_and_say_so() -> None:
    """A doubtful answer may still bring a point: it is counted as pending."""
    given_ = graded.answered("", ("A", "C"), tuple("CABD"), "11.9")
    doubtful = Response(item=2, value=("A", "C"), state="doubtful", doubt="faint")
    responses = (given_.responses[0], doubtful, *given_.responses[2:])
    result = score(
        graded.StudentResponses(**{**vars(given_), "responses": responses}), keys_of(SET), RULES
    )
    assert [m.verdict for m in result.marks] == ["blank", "doubtful", "right", "right"]
    assert (result.points, result.out_of, result.pending) == (2.0, 4, 1)


def test_a_withdrawn_question_counts_for_nobody() -> None:
    """It leaves the points and the most that could be had alike."""
    keys = keys_of(SET, [amendment(1, change="withdraw")])
    result = score(graded.answered(("B",), ("A",), "", ""), keys, RULES)
    assert result.marks[0].verdict == "withdrawn"
    assert (result.points, result.out_of) == (0.5, 3)


def test_a_changed_key_counts_in_its_form_alone() -> None:
    """The last change counts; restoring brings the printed key back; form B keeps its own."""
    assert points(1, ("A",), amendment(1, "A")) == 1.0
    assert points(1, ("B",), amendment(1, "A")) == 0.0
    assert points(1, ("B",), amendment(1, "A"), amendment(1, change="restore")) == 1.0
    assert keys_of(SET, [amendment(1, "A")])["B", 1].accepted == (("B",),)


def test_two_answers_can_both_be_right() -> None:
    """Where a second answer turns out defensible, either is accepted."""
    both = amendment(1, "B", "C")
    assert [points(1, (letter,), both) for letter in "ABC"] == [0.0, 1.0, 1.0]
    assert points(4, "5", amendment(4, "11.9", "4.9 to 5.1 V")) == 1.0
    assert points(3, tuple("ACBD"), amendment(3, "CABD", "ACBD")) == 1.0


def test_a_new_figure_keeps_the_width_of_the_old_range() -> None:
    """11.7 to 12.1 is ±0.2; a new key 10.0 takes 9.8 to 10.2."""
    change = amendment(4, "10,0 V")
    assert [points(4, v, change) for v in ("9.7", "9.8", "10.2", "10.3")] == [0.0, 1.0, 1.0, 0.0]


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (amendment(1, "D"), "the options are A to C"),
        (amendment(1, "A C"), "takes one letter"),
        (amendment(3, "C A - D"), "no empty places"),
        (amendment(4, "12 to 11"), "larger"),
        (amendment(1), "at least one answer"),
        (amendment(9, "A"), "questions 1 to 4"),
        (Amendment(form="A", number=1, change="withdraw", why=" ", who="ml"), "--why"),
    ],
)
def test_a_change_that_does_not_fit_is_refused(change: Amendment, expected: str) -> None:
    """One clear sentence, before anything is scored anew."""
    with pytest.raises(InputError, match=expected):
        check_amendment(SET, change)


def test_an_unsafe_act_is_never_made_right() -> None:
    """Not even by the instructor's own change of key; withdrawing the question is allowed."""
    risky = graded.item(
        "safety", "one",
        (graded.option("the jumper across the lamp", "jumper-across-load"),
         graded.option("the voltmeter", is_key=True)),
    )  # fmt: skip
    with_risk = graded.the_set([risky])
    with pytest.raises(InputError, match="never a right answer"):
        check_amendment(with_risk, amendment(1, "A"))
    check_amendment(with_risk, amendment(1, change="withdraw"))


def test_a_question_is_named_by_form_and_number() -> None:
    """Case is no matter; anything else is refused."""
    assert read_question(SET, "a/3") == ("A", 3)
    for wrong in ("A3", "C/1", "A/0", "A/5", "A/x", "/1", "A/"):
        with pytest.raises(InputError):
            read_question(SET, wrong)


LETTERS = st.lists(st.sampled_from("ABCD"), unique=True, min_size=1)


@given(LETTERS, LETTERS)
def test_points_lie_between_nothing_and_one(value: list[str], right: list[str]) -> None:
    """A law for every way to answer; one exactly for the key itself."""
    key = printed_key("A", 1, graded.several())
    key = type(key)(**{**vars(key), "accepted": (tuple(sorted(right)),)})
    found = worth(tuple(sorted(value)), key)
    assert 0.0 <= found <= 1.0
    assert (found == 1.0) == (sorted(value) == sorted(right))
