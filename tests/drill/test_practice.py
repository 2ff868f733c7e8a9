"""Practice as a machine: what is typed, what comes of it, what is shown."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.drill.hints import hint
from quizgen.drill.marking import judge
from quizgen.drill.page import Style, lines_of
from quizgen.drill.practice import ALONE, Keep, Pick, Practice, Turn, pick_topics, put, respond
from quizgen.drill.question import Question
from quizgen.drill.weekly import Weekly
from quizgen.drill.weekly import respond as weekly_respond
from quizgen.drill.words import named
from tests.drill.asked import ALL, figure, one, order, several

TOPICS = ("lamps", "shared-feed", "shared-ground")


def at(question: Question) -> Practice:
    """A student before whom a question lies."""
    return put(Practice(topics=TOPICS), question).practice


def text(turn: Turn) -> str:
    """The page as one line of text."""
    return " ".join(" ".join(lines_of(turn.page, Style())).split())


def test_a_wrong_choice_gets_its_own_reason_before_the_key() -> None:
    """Reason of the chosen option, its figures, then the right one with its reason."""
    turn = respond(at(one()), "c")
    assert turn.acts == (Keep(answer="C", verdict=judge(one(), "C")),)
    said = text(turn)
    places = [said.index(part) for part in (
        "C is not the answer", "No current passes an open winding", "figure 2", "The answer: B",
        "M1 terminal 2 shows 11.9 V",
    )]  # fmt: skip
    assert places == sorted(places)
    assert "contact" not in said.split("The answer")[0]  # of the other wrong options nothing yet


@pytest.mark.parametrize("question", ALL, ids=lambda q: q.shown.response)
def test_no_answer_gets_a_bare_verdict(question: Question) -> None:
    """Whatever is answered, right or wrong, there is a reason, and when wrong there is the key."""
    tried = {
        "one": ["A", "B", "C", "D"],
        "several": ["A", "AB", "AC", "ABC"],
        "order": ["DACB", "ABCD"],
        "number": ["49", "94.1", "-49", "0.049", "3"],
    }
    for typed in tried[question.shown.response]:
        turn = respond(at(question), typed)
        (keep,) = turn.acts
        assert isinstance(keep, Keep)
        said = text(turn)
        assert len(said.split()) > 8
        assert keep.verdict.right or f"The answer: {question.key.text}" in said


def test_slips_of_sign_and_of_a_thousand_are_named() -> None:
    """And the figure of a known wrong idea gets that idea's reason."""
    assert "sign" in text(respond(at(figure()), "-49"))
    assert "milli" in text(respond(at(figure()), "0.049"))
    assert "24 V ÷ 255 Ω" in text(respond(at(figure()), "94"))
    assert "not within the limits" in text(respond(at(figure()), "3"))


def test_of_an_order_the_first_wrong_place_is_explained() -> None:
    """What belongs there and what was put there, each with its reason, then the whole order."""
    said = text(respond(at(order()), "dabc"))
    assert "number 3: C belongs there, not B" in said
    reasons = [said.index(f"{part}: 1.8 A passes") for part in ("E1", "G2")]
    assert reasons == sorted(reasons)
    assert said.index("The answer: D A C B") > reasons[-1]


@pytest.mark.parametrize("question", ALL, ids=lambda q: q.shown.response)
def test_hints_end_before_the_answer_is_given_away(question: Question) -> None:
    """At least two choices stay open; no hint rules the key out or names the right figure."""
    practice, given_hints = at(question), []
    while True:
        turn = respond(practice, "hint")
        if not turn.acts:
            break
        assert turn.acts == ("hint",)
        practice = turn.practice
        given_hints.append(hint(question, practice.hints))
    assert given_hints
    assert practice.hints == len(given_hints) <= max(len(question.shown.choices) - 2, 1)
    assert "No hint is left" in text(turn)
    if question.shown.response == "one":
        assert not any(words.startswith("B ") for words in given_hints)
    if question.shown.response == "number":
        assert not any("49.0" in words for words in given_hints)
    if question.shown.response == "order":
        assert given_hints[0].startswith("Place 1 is D")


def test_no_hint_rules_out_the_key() -> None:
    """Whichever options the draw of hints takes: tried with forty items."""
    for name in range(40):
        question = dataclasses.replace(one(), item=f"item {name}")
        ruled_out = {hint(question, n)[0] for n in (1, 2)}
        assert len(ruled_out) == 2
        assert "B" not in ruled_out


