"""Where practice is kept."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs
import pytest

from quizgen.base.errors import InputError, OutsideError
from quizgen.drill.home import DATA, home, make_private


def test_each_student_has_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Under the folder of the environment, or else the platform's; one for each name."""
    monkeypatch.setenv(DATA, str(tmp_path))
    assert home("s-117").parent == home().parent == tmp_path / "drill"
    assert home("s-117") != home("s-118") != home()
    monkeypatch.delenv(DATA)
    assert home().is_relative_to(platformdirs.user_data_dir("quizgen", appauthor=False))


@pytest.mark.parametrize("name", ["..", "a/b", ".hidden", "x" * 41, "a b", "\x00"])
def test_a_name_never_leads_out_of_the_folder(name: str) -> None:
    """What could be a path, or no file name on some system, is refused in one line."""
    with pytest.raises(InputError, match="letters, digits"):
        home(name)


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX")
def test_only_the_student_can_look_into_it(tmp_path: Path) -> None:
    """Whatever is kept first, the folder and those in it are closed to others."""
    folder = tmp_path / "drill" / "s-117"
    for _ in range(2):
        assert make_private(folder, "hunts") == folder / "hunts"
    assert [one.stat().st_mode & 0o777 for one in (folder, folder / "hunts")] == [0o700] * 2
    (tmp_path / "file").touch()
    with pytest.raises(OutsideError, match="cannot be made"):
        make_private(tmp_path / "file" / "s-117")
