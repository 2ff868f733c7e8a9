"""What typed lines mean: forgiving, and where it cannot be, one line that says what would do."""

from __future__ import annotations

from string import Formatter

import pytest
from hypothesis import given
from hypothesis import strategies as some

from quizgen.base.errors import InputError
from quizgen.drill.hunt.engine import Act, Hunt, begin
from quizgen.drill.hunt.typed import COMMANDS, Tell, completions, read_line
from quizgen.drill.hunt.words import entry
from quizgen.items.sentences import wording
from tests.drill.hunt.players import drawn

HUNT: Hunt = begin(drawn("typed 2", "power-seat"))
FRAME = HUNT.case.circuit.reference


@pytest.mark.parametrize(
    ("line", "meant"),
    [
        ("m GB1.+", Act("measure", ("voltmeter", "GB1.+", FRAME))),
        ("gb1+", Act("measure", ("voltmeter", "GB1.+", FRAME))),
        ("M gb1 + frame", Act("measure", ("voltmeter", "GB1.+", FRAME))),
        ("measure lamp F1-1", Act("measure", ("test-lamp", "F1.1", FRAME))),
        ("ohm f1.1 to F1.2", Act("measure", ("ohmmeter", "F1.1", "F1.2"))),
        ("clamp w1", Act("measure", ("clamp-ammeter", "W1"))),
        ("m M1/1 M1/2", Act("measure", ("voltmeter", "M1/1", "M1/2"))),
        ("turn s2=front up", Act("turn", ("S2", "front up"))),
        ("S2 FOR", Act("turn", ("S2", "forward"))),
        ("u m1", Act("unplug", ("M1",))),
        ("a x1", Act("apart", ("X1",))),
        ("j f1.1 f1.2", Act("jumper", ("F1.1", "F1.2"))),
        ("jumper off", Act("jumper", ("off",))),
        ("note W5, perhaps = open", Act("note", ("W5, perhaps = open",))),
        ("repair x1 cavity 2", Act("repair", ("X1", "2"))),
        ("r w1 open", Act("repair", ("W1", "open"))),
        ("watch", Act("watch")),
        ("l m1", Tell("look", ("M1",))),
        ("?", Tell("help")),
        ("   ", None),
    ],
)
def test_a_line_is_taken_as_it_is_meant(line: str, meant: Act | Tell | None) -> None:
    """Capitals, marks, short forms and small words between do not matter."""
    assert read_line(line, HUNT) == meant


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("mesure K1.87", "did you mean measure"),
        ("frobnicate", "help lists"),
        ("m M1", "name a terminal of M1: M1.1 M1.2"),
        ("m M1.7", "name a terminal of M1: M1.1 M1.2"),
        ("turn S2 sideways", "forward"),
        ("turn S2", "can be turned to"),
        ("unplug", "name one part"),
        ("unplug M9", "no part 'M9'"),
        ("jumper F1.1", "joins two points"),
        ("clamp", "one wire"),
        ("m", "name one point or two"),
        ("repair", "name the part"),
    ],
)
def test_what_is_not_understood_is_told_in_one_line(line: str, says: str) -> None:
    """The line says what would be right."""
    with pytest.raises(InputError) as caught:
        read_line(line, HUNT)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


@given(some.text(max_size=60) | some.lists(some.sampled_from(
    [*COMMANDS, "M1", "M1.1", "S2", "=", ".", "/", "X1", "lamp", "off", "frame", "ohms", "W1", "-"]
), max_size=5).map(" ".join))  # fmt: skip
def test_no_line_is_worse_than_an_input_error(line: str) -> None:
    """Whatever is typed is an act, a question, nothing, or refused in one line."""
    try:
        read_line(line, HUNT)
    except InputError as error:
        told = str(error)
    else:
        told = ""
    assert "\n" not in told


def test_help_lists_every_command_and_first_letters_differ() -> None:
    """The table of the wording is that of the program."""
    assert set(entry("help")) == set(COMMANDS)
    assert len({command[0] for command in COMMANDS}) == len(COMMANDS)


def test_completions_can_be_read_back() -> None:
    """What the tab key offers after a command is understood there."""
    for control in completions(HUNT, "turn "):
        for position in completions(HUNT, f"turn {control} "):
            assert read_line(f"turn {control} {position}", HUNT) == Act("turn", (control, position))
    for point in completions(HUNT, "jumper "):
        read_line(f"measure {point}", HUNT)


def test_every_placeholder_of_the_wording_is_a_name() -> None:
    """No sentence has a brace without its partner, or a number for a name."""
    texts = [t for t in wording("hunt").values() if isinstance(t, str)]
    texts += [*entry("advice").values()]
    for text in texts:
        names = [name for _, name, _, _ in Formatter().parse(text) if name is not None]
        assert all(name.isidentifier() for name in names), text
