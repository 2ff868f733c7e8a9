"""Each rule of item writing fires on an item that breaks it, and on none that does not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from quizgen.items.item import Item, Option, Origin, Proof
from quizgen.items.lint import lint_item
from quizgen.items.lint.figures import amounts
from quizgen.items.lint.item_rules import key_is_longest


def option(text: str, is_key: bool = False) -> Option:
    """An option with its reasons."""
    return Option(
        claim=text, text=text, is_key=is_key, rationale=("Because.",),
        misconception="" if is_key else "stops-early",
    )  # fmt: skip


def item(*texts: str, key: int = 0, question: str = "Which fault explains it?") -> Item:
    """An item with these options."""
    return Item(
        id="1", kind="fault-from-readings", level="interpret", topics=(), family="f", key_kind="",
        machine="", stem=("The pump stands still.",), readings=(), question=question,
        options=tuple(option(text, i == key) for i, text in enumerate(texts)),
        origin=Origin(template="f", parameters=(), positions=(), fault=""), proof=Proof(),
    )  # fmt: skip


SOUND = item("Wire W4 is open", "Ground point G2 is loose", "The coil of relay K1 is open", key=1)
FIGURES = item("0.0 V", "6.3 V", "12.6 V", key=2)


@pytest.mark.parametrize("good", [SOUND, FIGURES], ids=["texts", "figures"])
def test_a_good_item_breaks_no_rule(good: Item) -> None:
    """Nothing is said of it."""
    assert lint_item(good) == ()


BROKEN: dict[str, tuple[Item, str]] = {
    "key far longer": (
        item("The winding of the pump motor M1 is open inside", "Wire W4 is open", "Fuse F1 blew"),
        "L01",
    ),
    "lengths far apart": (
        item("Wire W4 is open", "A resistance of some ohm sits in the connector X1", "F1 blew"),
        "L01",
    ),
    "all of the above": (item("W4 is open", "F1 is blown", "All of these"), "L02"),
    "none of the above": (item("W4 is open", "F1 is blown", "None of the above"), "L03"),
    "negative question": (
        item("W4", "F1", "G2", question="Which part is not at fault?"), "L04",
    ),
    "some negated": (item("It is not W4", "It is in F1", "It is in G2"), "L05"),
    "absolute": (item("W4 is completely open", "F1 is blown", "G2 is loose"), "L06"),
    "clang": (item("The pump M1 is seized", "F1 is blown", "G2 is loose"), "L07"),
    "full stops": (item("W4 is open.", "F1 is blown", "G2 is loose"), "L08"),
    "capitals": (item("wire 4 is open", "Fuse 1 is blown", "Ground 2 is loose"), "L08"),
    "ends in an article": (item("W4", "F1", "G2", question="The part at fault is a?"), "L08"),
    "convergence": (
        item("feed side of relay K1", "feed side of fuse F2", "ground side of relay K1"), "L09",
    ),
    "opposites": (
        item("Supply before fuse F1 is lost", "Supply after fuse F1 is lost", "W7 is open"), "L10",
    ),
    "equal figures": (item("0.0 V", "12.6 V", "12.6 V", key=0), "L11"),
    "two units": (item("0.0 V", "6.3 A", "12.6 V"), "L12"),
    "decimals": (item("0.0 V", "6 V", "12.6 V"), "L12"),
    "not by size": (item("12.6 V", "0.0 V", "6.3 V"), "L13"),
    "vague": (item("W4 is probably open", "F1 is blown", "G2 is loose"), "L16"),
    "which is true": (
        item("W4 is open", "F1 is blown", "G2 is loose", question="Which of these is true?"), "L17",
    ),
    "no question": (item("W4", "F1", "G2", question="Name the part."), "L17"),
    "combined": (item("W4 is open", "F1 is blown", "A and B"), "L20"),
    "two options": (item("W4 is open", "F1 is blown"), "L22"),
}  # fmt: skip


@pytest.mark.parametrize("what", list(BROKEN))
def test_a_breach_is_named(what: str) -> None:
    """By the number of its rule."""
    broken, rule = BROKEN[what]
    assert rule in {remark.rule for remark in lint_item(broken)}


def test_an_echo_that_several_options_have_gives_nothing_away() -> None:
    """A word of the stem in the key alone is a clue only where no other option repeats one."""
    stem = ("The pump M1 stands still, the wiper M2 turns.",)
    echoing = replace(item("The pump is seized", "M2 is jammed", "F1 is blown"), stem=stem)
    alone = replace(item("The pump is seized", "The belt is worn", "F1 is blown"), stem=stem)
    assert "L07" not in {remark.rule for remark in lint_item(echoing)}
    assert "L07" in {remark.rule for remark in lint_item(alone)}


CHANGED: dict[str, tuple[Callable[[Item], Item], str]] = {
    "no misconception": (
        lambda i: replace(i, options=(replace(i.options[0], misconception=""), *i.options[1:])),
        "L21",
    ),
    "no rationale": (
        lambda i: replace(i, options=(replace(i.options[0], rationale=()), *i.options[1:])), "L21",
    ),
    "long stem": (lambda i: replace(i, stem=("word " * 200,)), "L18"),
    "no solution": (lambda i: replace(i, response="order", order=(0, 1, 2)), "L21"),
}  # fmt: skip


@pytest.mark.parametrize("what", list(CHANGED))
def test_what_is_missing_is_named(what: str) -> None:
    """Reasons, and stems that can be read."""
    change, rule = CHANGED[what]
    assert rule in {remark.rule for remark in lint_item(change(SOUND))}


def test_the_longest_key_is_seen() -> None:
    """Strictly longest; figures have no length that tells."""
    assert key_is_longest(item("Wire W41 is open", "F1 is blown", "G2 is loose"))
    assert not key_is_longest(item("F1 is blown", "G2 is loose"))
    assert not key_is_longest(item("12.6 V", "0.0 V"))


def test_figures_are_read_as_meters_print_them() -> None:
    """A minus is a minus in print or on a keyboard; a figure within a sentence is no figure."""
    assert [a.value for a in amounts(["−12.6 V", "-0.5 V", "about 4 V"])] == [-12.6, -0.5, 4.0]
    assert amounts(["12.6 V", "OL"]) == ()
    assert amounts(["W4 drops 12.6 V"]) == ()
