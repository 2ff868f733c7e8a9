"""What drivers say of is what loads do: other words in complaints.yaml are mistakes."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from quizgen.base.errors import FileError
from quizgen.base.paths import data_folder
from quizgen.scenario.reading import levels
from quizgen.scenario.scenario import load_scenario

SHIPPED = data_folder("scenarios") / "brindlemere"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("does: turns slowly", "does: turns slow", "'turns slow'; did you mean turns slowly?"),
        ("does: stopped", "does: not running", "no load is seen to do 'not running'; known: dark"),
        ("instead of: stopped", "instead of: stoped", "'stoped'; did you mean stopped?"),
    ],
)
def test_a_word_for_what_no_load_does_is_refused(
    tmp_path: Path, old: str, new: str, message: str
) -> None:
    """A sentence that could never be said is told with its line, and the word that was meant."""
    folder = Path(shutil.copytree(SHIPPED, tmp_path / "brindlemere"))
    file = folder / "complaints.yaml"
    words = file.read_text(encoding="utf-8")
    assert old in words
    file.write_text(words.replace(old, new, 1), encoding="utf-8")
    line = words[: words.index(old)].count("\n") + 1
    with pytest.raises(FileError, match=re.escape(message)) as caught:
        load_scenario(folder)
    assert str(caught.value).startswith(f"{file}, line {line}, ")


def test_the_readme_of_the_scenario_lists_every_word() -> None:
    """Who writes sentences finds there whatever a load can be seen to do."""
    readme = (SHIPPED / "README.md").read_text(encoding="utf-8")
    missing = [word for word in levels() if f"`{word}`" not in readme]
    assert not missing
