"""Whatever happens in whatever order, results are what scoring from scratch gives."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from quizgen.base.errors import InputError
from quizgen.grading.keys import Amendment, keys_of
from quizgen.grading.responses import StudentResponses
from quizgen.grading.score import Rules, score
from quizgen.store.contents import amendments, graded, rules_of, trail
from quizgen.store.database import open_store
from quizgen.store.gradebook import amend, record, set_rules
from tests.grading import graded as made

SET = made.the_set()
ANSWERS = st.builds(
    lambda student, values, digest: made.answered(
        *values, student=student, form="A", digest=digest
    ),
    st.sampled_from([s.id for s in SET.students]),
    st.tuples(
        st.sampled_from(["", "A", "B", "C"]), st.sampled_from(["", "A", "AC", "ABD"]),
        st.sampled_from(["", "CABD", "DCBA"]), st.sampled_from(["", "11.9", "0"]),
    ),
    st.sampled_from("12"),
)  # fmt: skip
CHANGES = st.builds(
    lambda number, change, text: Amendment(
        form="A", number=number, change=change, texts=(text,) if change == "key" else (),
        why="x", who="y",
    ),
    st.integers(1, 2), st.sampled_from(["key", "withdraw", "restore"]), st.sampled_from("ABC"),
)  # fmt: skip
STEPS = st.lists(
    st.one_of(
        st.tuples(ANSWERS, st.booleans()), CHANGES, st.builds(Rules, part_credit=st.booleans())
    ),
    max_size=7,
)  # fmt: skip


@settings(max_examples=30, deadline=None)
@given(STEPS)
def test_results_are_those_of_scoring_from_scratch(steps: list[object]) -> None:
    """Answers, replacements, changed keys and rules in any order; every change is told."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(str(Path(folder) / "grades.sqlite"))
        points: dict[str, float] = {}
        for step in steps:
            before = len(trail(store, SET.token))
            match step:
                case (StudentResponses() as given_, bool() as replace):
                    record(store, SET, [given_], "x", replace=replace)
                case Amendment():
                    amend(store, SET, step)
                case Rules():
                    set_rules(store, SET, step, "why", "who")
                case other:
                    raise InputError(str(other))
            events = trail(store, SET.token)[before:]
            held = graded(store, SET.token)
            keys = keys_of(SET, amendments(store, SET.token))
            for g in held:
                assert g.result == score(g.given, keys, rules_of(store, SET.token))
            now = {g.given.student: g.result.points for g in held}
            changed = {s for s in now if now[s] != points.get(s)}
            assert changed <= {event.student for event in events}
            points = now
        store.close()
