"""The rules that look at one item."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from statistics import mean

from quizgen.items.item import Item
from quizgen.items.lint.figures import amounts, lint_figures
from quizgen.items.lint.remark import Remark, error, warning

LONGEST_KEY = 1.6  # of the mean length of the wrong options
LONGEST_OPTION = 2.2  # of the shortest
SHORT_TEXT = 16  # letters; differences below are no clue
MOST_WORDS = 150  # of a stem
MOST_CONVERGENCE = 0.08  # by how much the key may be more like all options than any other is
OPTION_COUNTS = {"one": (3, 4), "several": (3, 6), "order": (3, 6), "number": (0, 0)}
CONTENT_LETTERS = 4  # shorter words are no echo, but for the names of parts

ALL_OF = re.compile(r"\b(all|any|each|both) (of )?(the above|these|them|the others)\b", re.I)
NONE_OF = re.compile(r"\b(none|neither) (of )?(the above|these|them|the others)\b", re.I)
NEGATIVE = re.compile(r"\b(not|except|least|cannot|n't)\b", re.I)
ABSOLUTE = re.compile(
    r"\b(always|never|completely|absolutely|entirely|impossible|certainly|totally)\b", re.I
)
VAGUE = re.compile(
    r"\b(usually|often|sometimes|generally|frequently|rarely|probably|possibly|normally)\b", re.I
)
COMBINED = re.compile(r"\b[A-D] (and|or) [A-D]\b(?! terminal)")
UNFOCUSED = re.compile(
    r"which (of (the following|these) )?(statements? )?(is|are) (true|false)", re.I
)
OPPOSITES = (
    ("open", "closed"), ("higher", "lower"), ("more", "less"), ("feed", "ground"), ("on", "off"),
    ("bright", "dark"), ("before", "after"),
)  # fmt: skip
WORD = re.compile(r"[\w.+−-]+")


def lint_item(item: Item) -> tuple[Remark, ...]:
    """What the rules find in an item, in the order of their numbers."""
    found = [
        *_lengths(item),
        *_phrases(item),
        *_clues(item),
        *_likeness(item),
        *lint_figures([o.text for o in item.options] if item.response == "one" else []),
        *_stem(item),
        *_reasons(item),
        *_count(item),
    ]
    return tuple(sorted(found, key=lambda remark: remark.rule))


def key_is_longest(item: Item) -> bool:
    """The key is strictly the longest option."""
    if item.response != "one" or amounts([o.text for o in item.options]):
        return False
    others = [len(o.text) for o in item.options if not o.is_key]
    return len(item.key.text) > max(others, default=0)


def key_stands_out(key: str, others: Sequence[str]) -> bool:
    """The key is so much longer than the wrong options that it can be told by that (L01)."""
    lengths = [len(text) for text in (key, *others)]
    if max(lengths) < SHORT_TEXT:
        return False
    return len(key) > LONGEST_KEY * mean(lengths[1:])


def _lengths(item: Item) -> Iterator[Remark]:
    """L01."""
    lengths = [len(o.text) for o in item.options]
    if item.response != "one" or max(lengths, default=0) < SHORT_TEXT:
        return
    others = [o.text for o in item.options if not o.is_key]
    if key_stands_out(item.key.text, others):
        by = len(item.key.text) / mean(map(len, others))
        yield error("L01", f"the key is {by:.1f} x as long as the others")
    if max(lengths) > LONGEST_OPTION * max(min(lengths), SHORT_TEXT):
        yield error("L01", f"the longest option has {max(lengths)} letters, one {min(lengths)}")


def _phrases(item: Item) -> Iterator[Remark]:
    """L02 to L06, L16, L17 and L20: words that do not belong."""
    for option in item.options:
        if ALL_OF.search(option.text):
            yield error("L02", f"{option.text!r}")
        if NONE_OF.search(option.text):
            yield error("L03", f"{option.text!r}")
        if ABSOLUTE.search(option.text):
            yield error("L06", f"{option.text!r} is absolute")
        if VAGUE.search(option.text):
            yield error("L16", f"{option.text!r} is vague")
        if COMBINED.search(option.text):
            yield error("L20", f"{option.text!r} combines options")
    negated = [bool(NEGATIVE.search(o.text)) for o in item.options]
    if any(negated) and not all(negated):
        yield warning("L05", "some options are negated, others not")
    for match in NEGATIVE.finditer(item.question):
        sort = warning if match.group().isupper() else error
        yield sort("L04", f"the question is negative: {match.group()!r}")
    if VAGUE.search(item.question):
        yield error("L16", f"the question is vague: {item.question!r}")
    if UNFOCUSED.search(item.question):
        yield error("L17", "the question cannot be answered without the options")


def _clues(item: Item) -> Iterator[Remark]:
    """L07, L08 and L10."""
    texts = [o.text for o in item.options]
    if len({text[-1:] in ".!?" for text in texts}) > 1:
        yield error("L08", "some options end with a full stop, others not")
    if len({text[:1].isupper() for text in texts if text[:1].isalpha()}) > 1:
        yield error("L08", "some options begin with a capital, others not")
    if re.search(r"\ban?\s*[?:]?\s*\Z", item.question):
        yield error("L08", "the question ends with an article")
    if item.response != "one":
        return
    echoed = _echoes(item)
    if echoed[item.options.index(item.key)] and sum(map(bool, echoed)) == 1:
        words = ", ".join(sorted(set().union(*echoed)))
        yield warning("L07", f"the key alone repeats of the stem: {words}")
    pairs = [(a, b) for i, a in enumerate(texts) for b in texts[i + 1 :] if _opposed(a, b)]
    if len(pairs) == 1 and len(texts) > 2 and item.key.text in pairs[0]:
        yield warning("L10", "the key and one other option are opposites")


def _echoes(item: Item) -> list[set[str]]:
    """By option: words of the stem that no other option has. Where several have some, the echo
    gives nothing away: in a circuit the parts that are told of are the parts that are asked for."""
    stem = {
        word
        for word in _words(" ".join(item.stem))
        if len(word) >= CONTENT_LETTERS or (word[0].isalpha() and word[-1].isdigit())
    }
    sets = [_words(o.text) & stem for o in item.options]
    return [
        mine - set().union(*(other for j, other in enumerate(sets) if j != i))
        for i, mine in enumerate(sets)
    ]


def _opposed(a: str, b: str) -> bool:
    """They differ in one word, and that by its opposite."""
    only_a, only_b = _words(a) - _words(b), _words(b) - _words(a)
    return any({*only_a, *only_b} == set(pair) for pair in OPPOSITES)


def _likeness(item: Item) -> Iterator[Remark]:
    """L09: the key must not be the option that shares most with all others."""
    if item.response != "one" or len(item.options) < 3 or amounts([o.text for o in item.options]):
        return
    sets = [_words(o.text) for o in item.options]
    shared = [
        mean(len(a & b) / (len(a | b) or 1) for j, b in enumerate(sets) if j != i)
        for i, a in enumerate(sets)
    ]
    key = item.options.index(item.key)
    others = max(s for i, s in enumerate(shared) if i != key)
    if shared[key] > others + MOST_CONVERGENCE:
        yield warning("L09", "the key has more in common with the other options than any of them")


def _stem(item: Item) -> Iterator[Remark]:
    """L17 and L18."""
    ending = item.question.rstrip()[-1:]
    if ending != "?" and item.response not in ("order", "number", "several"):
        yield error("L17", f"the question does not end as one: {item.question!r}")
    words = len(" ".join(item.stem).split())
    if words > MOST_WORDS:
        yield warning("L18", f"the stem has {words} words")


def _reasons(item: Item) -> Iterator[Remark]:
    """L21: every wrong option has its wrong model and its rationale, every key its reason."""
    for option in item.options if item.response in ("one", "several") else ():
        if not option.is_key and not option.misconception:
            yield error("L21", f"no misconception stands behind {option.text!r}")
        if not any(option.rationale):
            yield error("L21", f"{option.text!r} has no rationale")
    if item.response in ("order", "number") and not any(item.solution):
        yield error("L21", "there is no worked solution")


def _count(item: Item) -> Iterator[Remark]:
    """L22."""
    fewest, most = OPTION_COUNTS.get(item.response, (0, 0))
    if not fewest <= len(item.options) <= most:
        yield error("L22", f"{len(item.options)} options; expected {fewest} to {most}")


def _words(text: str) -> set[str]:
    return {word.casefold() for word in WORD.findall(text)}
