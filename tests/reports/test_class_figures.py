"""Figures of simulated classes: what was built in is found, and chance is not taken for a fact."""

from __future__ import annotations

import math

import numpy as np
import pytest

from quizgen.grading.keys import Amendment, keys_of
from quizgen.grading.responses import Response
from quizgen.grading.score import Rules, score
from quizgen.reports.class_figures import ClassFigures, class_figures
from quizgen.reports.remarks import checks, reteach, warnings
from quizgen.store.contents import Graded
from tests.grading import graded
from tests.reports.published import ECU
from tests.reports.simulated import answers, big_set, responses, scored


def ecu_class() -> ClassFigures:
    """The ten published students: right is B, wrong is A."""
    ten = big_set(10, 10)
    given = [
        responses(s.id, "A", ["B" if x else "A" for x in row])
        for s, row in zip(ten.students, ECU, strict=True)
    ]
    return class_figures(ten, keys_of(ten), scored(ten, given))


def test_published_answers_come_out_as_published() -> None:
    """The ten students of Wuensch's example, answered, scored and worked out from end to end."""
    figures = ecu_class()
    assert [round(q.p, 2) for q in figures.questions] == [
        0.7, 0.7, 0.6, 0.7, 0.6, 0.8, 0.7, 0.7, 0.5, 0.6,
    ]  # fmt: skip
    assert [round(q.r, 4) for q in figures.questions][:3] == [0.7059, 0.7059, 0.0]
    (reliability,) = figures.reliabilities
    assert round(reliability.alpha, 5) == 0.69635
    assert round(reliability.error, 4) == 1.3317
    assert figures.questions[6].r < 0 < figures.questions[5].r
    flagged = {check.question for check in checks(figures)}
    assert {"A/7", "A/9"} <= flagged
    assert not any(check.sure for check in checks(figures))


def test_ten_students_get_no_labels_and_a_warning() -> None:
    """±0.63 is Fisher's interval of r = 0 for ten: tanh(1.96 / √7)."""
    figures = ecu_class()
    assert all(q.label == "" for q in figures.questions)
    assert f"{math.tanh(1.959964 / math.sqrt(7)):.2f}" == "0.63"
    assert "between −0.63 and +0.63" in warnings(figures)[0]
    assert not any(c.idle or c.suspect for q in figures.questions for c in q.choices)


def test_a_wrong_key_is_found_in_a_large_class() -> None:
    """One key was typed wrong: most of the better third chose something else. The others stand."""
    large = big_set(200, 8)
    wrong = Amendment(form="A", number=4, change="key", texts=("A",), why="typed wrong", who="x")
    keys = keys_of(large, [wrong])
    everything = [Graded(given=g, result=score(g, keys, Rules())) for g in answers(large)]
    figures = class_figures(large, keys, everything)
    sure = [check for check in checks(figures) if check.sure]
    assert "Is the key right?" in sure[0].what
    assert {c.question for c in sure if "key" in c.what} == {"A/4"}
    assert figures.questions[3].r_interval[1] < 0
    assert figures.questions[3].label == "poor"


def test_an_option_that_nobody_takes_is_idle() -> None:
    """Of 200 students none chose C in question 3; a small class does not get that verdict."""
    large = big_set(200, 6)
    figures = class_figures(large, keys_of(large), scored(large, answers(large, idle=[3])))
    assert [(q.number, c.letter) for q in figures.questions for c in q.choices if c.idle] == [
        (3, "C")
    ]
    assert any("Hardly anybody chose C" in c.what for c in checks(figures) if c.question == "A/3")
    few = big_set(15, 6)
    figures = class_figures(few, keys_of(few), scored(few, answers(few, idle=[3])))
    assert not any(c.idle for q in figures.questions for c in q.choices)


def test_mistaken_ideas_are_counted_by_their_chances() -> None:
    """Two of three students pick the fuse once each: 2 of 6 chances, by 2 students."""
    three = big_set(3, 2)
    given = [
        responses("S-00001", "A", ["A", "B"]),
        responses("S-00002", "A", ["A", "B"]),
        responses("S-00003", "A", ["B", "C"]),
    ]
    figures = class_figures(three, keys_of(three), scored(three, given))
    found = {b.name: (b.shown, b.chances, b.students, b.questions) for b in figures.beliefs}
    assert found == {
        "stops-early": (2, 6, 2, (("A", 1),)),
        "load-blamed": (1, 6, 1, (("A", 2),)),
    }
    assert [b.name for b in reteach(figures)] == ["stops-early"]


