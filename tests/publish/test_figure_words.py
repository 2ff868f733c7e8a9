"""Figures of an item as the key prints them: words of the trade, not names of the program."""

from __future__ import annotations

import dataclasses
import re

import pytest

from quizgen.items.item import Figure, Proof
from quizgen.publish.figure_words import figures_text
from quizgen.publish.from_items import answer_key_of
from tests.publish.samples import HEADING
from tests.publish.test_from_items import Form, item

PRINTED = [
    ("W5.milliohm_per_metre", 7.6, "mΩ/m", "W5 7.6 mΩ/m"),
    ("milliohm_per_metre 2.5", 7.6, "mΩ/m", "2.5 mm² 7.6 mΩ/m"),
    ("W5.metres", 2.35, "m", "W5 2.35 m long"),
    ("metres", 12, "m", "12 m of wire"),
    ("limit", 0.25, "V", "drop allowed 0.25 V"),
    ("W15.bears", 20, "A", "W15 may carry 20 A"),
    ("extra", 1.7, "A", "new load 1.7 A"),
    ("spare", 1.25, "", "fuse at least 1.25 times the current"),
    ("E5.watts", 25, "W", "E5 rated 25 W"),
    ("K1.ohm", 320, "Ω", "K1 has 320 Ω"),
    ("R1.section2", 1.2, "Ω", "R1 section 2 1.2 Ω"),
    ("by the sum", 3.9, "A", "the sum gives 3.9 A"),
    ("even bits", 1.3106, "bit", "with all parts equally likely 1.311 bit"),
    ("minutes", 5.5, "min", "5.5 min"),
    ("largest", 0.4795, "", "likeliest outcome 48 %"),
    ("times", 8, "", "8 times"),
    ("M1 sound", 12.1, "V", "across M1 in a sound circuit 12.1 V"),
    ("expected", -1, "Ω", "expected OL"),
    ("shown", -0.0131, "V", "shown −0.0131 V"),
    ("current through P2 with S1:30-15 open", 0, "A",
     "current through P2 with S1 contact 30-15 open 0 A"),
    ("current through P2 with X1:2 open", 0, "A", "current through P2 with X1 cavity 2 open 0 A"),
    ("current through P2 with K1:coil open", 0, "A", "current through P2 with K1 coil open 0 A"),
    ("volts across E1 now", 0.0218, "V", "volts across E1 now 0.0218 V"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value", "unit", "words"), PRINTED, ids=[p[0] for p in PRINTED])
def test_a_name_for_the_verifier_becomes_words(
    name: str, value: float, unit: str, words: str
) -> None:
    """Amounts stay as they are, with their unit; names that are words already stay too."""
    shown = figures_text([Figure(name=name, value=value, unit=unit)])
    assert shown == words
    assert not re.search(r"_|[a-zA-Z\d]\.[a-z]|:\w", shown)


def test_suspects_are_counted() -> None:
    """The question names them; a fault in the program's notation is nothing to read."""
    names = ("K1:welded", "W14:short-to:W21", "W31:open")
    found = [Figure(name=name, value=1.0, unit="suspect") for name in names]
    assert figures_text(found) == "3 suspects"


def test_an_option_does_not_repeat_the_short_name_of_its_mistaken_idea() -> None:
    """The key has the idea in words beside it, and the amount is the option itself."""
    made = item()
    wrong = dataclasses.replace(
        made.options[0], misconception="rated-for-actual", text="25 W", refuted_by=None,
        figures=(Figure(name="rated-for-actual", value=25.0, unit="W"),),
    )  # fmt: skip
    shown = dataclasses.replace(made, options=(wrong, *made.options[1:]), proof=Proof())
    answer = answer_key_of(HEADING, [Form("A", (shown,))]).forms[0].answers[0]
    assert answer.choices[0].figures == ""
    assert answer.choices[0].misconception
    assert "-for-" not in answer.choices[0].misconception
