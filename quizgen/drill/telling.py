"""What a student is told: the question, and after an answer the reasons.

First the reason of what was chosen, then the computed figures, then the answer and its reason.
"""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.base.errors import InputError
from quizgen.circuit.wire_data import COLOURS
from quizgen.drill.answers import indices
from quizgen.drill.marking import Verdict
from quizgen.drill.page import Block, Drawn, Entry, Page, Para, Title
from quizgen.drill.question import LETTERS, Picture, Question, Reason, Shown
from quizgen.drill.words import capital, level_words, named, plain, say, sayings, sentence

THOUSAND = 1000.0


def asked(shown: Shown, heading: str) -> Page:
    """The question as it is put: the diagram first, the choices last, near the prompt."""
    blocks: list[Block] = [Title(heading)]
    if shown.picture:
        blocks.append(shown.picture)
    blocks += [Para(text) for text in shown.stem]
    if shown.grid:
        blocks.append(shown.grid)
    blocks.append(Para(shown.question))
    blocks += [Entry(LETTERS[i], text) for i, text in enumerate(shown.choices)]
    return tuple(blocks)


def practice_heading(question: Question) -> str:
    """Number, topic, level, machine."""
    return say(
        "heading", number=question.shown.number, topic=capital(plain(question.topic)),
        level=level_words(question.level), machine=question.shown.machine,
    )  # fmt: skip


def prompt(shown: Shown, pack: bool = False) -> str:
    """What is asked for, in a few words."""
    bare = "bare_" if shown.response == "number" and not shown.unit else ""
    example = (shown.letters[1:] + shown.letters[:1])[::-1]
    return say(
        f"{'pack_' if pack else ''}ask_{bare}{shown.response}",
        span=f"{shown.letters[:1]} to {shown.letters[-1:]}", example=example, unit=shown.unit,
    )  # fmt: skip


def told(question: Question, answer: str, verdict: Verdict) -> Page:
    """Why the answer holds or fails, then the key's reasons."""
    key = "right_title" if verdict.right else "wrong_title"
    title = say(key, answer=answer_words(question.shown, answer))
    match question.shown.response:
        case "number":
            body = _about_figure(question, answer, verdict)
        case "order":
            body = _about_order(question, answer, verdict)
        case "several":
            body = _about_several(question, answer, verdict)
        case _:
            body = _about_one(question, answer, verdict)
    return (Title(title), *body)


def every_option(question: Question) -> Page:
    """The reasons of all options, or the way to the figure."""
    if not question.shown.choices:
        return (Para(say("all_figure")), *_solution(question))
    blocks: list[Block] = [Title(say("all_title"))]
    for i, reason in enumerate(question.key.choices):
        blocks += _explained(question, i, reason)
    return (*blocks, *_solution(question))


def symbols(picture: Picture | None) -> Page:
    """How to read a diagram; the symbols and colours that occur in this one."""
    blocks: list[Block] = [Title(say("symbols_title"))]
    blocks += [Para(text) for text in sayings("symbols_general")]
    if picture:
        blocks.append(Drawn(picture.signs))
        known = named("symbols")
        told = [known[name] for name in picture.symbols if name in known]
        blocks += [Entry("-", text) for text in told]
        if picture.colours:
            codes = ", ".join(f"{code} {COLOURS.get(code, '')}" for code in picture.colours)
            blocks.append(Para(say("colours", colours=codes)))
    return tuple(blocks)


def in_words(picture: Picture | None) -> Page:
    """The parts and wires of a diagram in full; for the ear, or without lists, all in words."""
    if picture is None:
        return ()
    if picture.lists:
        return (Drawn(picture.lists, picture.spoken),)
    return tuple(Entry("-", text) for text in picture.spoken.splitlines())


def cautions() -> Page:
    """All cautions for work on a machine."""
    return (
        Title(say("cautions_title")),
        *(Entry("-", text) for text in sayings("cautions")),
    )


def help_page(key: str) -> Page:
    """What can be typed; `key` is the table of it."""
    table = named(key)
    wide = max(map(len, table))
    entries = (Entry(name.ljust(wide), text) for name, text in table.items())
    return (Title(say("help_title")), *entries)


def answer_words(shown: Shown, answer: str) -> str:
    """The answer as one reads it: "B", "A C", "49.5 mA"; "" for none."""
    if answer and shown.response == "number":
        return f"{answer} {shown.unit}".strip().replace("-", "−")
    return answer


def not_understood(error: InputError) -> Page:
    """What was typed can be no answer."""
    problem = str(error)
    return (Para(say("not_understood", problem=sentence(problem))),)


def _about_one(question: Question, answer: str, verdict: Verdict) -> Iterator[Block]:
    (chosen,) = indices(answer)
    yield from _explained(question, chosen, question.key.choices[chosen])
    if not verdict.right:
        yield Title(say("key_title", key=question.key.text))
        for i, reason in enumerate(question.key.choices):
            if reason.is_key:
                yield from _explained(question, i, reason)
    yield from _solution(question)


def _about_several(question: Question, answer: str, verdict: Verdict) -> Iterator[Block]:
    picked = indices(answer)
    for i in verdict.explained:
        if not verdict.right:
            yield Para(say("chosen_but" if i in picked else "left_out", letter=LETTERS[i]) + ":")
        yield from _explained(question, i, question.key.choices[i])
    if not verdict.right:
        yield Title(say("key_title", key=question.key.text))
        for i, reason in enumerate(question.key.choices):
            if reason.is_key and i not in verdict.explained:
                yield from _explained(question, i, reason)
    yield from _solution(question)


def _about_order(question: Question, answer: str, verdict: Verdict) -> Iterator[Block]:
    if not verdict.right:
        (given,) = verdict.explained
        place = indices(answer).index(given)
        due = question.key.order[place]
        yield Para(say("order_departs", place=place + 1, given=LETTERS[given], due=LETTERS[due]))
        for choice in (due, given):
            yield from _explained(question, choice, question.key.choices[choice])
        yield Title(say("key_title", key=question.key.text))
        for i in question.key.order:
            yield Entry(LETTERS[i], question.shown.choices[i])
    yield from _solution(question)


def _about_figure(question: Question, answer: str, verdict: Verdict) -> Iterator[Block]:
    key = question.key
    if verdict.right:
        yield Para(say("taken", accepted=key.accepted, key=key.text))
    else:
        yield Para(_where_it_leaves(question, answer, verdict))
        yield Title(say("key_title_accepted", key=key.text, accepted=key.accepted))
    yield from _solution(question)


def _where_it_leaves(question: Question, answer: str, verdict: Verdict) -> str:
    if verdict.slip:
        return " ".join(verdict.slip.reasons)
    key, value = question.key, float(answer)
    if value and key.low <= -value <= key.high:
        return say("off_by_sign")
    if any(key.low <= value * scale <= key.high for scale in (THOUSAND, 1 / THOUSAND)) and value:
        return say("off_by_thousand")
    return say("no_known_slip", typed=answer_words(question.shown, answer))


def _explained(question: Question, place: int, reason: Reason) -> Iterator[Block]:
    yield Entry(LETTERS[place], question.shown.choices[place])
    yield from _reasons(reason)


def _reasons(reason: Reason) -> Iterator[Block]:
    if reason.reasons:
        yield Para(" ".join(reason.reasons), follows=True)
    if reason.figures:
        yield Para(say("figures", figures=reason.figures), follows=True)


def _solution(question: Question) -> Iterator[Block]:
    if question.key.solution:
        yield Para(" ".join(question.key.solution))