def test_forms_are_taken_together_by_place_and_apart() -> None:
    """Two forms: places pool both, questions do not; a withdrawn one of A leaves B's standing."""
    two = big_set(40, 5, "AB")
    gone = Amendment(form="A", number=2, change="withdraw", why="x", who="y")
    keys = keys_of(two, [gone])
    everything = [Graded(given=g, result=score(g, keys, Rules())) for g in answers(two)]
    figures = class_figures(two, keys, everything)
    assert [p.students for p in figures.places] == [40, 20, 40, 40, 40]
    assert [(q.name, q.withdrawn) for q in figures.questions if q.number == 2] == [
        ("A/2", True), ("B/2", False),
    ]  # fmt: skip
    whole, a, b = figures.reliabilities
    assert (whole.form, whole.questions, a.questions, b.questions) == ("", 4, 4, 5)
    apart = np.mean([q.p for q in figures.questions if q.number == 1])
    assert figures.places[0].p == pytest.approx(apart)


def test_undecided_marks_keep_a_student_out_of_the_figures() -> None:
    """The student is named, and counts neither as present nor as missing."""
    four = graded.the_set()
    sheet = graded.answered("B", "AC", "CABD", "11.9")
    doubt = Response(item=1, state="doubtful", doubt="two filled")
    unclear = type(sheet)(**{**vars(sheet), "responses": (doubt, *sheet.responses[1:])})
    other = graded.answered("A", "A", "CADB", "0", student="S-002", form="B")
    figures = class_figures(four, keys_of(four), scored(four, [unclear, other]))
    assert (figures.students, figures.left_out) == (1, ("S-001",))
    assert figures.missing == ("S-003", "S-004")
    assert any("S-001" in text for text in warnings(figures))


def test_every_way_to_answer_has_its_table() -> None:
    """Options with letters; orders and figures as they were given, the most common first."""
    four = graded.the_set()
    given = [
        graded.answered("B", "AC", "CABD", "11.9", student="S-001"),
        graded.answered("A", "ABD", "CABD", "12", student="S-003"),
    ]
    figures = class_figures(four, keys_of(four), scored(four, given))
    tables = [
        [(c.letter or c.text, c.count, c.right) for c in q.choices] for q in figures.questions
    ]
    assert tables[0] == [("A", 1, False), ("B", 1, True), ("C", 0, False)]
    assert tables[1] == [("A", 2, True), ("B", 1, False), ("C", 1, True), ("D", 1, False)]
    assert tables[2] == [("C A B D", 2, True)]
    assert tables[3] == [("11.9 V", 1, True), ("12 V", 1, True)]
    assert [q.key for q in figures.questions] == ["B", "A C", "C A B D", "11.7 to 12.1 V"]


def test_nobody_has_answered() -> None:
    """No figures, no failure."""
    four = graded.the_set()
    figures = class_figures(four, keys_of(four), [])
    assert figures.questions == figures.places == ()
    assert "nothing to work out" in warnings(figures)[0]
    assert checks(figures) == ()


def test_an_option_that_draws_the_better_students_is_suspect() -> None:
    """Of 90 students, on the last question the better third picks C; chance alone is not told."""
    many = big_set(90, 7)
    given = []
    for n, student in enumerate(many.students):
        third = n // 30
        knows = ["B" if (n + k) % 3 <= third else "A" for k in range(6)]
        given.append(responses(student.id, "A", [*knows, "C" if third == 2 and n % 3 else "B"]))
    figures = class_figures(many, keys_of(many), scored(many, given))
    assert [c.letter for c in figures.questions[6].choices if c.suspect] == ["C"]
    assert any(c.question == "A/7" and c.kind in ("key", "drew") for c in checks(figures))
    plain = big_set(60, 12)
    figures = class_figures(plain, keys_of(plain), scored(plain, answers(plain, seed=4)))
    assert sum(c.suspect for q in figures.questions for c in q.choices) <= 1
