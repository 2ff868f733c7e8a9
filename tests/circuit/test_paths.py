"""The shipped data is found in a checkout and in an installed wheel."""

from __future__ import annotations

from pathlib import Path

import pytest

from quizgen.base import paths
from quizgen.base.errors import OutsideError


def test_the_data_of_a_wheel_comes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Inside the package under `_data`; a stranger's folder beside the package is not taken."""
    package = tmp_path / "quizgen"
    (tmp_path / "templates").mkdir()
    package.mkdir()
    monkeypatch.setattr(paths, "_PACKAGE", package)
    with pytest.raises(OutsideError, match="'templates' is missing"):
        paths.data_folder("templates")
    (tmp_path / "pyproject.toml").touch()
    assert paths.data_folder("templates") == tmp_path / "templates"
    (package / "_data" / "templates").mkdir(parents=True)
    assert paths.data_folder("templates") == package / "_data" / "templates"