def test_several_hints_say_whether_an_option_belongs() -> None:
    """One of three may be told, with its reason."""
    words = hint(several(), 1)
    assert ("belongs to it" in words) == (words[0] in "AC")
    assert hint(several(), 2) == ""


def test_skip_leaves_and_goes_on() -> None:
    """Before an answer it is noted as skipped; after one there is nothing to skip."""
    assert respond(at(one()), "skip").acts == ("skip", "next")
    done = respond(at(one()), "b").practice
    assert respond(done, "skip").acts == ("next",)
    assert respond(done, "").acts == ("next",)


def test_an_answered_question_is_not_answered_again() -> None:
    """A second letter changes nothing and says what to press."""
    done = respond(at(one()), "b").practice
    turn = respond(done, "c")
    assert turn.acts == ()
    assert turn.practice == done
    assert "Press Enter" in text(turn)


def test_all_shows_the_reason_of_every_option_after_the_answer_only() -> None:
    """Before it would be the key."""
    before = respond(at(one()), "all")
    assert "11.9 V instead" not in text(before)
    after = text(respond(respond(at(one()), "a").practice, "all"))
    for reason in one().key.choices:
        assert reason.reasons[0] in after


@given(st.sampled_from(ALL), st.lists(st.sampled_from(
    ["", "hint", "again", "open", "symbols", "all", "topics", "topic", "topic 9", "status", "help",
     "?", "cautions", "next", "xyz", "-", "topic lamps", "HINT", "  "]), max_size=8))  # fmt: skip
def test_the_key_is_never_told_before_the_answer(question: Question, typed: list[str]) -> None:
    """No command or mistake short of an answer or of skipping shows the key or its reasons."""
    practice = at(question)
    for line in typed:
        turn = respond(practice, line)
        practice = turn.practice
        said = text(turn)
        assert not practice.answer
        assert "The answer:" not in said
        if question.shown.response in ("one", "number"):
            key = next((r.reasons[0] for r in question.key.choices if r.is_key), "49.0 mA")
            assert key not in said
        assert not set(turn.acts) & {"skip", "next"}


@given(st.sampled_from((None, *ALL)), st.lists(st.text(max_size=12), max_size=6))
def test_anything_may_be_typed(question: Question | None, typed: list[str]) -> None:
    """Every line gets a page or an act, and never an error."""
    practice = at(question) if question else Practice(topics=TOPICS)
    for line in typed:
        turn = respond(practice, line)
        practice = turn.practice
        assert turn.page or turn.acts or not line.strip()
        assert practice.prompt


def test_the_list_of_commands_is_whole() -> None:
    """Help names each command and nothing that is none; so does the help of a set."""
    assert {*ALONE, "topic", "answer"} - {"help"} == set(named("help"))
    start = Practice(topics=TOPICS)
    for word in named("help"):
        assert text(respond(start, word)) or respond(start, word).acts
    known = Weekly(questions=(one().shown,), place=0)
    for word in set(named("pack_help")) - {"answer"}:
        assert "is not among the answers" not in " ".join(
            lines_of(weekly_respond(known, word).page, Style())
        )


def test_before_the_first_question_enter_begins() -> None:
    """Other words say so."""
    start = Practice(topics=TOPICS)
    assert respond(start, "").acts == ("next",)
    assert respond(start, "quit").acts == ("quit",)
    assert "Press Enter" in text(respond(start, "b"))


@pytest.mark.parametrize(
    ("typed", "picked"),
    [("1 3", ("lamps", "shared-ground")), ("shared feed, lamps", ("shared-feed", "lamps")),
     ("shared-feed", ("shared-feed",)), ("all", ()), ("LAMPS 1", ("lamps",))],
)  # fmt: skip
def test_topics_are_picked_by_number_or_name(typed: str, picked: tuple[str, ...]) -> None:
    """Also with a space for the hyphen; "all" lifts the choice."""
    assert pick_topics(TOPICS, typed) == picked
    assert respond(Practice(topics=TOPICS), f"topic {typed}").acts == (Pick(picked),)


def test_an_unknown_topic_is_named_with_the_nearest() -> None:
    """Nothing is picked then."""
    turn = respond(at(order()), "topic lamp")
    assert turn.acts == ()
    assert "did you mean lamps" in text(turn)
