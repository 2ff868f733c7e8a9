"""Modules and functions stay short enough to be read in one go."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import quizgen

ROOT = Path(quizgen.__file__).parent
MODULES = tuple(sorted(p for p in ROOT.rglob("*.py") if "_data" not in p.parts))
LONGEST_MODULE = 400
LONGEST_FUNCTION = 40
SAYS_NOTHING = {"utils", "util", "helpers", "helper", "common", "manager", "managers", "misc"}


def name(path: Path) -> str:
    """The file's name as printed in a failure."""
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_a_module_is_short(path: Path) -> None:
    """A module has at most 400 lines."""
    lines = len(path.read_text(encoding="utf-8").splitlines())
    assert lines <= LONGEST_MODULE, f"{name(path)} has {lines} lines; one idea per module"


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_a_function_is_short(path: Path) -> None:
    """A function has at most 40 lines, docstring included."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    long = [
        f"{name(path)}:{node.lineno}: {node.name} has {length} lines"
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (length := (node.end_lineno or 0) - node.lineno + 1) > LONGEST_FUNCTION
    ]
    assert not long, "\n".join(long)


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_a_module_is_named_for_what_it_holds(path: Path) -> None:
    """No module or package has a name that could hold anything."""
    parts = {part.removesuffix(".py") for part in path.relative_to(ROOT).parts}
    assert not parts & SAYS_NOTHING
