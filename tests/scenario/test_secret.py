"""The course secret: where it may stand, and what is no secret."""

from __future__ import annotations

from pathlib import Path

import pytest

from quizgen.base.errors import FileError, InputError
from quizgen.base.paths import data_folder
from quizgen.base.seeds import Seed, read_secret
from quizgen.forms.plan import load_plan
from quizgen.pipeline import build_set

PLAN = data_folder("scenarios") / "brindlemere" / "plans" / "week-01.yaml"


def plan_with(tmp_path: Path, secret: str) -> Path:
    """The shipped plan with another secret line."""
    lines = [x for x in PLAN.read_text(encoding="utf-8").splitlines() if "secret:" not in x]
    path = tmp_path / "plan.yaml"
    path.write_text("\n".join([*lines, secret, ""]), encoding="utf-8")
    return path


def test_a_short_secret_is_refused_with_its_line(tmp_path: Path) -> None:
    """What can be guessed protects no key."""
    with pytest.raises(FileError, match=r"line \d+, secret: .*can be guessed"):
        load_plan(plan_with(tmp_path, "secret: hunter2"))


def test_a_plan_without_any_secret_builds_nothing(tmp_path: Path) -> None:
    """There is no default that everybody would know."""
    out = tmp_path / "out"
    with pytest.raises(InputError, match="has no secret; name the course's secret file"):
        build_set(plan_with(tmp_path, ""), out)
    assert not out.exists()


def test_white_space_around_a_secret_does_not_count(tmp_path: Path) -> None:
    """An editor that adds a newline does not change the course."""
    bare, framed = tmp_path / "a", tmp_path / "b"
    bare.write_bytes(b"correct horse battery")
    framed.write_bytes(b"  correct horse battery\r\n")
    assert read_secret(bare) == read_secret(framed)


@pytest.mark.parametrize("content", [b"", b"too short"])
def test_a_file_that_holds_no_secret_is_named(tmp_path: Path, content: bytes) -> None:
    """The message says which file and what to put into it."""
    path = tmp_path / "secret.txt"
    path.write_bytes(content)
    with pytest.raises(InputError, match=r"secret\.txt: a secret of fewer"):
        read_secret(path)


def test_another_secret_draws_otherwise() -> None:
    """All chance hangs on the secret and the label."""
    one, other = Seed(b"a" * 16), Seed(b"b" * 16)
    assert one.under("x").rng().random() == one.under("x").rng().random()
    assert one.under("x").rng().random() != other.under("x").rng().random()
    assert one.under("x", "y").token() != one.under("xy").token()
