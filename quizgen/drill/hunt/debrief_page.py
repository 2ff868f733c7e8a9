"""The debrief in words: repair, both courses, what each reading ruled out, score, advice."""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.drill.hunt import engine as e
from quizgen.drill.hunt.case import LEVELS
from quizgen.drill.hunt.course import ready_for
from quizgen.drill.hunt.debrief import DIAGNOSIS, SAFETY, TIME, Debrief, Look
from quizgen.drill.hunt.standing import Standing
from quizgen.drill.hunt.telling import past_row
from quizgen.drill.hunt.tree import Trial
from quizgen.drill.hunt.words import (
    act_words,
    entry,
    long_claims,
    minutes,
    place_words,
    say,
    short_claims,
    shown_words,
)
from quizgen.drill.page import Block, Entry, Page, Para, Rows, Title
from quizgen.faults import describe
from quizgen.faults.wording import part_name
from quizgen.items.sentences import load_words, state_words

MOST_AMISS = 4


def debrief_page(back: Debrief) -> Page:
    """Everything that is said at the end."""
    return (
        *_repair(back),
        Title(say("debrief_title")),
        *_decided(back),
        *_yours(back),
        *_course(back),
        *_excluded(back),
        *_score(back),
        Title(say("next_title")),
        Para(_advice(back)),
    )


# --- the repair -----------------------------------------------------------------------


def _repair(back: Debrief) -> Iterator[Block]:
    case, trying = back.hunt.case, back.trying
    named = trying.named
    yield Title(say("repair_title", part=_named_words(back)))
    fault = describe(case.circuit, case.fault)
    if trying.is_gone:
        part = part_name(case.circuit.part(named.part))
        yield Para(say("beside" if trying.beside else "gone", fault=fault, part=part))
    else:
        yield Para(say("not_gone"))
        for amiss in trying.amiss[:MOST_AMISS]:
            state = state_words(case.circuit, dict(amiss.moves)) or "at rest"
            what = load_words(case.circuit.part(amiss.load), amiss.level)
            yield Entry("-", say("amiss", state=state, what=what, should=amiss.should))
        for name in trying.blown:
            yield Entry("-", say("goes_again", part=part_name(case.circuit.part(name))))
        yield Para(say("was", fault=fault))
    here = back.field.place(back.truth)
    others = [n for n in sorted(back.answers) if back.field.place(n) != here]
    if others:
        yield Para(say("or_else", others=long_claims(back.field, others)))


def _named_words(back: Debrief) -> str:
    named = back.trying.named
    return place_words(back.hunt.case.circuit, named.part, named.cavity)


# --- was there enough to decide -------------------------------------------------------


def _decided(back: Debrief) -> Iterator[Block]:
    at = back.decided_at
    if at is not None:
        key = "decided_story" if at < 0 else "decided"
        yield Para(say(key, step=at + 1, place=_places(back)))
        if back.late:
            yield Para(say("decided_late", late=back.late), follows=True)
    else:
        yield from _undecided(back)
    if not back.is_right:
        yield from _wrong(back)
    if back.idle:
        steps = ", ".join(str(back.looks.index(look) + 1) for look in back.idle)
        yield Para(say("idle", steps=steps))


def _places(back: Debrief) -> str:
    """Where the right answers are mended."""
    claims = sorted(back.answers, key=lambda n: (n != back.truth, -back.course.shares[n]))
    told = dict.fromkeys(back.field.place(n) for n in claims)
    return " or ".join(place_words(back.field.sound, *where) for where in told)


def _undecided(back: Debrief) -> Iterator[Block]:
    others = [n for n in back.suspects_left if n not in (back.answers if back.is_right else ())]
    told = long_claims(back.field, others)
    if not any(look.is_test for look in back.looks):
        yield Para(say("undecided_none", others=told))
    elif back.is_right:
        percent = round(100 * back.evidence)
        named = _named_words(back)
        yield Para(say("undecided_right", named=named, others=told, percent=percent))
    else:
        yield Para(say("undecided_wrong", others=told))
    if back.one_more:
        test = _test_words(back, back.one_more)
        yield Para(say("one_more", test=test), follows=True)


def _test_words(back: Debrief, trial: Trial) -> str:
    """A test of the course, with how the machine has to stand where that is not as it came in."""
    standing = ready_for(back.field, trial.check)
    what = act_words(back.field.sound, trial.act, standing)
    as_it_came = standing.moves == back.hunt.case.moves and not standing.unplugged
    return what if trial.act.do == e.WATCH or as_it_came else what + _state_of(back, standing)


