"""The set of a course at the terminal: kept, changeable, handed in, without a word of feedback."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.base.errors import FileError, InputError
from quizgen.drill.page import Style, lines_of
from quizgen.drill.weekly import Put, Turn, Weekly, respond
from quizgen.drill.weekly_log import Pack, open_log
from tests.drill.asked import ALL

QUESTIONS = tuple(
    dataclasses.replace(question.shown, number=n) for n, question in enumerate(ALL, 1)
)
PACK = Pack(token="4f21aa07", form="A", checksum="ab" * 32, student="s-117")
NOW = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)


def run(*typed: str, weekly: Weekly | None = None) -> tuple[Turn, list[object]]:
    """The last turn after some lines, and all acts on the way."""
    turn, acts = Turn(weekly or Weekly(questions=QUESTIONS)), []
    for line in typed:
        turn = respond(turn.weekly, line)
        acts += turn.acts
    return turn, acts


def text(turn: Turn) -> str:
    """The page as one line of text."""
    return " ".join(" ".join(lines_of(turn.page, Style())).split())


def test_an_answer_is_kept_and_the_next_question_comes() -> None:
    """No verdict: only what was kept."""
    turn, acts = run("", "c")
    assert acts == [Put(1, "C")]
    assert turn.weekly.place == 1
    assert "Kept: C." in text(turn)
    assert "answer is" not in text(turn)


def test_answers_are_changed_and_taken_back() -> None:
    """Back to the first, another letter, then none."""
    turn, acts = run("", "c", "back", "b", "go 1", "clear")
    assert acts == [Put(1, "C"), Put(1, "B"), Put(1, "")]
    assert turn.weekly.answers == {}
    assert "Your answer so far: B" in text(run("", "b", "back")[0])


def test_to_and_fro() -> None:
    """Next, back, go; the ends of the set are said, and nothing is lost there."""
    assert run("", "next", "", "back")[0].weekly.place == 1
    assert run("go 4")[0].weekly.place == 3
    for typed, said in (("back", "first question"), ("go 9", "1 to 4"), ("go", "1 to 4")):
        turn, _ = run("", typed)
        assert turn.weekly.place == 0
        assert said in text(turn)
    assert "last question" in text(run("go 4", "next")[0])


def test_the_list_shows_what_is_open() -> None:
    """Answers beside their numbers, with units."""
    said = text(run("", "b", "ac", "next", "49,5", "list")[0])
    assert said == "Your answers question answer 1 B 2 A C 3 open 4 49.5 mA"


def test_handing_in_with_gaps_asks_once() -> None:
    """The numbers of open questions are named; finish again does it; an answer asks anew."""
    turn, acts = run("", "b", "finish")
    assert acts == [Put(1, "B")]
    assert "2, 3, 4" in text(turn)
    assert run("finish", weekly=turn.weekly)[1] == ["finish"]
    assert run("", "finish", weekly=turn.weekly)[1] == []
    assert run("", "b", "ac", "dacb", "49", "finish")[1][-1] == "finish"


@given(st.lists(st.one_of(st.text(max_size=8), st.sampled_from(
    ["a", "b", "ac", "dacb", "49", "next", "back", "go 2", "list", "clear", "?", "symbols",
     "diagram", "again", "finish", "open", ""])), max_size=12))  # fmt: skip
def test_nothing_of_a_key_can_be_had(typed: list[str]) -> None:
    """Whatever is typed, no reason, verdict or accepted figure appears, and no error either."""
    turn = Turn(Weekly(questions=QUESTIONS))
    for line in typed:
        turn = respond(turn.weekly, line)
        said = text(turn)
        for question in ALL:
            for reason in question.key.choices:
                assert reason.reasons[0] not in said
            assert not question.key.accepted or question.key.accepted not in said
        assert "right" not in said.replace("All letters", "")


def test_the_log_keeps_every_step(tmp_path: Path) -> None:
    """Opened again, the answers are there; handed in, all steps with their times are."""
    log = open_log(tmp_path, PACK)
    for number, answer in ((1, "C"), (2, "A C"), (1, "B"), (2, "")):
        log.put(number, answer, NOW)
    again = open_log(tmp_path, PACK)
    assert again.answers() == {1: "B"}
    record = again.handed_in()
    assert [(s.number, s.answer) for s in record.steps] == [(1, "C"), (2, "A C"), (1, "B"), (2, "")]
    assert (record.token, record.form, record.student) == ("4f21aa07", "A", "s-117")
    assert (record.pack, record.answers) == ("ab" * 32, {1: "B"})
    assert record.steps[0].at == "2026-01-05T18:00:00+00:00"


def test_each_student_and_form_has_a_log(tmp_path: Path) -> None:
    """Ids that are no file names still do not meet, nor lead elsewhere."""
    ids = ("s-117", "s-118", "../../etc", "a/b", "a b", "ä", "a", "x" * 200)
    paths = {open_log(tmp_path, dataclasses.replace(PACK, student=i)).path for i in ids}
    assert len(paths) == len(ids)
    assert {path.parent for path in paths} == {tmp_path / "sets"}


def test_a_changed_pack_and_an_edited_log_are_noticed(tmp_path: Path) -> None:
    """Answers to one version are not taken for another; a changed line is named."""
    log = open_log(tmp_path, PACK)
    log.put(1, "C", NOW)
    with pytest.raises(InputError, match="another version"):
        open_log(tmp_path, dataclasses.replace(PACK, checksum="cd" * 32))
    log.path.write_text(log.path.read_text().replace('"C"', '"B"'))
    with pytest.raises(FileError, match="altered"):
        open_log(tmp_path, PACK)
