"""Questions as the maker makes them: by the same way as a set's, for the skill asked for."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest

from quizgen.base.errors import OutsideError
from quizgen.cli.drill_maker import Bench
from quizgen.cli.drill_making import MakingProcess
from quizgen.cli.drill_messages import Wanted
from quizgen.drill.answers import read_answer
from quizgen.drill.hints import hint
from quizgen.drill.marking import judge
from quizgen.drill.question import Question
from quizgen.items.item import LEVELS

PATIENCE = 300.0  # seconds, for a machine with much else to do
SMALL = str(Path(__file__).parents[1] / "cases" / "items" / "relay-contact.yaml")
WANTED = Wanted(number=7, topic="suppression", level="read", seed="5e" * 16)


@pytest.fixture(scope="module")
def bench() -> Bench:
    """A bench that knows two small circuits, so that the test does not read them all."""
    bench = Bench()
    bench.__dict__["families"] = {
        "push-button-relay": ("relay-control", "suppression"),
        "washer-pump": ("motors", "relay-control"),
    }
    return bench


def test_a_question_is_about_what_was_asked_for(bench: Bench) -> None:
    """Of the topic's circuit and level, with a diagram for both widths, and a key that holds."""
    responses = []
    for number, level in ((2, "read"), (1, "predict")):
        reply = bench.reply(dataclasses.replace(WANTED, number=number, level=level))
        question = reply.question
        assert question is not None, reply.error
        assert (question.topic, question.level) == ("suppression", level)
        assert question.circuit == "push-button-relay"
        assert question.shown.number == number
        picture = question.shown.picture
        assert picture is not None
        assert max(map(len, picture.narrow)) <= 80
        assert max(map(len, picture.wide)) <= 120
        assert judge(question, read_answer(question.shown, key_typed(question))).right
        assert hint(question, 1)
        responses.append(question.shown.response)
    assert responses[1] == "number"  # a share of those that can be is asked for as a figure


def key_typed(question: Question) -> str:
    """The key as a student would type it."""
    if question.shown.response == "number":
        assert math.isclose(
            question.key.value, float(question.key.text.split()[0].replace("−", "-"))
        )
        return question.key.text
    return question.key.text.replace(" ", "").lower()


def test_number_and_seed_decide_the_question() -> None:
    """Two benches make the same of the same request; another number or student gets another."""

    def make(**changed: object) -> Question:
        bench = Bench(circuit=SMALL)
        wanted = dataclasses.replace(WANTED, topic="relay-control", level="predict")
        reply = bench.reply(dataclasses.replace(wanted, **changed))  # type: ignore[arg-type]
        assert reply.question is not None
        return reply.question

    first = make()
    assert first.circuit == SMALL
    assert make() == first
    assert make(number=8).sum != first.sum
    assert make(seed="77" * 16).sum != first.sum
    drawing = make(ascii_only=True).shown.picture
    assert drawing is not None
    assert all(line.isascii() for line in drawing.narrow)


def test_what_no_circuit_gives_is_said(bench: Bench) -> None:
    """A topic without circuits is barren, not an error; the catalogue has every level."""
    reply = bench.reply(dataclasses.replace(WANTED, topic="steam"))
    assert reply.barren
    assert reply.question is None
    catalogue = bench.reply(Wanted()).catalogue
    assert catalogue is not None
    assert next(iter(catalogue)) == "relay-control"  # two circuits have it
    assert set(catalogue.values()) == {LEVELS}


def test_the_process_answers_and_its_end_is_noticed() -> None:
    """Requests go out and replies come back; a process that was killed is an error in words."""
    making = MakingProcess()
    try:
        making.ask(dataclasses.replace(WANTED, topic="steam"))
        reply = making.fetch(PATIENCE)
        assert reply is not None
        assert reply.barren
        assert making.fetch(0.0) is None
        making._process.kill()
        with pytest.raises(OutsideError, match="stopped"):
            making.fetch(PATIENCE)
        making.ask(WANTED)  # nobody there: no error here, the next fetch says it again
        with pytest.raises(OutsideError, match="stopped"):
            making.fetch(PATIENCE)
    finally:
        making.close()