def _state_of(back: Debrief, standing: Standing) -> str:
    """How the machine has to stand for a reading, where it is not as the driver had it."""
    words = [f"{name} off" for name in standing.unplugged]
    before = back.hunt.case.moves
    words += [f"{k} {v}" for k, v in standing.moves if (k, v) not in before]
    return f" ({', '.join(words)})" if words else ""


def _wrong(back: Debrief) -> Iterator[Block]:
    look = back.ruled_out_by
    named = _named_words(back)
    if look is not None:
        what = act_words(back.field.sound, look.taken.act, look.taken.before)
        step = back.looks.index(look) + 1
        shown = shown_words(look.taken)
        yield Para(say("had_ruled_out", named=named, step=step, what=what, shown=shown))
    elif not back.named:
        yield Para(say("never_fits", named=named))


# --- the two courses ------------------------------------------------------------------


def _yours(back: Debrief) -> Iterator[Block]:
    used = minutes(back.hunt.standing.minutes)
    yield Title(say("yours_title", minutes=used))
    rows = [
        _row(back, number, look)
        for number, look in enumerate(back.looks, 1)
        if look.taken.act.do != e.REPAIR
    ]
    if rows:
        yield Rows(tuple(entry("heads")), tuple(rows))
    begin = len(back.field.claimed)
    yield Para(say("left_note", begin=begin))


def _row(back: Debrief, number: int, look: Look) -> tuple[str, ...]:
    *row, shown = past_row(back.field.sound, number, look.taken)
    if look.taken.act.do == e.WATCH:
        shown = ""
    return *row, shown, f"{look.claims}{_mark(back, number - 1, look)}"


def _mark(back: Debrief, place: int, look: Look) -> str:
    if place == back.decided_at:
        return f", {entry('decided_here')}"
    return f", {entry('nothing_new')}" if look in back.idle else ""


def _course(back: Debrief) -> Iterator[Block]:
    course = back.course
    expected = minutes(course.expected_minutes)
    yield Title(say("course_title"))
    yield Para(say("course_exact" if course.is_exact else "course_good", expected=expected))
    rows = []
    for number, (trial, cost, left) in enumerate(course.path(back.truth), 1):
        what = _test_words(back, trial)
        claims = len(back.field.claims_in(left))
        rows.append((str(number), what, minutes(cost), str(claims)))
    if rows:
        yield Rows(tuple(entry("course_heads")), tuple(rows))


def _excluded(back: Debrief) -> Iterator[Block]:
    yield Title(say("excluded_title"))
    found: list[Block] = [
        Entry(
            str(number),
            say(
                "excluded",
                what=act_words(back.field.sound, look.taken.act, look.taken.before),
                names=short_claims(back.field, look.ruled_out),
            ),
        )
        for number, look in enumerate(back.looks, 1)
        if look.ruled_out
    ]
    yield from found or [Para(say("excluded_none"))]


# --- score and advice -----------------------------------------------------------------


def _score(back: Debrief) -> Iterator[Block]:
    points = back.points
    yield Title(say("points_title", total=f"{sum(points):.0f}"))
    right = back.is_right
    name, good, bad = entry("points_diagnosis")
    why = good.format(percent=round(100 * back.evidence)) if right else bad
    rows = [(name, f"{points[0]:.0f} / {DIAGNOSIS}", why)]
    name, good, bad = entry("points_time")
    used = minutes(back.hunt.standing.minutes)
    expected = minutes(back.course.expected_minutes)
    why = good.format(expected=expected, used=used) if right else bad
    rows.append((name, f"{points[1]:.0f} / {TIME}", why))
    name, good, bad = entry("points_safety")
    unsafe = back.hunt.standing.unsafe
    rows.append((name, f"{points[2]:.0f} / {SAFETY}", bad.format(count=unsafe) if unsafe else good))
    yield Rows(tuple(entry("points_heads")), tuple(rows))


def _advice(back: Debrief) -> str:
    names = list(LEVELS)
    place = names.index(back.hunt.case.level) + 1
    key = back.advice
    if key == "harder" and place == len(names):
        key = "another"
    return str(entry("advice")[key]).format(harder=names[min(place, len(names) - 1)])
