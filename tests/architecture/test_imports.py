"""Imports go one way: a lower layer never imports a higher one, function bodies included.

Every module of quizgen is parsed, not imported, so an import inside a function, under
TYPE_CHECKING or behind a condition counts like any other.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import networkx as nx
import pytest

import quizgen

ROOT = Path(quizgen.__file__).parent

LAYERS = (
    {"__init__"},
    {"base"},
    {"circuit"},
    {"solver", "faults", "diagram"},
    {"scenario", "instruments"},
    {"diagnosis"},
    {"items"},
    {"forms"},
    {"publish", "drill", "grading"},
    {"store"},
    {"pipeline", "reports"},
    {"cli"},
    {"__main__", "demo"},
)
LAYER = {package: height for height, packages in enumerate(LAYERS) for package in packages}
MODULES = tuple(sorted(p for p in ROOT.rglob("*.py") if "_data" not in p.parts))


def dotted(path: Path) -> str:
    """`quizgen.circuit.netlist` for its file; a package is named without `__init__`."""
    parts = path.relative_to(ROOT.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def package(module: str) -> str:
    """The layer name of a dotted module: `circuit` for `quizgen.circuit.netlist`."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else "__init__"


KNOWN = {dotted(path) for path in MODULES}


def imported(tree: ast.AST, module: str, is_package: bool) -> Iterator[tuple[int, str]]:
    """Line and dotted name of each quizgen module that `tree` imports, wherever it does so."""
    for node in ast.walk(tree):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = module.split(".")
                above = above[: len(above) - node.level + is_package]
                base = ".".join([*above, *filter(None, [node.module])])
            names = [
                full if (full := f"{base}.{alias.name}") in KNOWN else base for alias in node.names
            ]
        elif isinstance(node, ast.Call) and node.args:
            called = ast.unparse(node.func).rpartition(".")[2]
            first = node.args[0]
            if called in {"import_module", "__import__"} and isinstance(first, ast.Constant):
                names = [str(first.value)]
        for name in names:
            if name == "quizgen" or name.startswith("quizgen."):
                yield node.lineno, name  # type: ignore[attr-defined]


def imports_of(path: Path) -> list[tuple[int, str]]:
    """What the module in `path` imports from quizgen."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return list(imported(tree, dotted(path), path.name == "__init__.py"))


def complaint(importer: str, target: str) -> str:
    """Why `importer` may not import `target`; empty when it may."""
    here, there = package(importer), package(target)
    if here == there or target == "quizgen":
        return ""
    if LAYER[there] > LAYER[here]:
        return f"{here} is below {there}"
    if LAYER[there] == LAYER[here]:
        return f"{here} and {there} stand side by side"
    return ""


@pytest.mark.parametrize("path", MODULES, ids=dotted)
def test_a_module_imports_only_lower_layers(path: Path) -> None:
    """No module imports from a layer above its own, nor from a neighbour in its layer."""
    module = dotted(path)
    assert package(module) in LAYER, f"{module}: give its package a place in LAYERS"
    wrong = [
        f"{path.name}:{line}: {module} imports {target}, but {why}"
        for line, target in imports_of(path)
        if (why := complaint(module, target))
    ]
    assert not wrong, "\n".join(wrong)


def test_no_modules_import_each_other_in_a_circle() -> None:
    """Inside a package too, modules can be read in some order without looking ahead."""
    graph = nx.DiGraph()
    for path in MODULES:
        graph.add_edges_from((dotted(path), target) for _, target in imports_of(path))
    circles = [sorted(group) for group in nx.strongly_connected_components(graph) if len(group) > 1]
    assert not circles


@pytest.mark.parametrize(
    "code",
    [
        "from quizgen.cli.main import main",
        "def f():\n    from quizgen.items import item",
        "if TYPE_CHECKING:\n    import quizgen.forms.plan as p",
        "import importlib\nimportlib.import_module('quizgen.items.item')",
        "from ..items import item",
    ],
)
def test_the_search_finds_an_upward_import_however_it_is_written(code: str) -> None:
    """The check itself can fail: each of these is an import of a higher layer."""
    found = list(imported(ast.parse(code), "quizgen.solver.solve", is_package=False))
    assert any(complaint("quizgen.solver.solve", target) for _, target in found)
