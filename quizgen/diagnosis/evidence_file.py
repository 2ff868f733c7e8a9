"""A file of findings: what was done to a machine and what was found, step by step.

The YAML is the same small safe part that circuit files are written in; every mistake is a
FileError with file, line and field. One step may stand by itself, without `steps`:

    format: 1
    steps:
      - positions: {S1: on, S2: pressed}      # moved in this order; the rest stands as before
        sees: {M1: stopped, P9: bright}       # load: level
        clicks: {K1: yes}                     # relay: yes, no or buzzes
        readings:                             # red; black (default the reference); instrument
          - {red: M1.1, shows: 12.5 V}        # (default voltmeter); apart, removed, unplugged
      - positions: {S2: released}
        readings:
          - {instrument: ohmmeter, red: M1.1, black: M1.2, unplugged: [GB1], shows: 0.5 Ω}
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from quizgen.base.errors import FileError, InputError
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.values import check_fields, number, text, texts, the_items, the_table
from quizgen.circuit.yaml_reader import Table, Tree, fail, read_file
from quizgen.diagnosis.evidence import Evidence, Finding, Step, check_click, check_sight
from quizgen.instruments import measure
from quizgen.solver.operating_point import Moves

FORMAT = 1
STEP_FIELDS = ("positions", "sees", "clicks", "readings")
READING_FIELDS = ("instrument", "red", "black", "shows", "apart", "removed", "unplugged")

Found = TypeVar("Found")


def read_evidence(path: Path, circuit: Circuit) -> Evidence:
    """The evidence in the file at `path`, checked against the sound circuit.

    Raises InputError when the file cannot be read, FileError when something in it is wrong.
    """
    root = read_file(path)
    fields = ("steps",) if "steps" in root.entries else STEP_FIELDS
    check_fields(root, ("format", *fields), ("format",))
    if number(root.entries["format"], {}) != FORMAT:
        fail(root.entries["format"], f"expected format {FORMAT}, the one this program reads")
    if "steps" in root.entries:
        trees = [
            the_table(tree, "the fields of a step")
            for tree in the_items(root.entries["steps"], "a list of steps")
        ]
    else:
        trees = [root]
    steps: list[Step] = []
    for tree in trees:
        before = Evidence(tuple(steps)).states[-1]
        steps.append(_step(tree, circuit, before, root is tree))
    if not any(step.sees or step.clicks or step.readings for step in steps):
        fail(root, "nothing was found; give sees, clicks or readings")
    return Evidence(tuple(steps))


def _step(table: Table, circuit: Circuit, before: Moves, alone: bool) -> Step:
    check_fields(table, ("format", *STEP_FIELDS) if alone else STEP_FIELDS)
    moves = _pairs(table, "positions", lambda c, p: circuit.check_positions({c: p}))
    readings = table.get("readings")
    items = the_items(readings, "a list of readings") if readings else ()
    return Step(
        moves=moves,
        sees=_pairs(table, "sees", lambda load, level: check_sight(circuit, load, level)),
        clicks=_pairs(table, "clicks", lambda relay, word: check_click(circuit, relay, word)),
        readings=tuple(_reading(tree, circuit, (*before, *moves)) for tree in items),
    )


def _pairs(table: Table, field: str, check: Callable[[str, str], None]) -> Moves:
    """A mapping of words to words, each pair checked."""
    tree = table.get(field)
    if tree is None:
        return ()
    found = []
    for key, below in the_table(tree, "names and what they are, such as {S1: on}").entries.items():
        word = text(below, {})
        _at(below, lambda key=key, word=word: check(key, word))  # type: ignore[misc]
        found.append((key, word))
    return tuple(found)


def _reading(tree: Tree, circuit: Circuit, moves: Moves) -> Finding:
    table = the_table(tree, "the fields of a reading, such as {red: K1.87, shows: 12.3 V}")
    check_fields(table, READING_FIELDS, ("red", "shows"))
    words = {
        name: text(table.entries[name], {})
        for name in ("instrument", "red", "black", "shows")
        if name in table.entries
    }
    lists = {
        name: texts(table.entries[name], {})
        for name in ("apart", "removed", "unplugged")
        if name in table.entries
    }
    finding = Finding(**words, **lists)  # type: ignore[arg-type]  # names as in READING_FIELDS
    _at(table.entries["shows"], lambda: finding.value)
    shown = _at(tree, lambda: measure(circuit, finding.measurement(circuit, moves)))
    if shown.refused:
        fail(tree, f"this must not be measured: {shown.refused}")
    return finding


def _at(tree: Tree, work: Callable[[], Found]) -> Found:
    """Do the work; an InputError gets the place of `tree`."""
    try:
        return work()
    except FileError:
        raise
    except InputError as error:
        fail(tree, str(error))
