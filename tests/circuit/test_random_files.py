"""No text, however mangled, gives anything but a template or one line of error."""

from __future__ import annotations

import random
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.circuit.expressions import ExpressionError
from quizgen.circuit.template import parse_template
from tests.circuit.sample import NETWORK, SAMPLE

PIECES = [
    "", " ", "\n", "\n  ", ": ", "- ", ", ", "{", "}", "[", "]", '"', "'", "#", "=", "&a ", "*a",
    "!t ", "|", ">", "?", "%", "@", "`", "~", "null", "true", "false", "on", "0", "-1", "1e9",
    "1e999", "inf", "-inf", ".nan", "0x10", "1_000", "chassis", "K1", "K1.87", "GB1.+", "S1",
    "pressure", "when: ", "kind: ", "at: [a, b]", "at: {1: K1.30}", "unused: [1]", "system",
    '"=1/0"', '"=lamps ** 32"', '"=(lamps"', "=", "é", "\u2028", "\ufeff", "\t", "\x85", "😀", "W1",
    "rest: on", "- {when: plug}",
]  # fmt: skip


@st.composite
def mangled(draw: st.DrawFn) -> str:
    """A valid file with a few pieces cut out, put in, doubled or exchanged."""
    text = draw(st.sampled_from([SAMPLE, NETWORK]))
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.sampled_from([0, 0, 1, 2, 5, 12, 40])))
        kind = draw(st.sampled_from(["put", "double", "swap"]))
        if kind == "put":
            middle = draw(st.sampled_from(PIECES))
        elif kind == "double":
            middle = text[start:end] * 2
        else:
            at = draw(st.integers(0, len(text)))
            middle = text[at : at + end - start]
        text = text[:start] + middle + text[end:]
    return text


@st.composite
def exchanged(draw: st.DrawFn) -> str:
    """A valid file with one word exchanged for another of its words: well formed, but wrong."""
    text = draw(st.sampled_from([SAMPLE, NETWORK]))
    words = sorted(set(text.replace("{", " ").replace("}", " ").replace(",", " ").split()))
    old, new = draw(st.sampled_from(words)), draw(st.sampled_from([*words, *PIECES]))
    places = [i for i in range(len(text)) if text.startswith(old, i)]
    at = draw(st.sampled_from(places))
    return text[:at] + new + text[at + len(old) :]


def loads_or_refuses(text: str) -> None:
    """Load, build and draw; only the errors meant for a user may come out."""
    try:
        template = parse_template(text, "f.yaml")
        for seed in range(3):
            template.build(template.draw(random.Random(seed)))
    except ExpressionError as error:  # always wrapped with the place where it stands
        pytest.fail(f"no place: {error}")
    except InputError as error:
        message = str(error)
        assert "\n" not in message
        assert len(message) < 500
        assert message.isprintable()


@given(mangled())
def test_a_mangled_file_loads_or_is_refused(text: str) -> None:
    """Characters cut, put in, doubled, exchanged."""
    loads_or_refuses(text)


@given(exchanged())
def test_a_file_with_an_exchanged_word_loads_or_is_refused(text: str) -> None:
    """Kinds, terminals, numbers and names in places where they do not belong."""
    loads_or_refuses(text)


@given(st.text(max_size=200) | st.text(alphabet=string.printable, max_size=200))
def test_any_text_is_refused(text: str) -> None:
    """Random text is no template."""
    loads_or_refuses(text)


@given(st.text(alphabet="[]{},:-?&*!|>'\"%@` \n\tab1#", max_size=120))
def test_yaml_punctuation_is_refused(text: str) -> None:
    """What means something to YAML, in any order, also inside a valid file."""
    loads_or_refuses(text)
    loads_or_refuses(SAMPLE.replace("pump motor", text))
