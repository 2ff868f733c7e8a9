"""What an installed quizgen brings along."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this checkout, built without the network."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT, check=True, capture_output=True,
    )  # fmt: skip
    return next(folder.glob("*.whl"))


def test_every_data_file_is_in_the_wheel(wheel: Path) -> None:
    """Templates, wording, fonts with their licences, and scenarios travel with the program."""
    inside = set(zipfile.ZipFile(wheel).namelist())
    for folder in ("templates", "scenarios"):
        for file in (ROOT / folder).rglob("*"):
            if file.is_file():
                assert f"quizgen/_data/{file.relative_to(ROOT)}" in inside
    assert any(name.endswith("licenses/LICENSE") for name in inside)
    assert not [name for name in inside if name.startswith(("tests/", "out/"))]


def test_an_installed_quizgen_finds_its_data(wheel: Path, tmp_path: Path) -> None:
    """Away from the checkout, scenario, template and page are found inside the wheel."""
    zipfile.ZipFile(wheel).extractall(tmp_path / "site")
    code = (
        "import quizgen; from quizgen.scenario.scenario import find_scenario; "
        "from quizgen.circuit.template import find_template, shipped_templates; "
        "from quizgen.publish.page_options import PageOptions; "
        "from quizgen.publish.html import key_html; from quizgen.publish.view import *; "
        "[find_template(n).build() for n in shipped_templates()]; "
        "head = Heading(college=find_scenario('brindlemere').college, course='c', title='t'); "
        "html = key_html(AnswerKey(heading=head, forms=()), PageOptions()); "
        "print(quizgen.__file__, 'Brindlemere Technical College' in html)"
    )
    printed = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(tmp_path / "site")},
    )  # fmt: skip
    file, found = printed.stdout.split()
    assert file.startswith(str(tmp_path))
    assert found == "True"


def test_make_knows_its_tasks() -> None:
    """`make` alone lists every task with a line of help."""
    printed = subprocess.run(["make", "help"], cwd=ROOT, capture_output=True, text=True, check=True)
    tasks = re.findall(r"^(\w+) ", printed.stdout, re.MULTILINE)
    assert {"demo", "test", "bench", "lint", "clean"} <= set(tasks)


def test_a_python_that_is_too_old_is_refused_in_one_line(tmp_path: Path) -> None:
    """`make` with an unsuitable interpreter says what is needed instead of failing later."""
    old = tmp_path / "python2"
    old.write_text("#!/bin/sh\nexit 1\n")
    old.chmod(0o755)
    made = subprocess.run(
        ["make", "lint", f"PYTHON={old}", f"VENV={tmp_path / 'venv'}"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert made.returncode != 0
    assert f"quizgen needs Python 3.11 or newer, and {old} is not" in made.stdout
    assert not (tmp_path / "venv").exists()


def test_the_interpreter_of_pyproject_is_the_one_make_asks_for() -> None:
    """The version in pyproject.toml, the Makefile's check and the README agree."""
    wanted = re.search(r'requires-python = ">=3\.(\d+)"', (ROOT / "pyproject.toml").read_text())
    assert wanted is not None
    assert f"sys.version_info < (3, {wanted[1]})" in (ROOT / "Makefile").read_text()
    assert f"Python 3.{wanted[1]} or newer" in (ROOT / "README.md").read_text(encoding="utf-8")
