"""Where the files that travel with the program are: templates and scenarios.

In a checkout they are folders at the top of the project; in an installed wheel they are
copied under `quizgen/_data` (see pyproject.toml).
"""

from __future__ import annotations

from pathlib import Path

from quizgen.base.errors import OutsideError

_PACKAGE = Path(__file__).resolve().parents[1]


def data_folder(name: str) -> Path:
    """The folder `name` of the shipped data, such as "templates".

    Raises OutsideError when the installation lacks it.

    >>> data_folder("templates").name
    'templates'
    """
    installed = _PACKAGE / "_data" / name
    if installed.is_dir():
        return installed
    checkout = _PACKAGE.parent / name
    # site-packages may hold somebody else's "templates": only a project folder counts
    if (_PACKAGE.parent / "pyproject.toml").is_file() and checkout.is_dir():
        return checkout
    raise OutsideError(f"the data folder {name!r} is missing; install quizgen again")
