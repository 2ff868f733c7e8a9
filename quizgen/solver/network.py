"""Many variations of one circuit as a single network of tables.

The circuits of a batch differ in a few parts (a fault exchanges or adds a part). Parts with
the same id form a *slot*; the distinct parts found there are its *variants*. Every branch of
every variant gets a row of the network, with conductance 0 in the variants that lack it, so
all cases share one wiring and one order of elimination.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain
from operator import is_

import numpy as np
from numpy.typing import NDArray

from quizgen.base.errors import InputError
from quizgen.circuit.components import Part
from quizgen.circuit.netlist import Circuit
from quizgen.solver.laws import LINEAR, FloatArray
from quizgen.solver.linear import Wiring
from quizgen.solver.models import part_model
from quizgen.solver.part_model import Flow, PartModel

IntArray = NDArray[np.intp]
NO_FLOW = Flow(0.0)


@dataclass(frozen=True)
class Slot:
    """Rows of the tables are (variant, state) pairs; row 0 is "no such part here".

    `first_row[v]` is the row of state 0 of variant v; `columns[v]` the network's branch of
    each branch of variant v. Tables are (rows, branches of the slot).
    """

    id: str
    variants: tuple[Part, ...]
    models: tuple[PartModel, ...]
    columns: tuple[tuple[int, ...], ...]
    first_row: IntArray
    branches: IntArray  # network branches of the slot
    siemens: FloatArray
    emf: FloatArray
    code: NDArray[np.int8]
    numbers: FloatArray  # (rows, branches, 4)


@dataclass(frozen=True)
class Network:
    """`variant[s, c]` is the variant of slot s in circuit c, −1 where the part is absent."""

    circuits: tuple[Circuit, ...]
    nodes: tuple[str, ...]
    wiring: Wiring
    slots: tuple[Slot, ...]
    variant: IntArray
    node_index: dict[str, int]
    slot_index: dict[str, int]
    tables: Tables

    @cached_property
    def present(self) -> NDArray[np.bool_]:
        """(slots, circuits): does the circuit have the part?"""
        return np.asarray(self.variant >= 0)

    @cached_property
    def row(self) -> IntArray:
        """(slots, circuits): table row of state 0 of the part that the circuit has."""
        return np.array(
            [slot.first_row[v] for slot, v in zip(self.slots, self.variant, strict=True)]
        )

    def rows(self, circuit: IntArray, state: IntArray) -> IntArray:
        """Table rows (slots, m) for m cases given circuit (m,) and state (slots, m)."""
        return np.asarray(np.where(self.present[:, circuit], self.row[:, circuit] + state, 0))

    def fill(self, rows: IntArray) -> tuple[FloatArray, FloatArray]:
        """Conductances and emfs (branches, m) of m cases with table `rows` (slots, m)."""
        tables = self.tables
        siemens = np.empty((len(tables.owner), rows.shape[1]))
        varies = (rows != rows[:, :1]).any(axis=1)[tables.owner]
        some, same = np.flatnonzero(varies), np.flatnonzero(~varies)
        siemens[some] = tables.siemens[tables.places(some, rows)]
        siemens[same] = tables.siemens[tables.places(same, rows[:, :1])]
        emf = np.zeros_like(siemens)
        emf[tables.pushing] = tables.emf[tables.places(tables.pushing, rows)]
        return siemens, emf


@dataclass(frozen=True)
class Tables:
    """All slots' tables end to end: branch b in row r stands at start[b] + r·stride[b].

    `owner[b]` is the slot of a branch; `pushing` are the branches that can have an emf,
    `bent` those that can be non-linear.
    """

    owner: IntArray
    start: IntArray
    stride: IntArray
    siemens: FloatArray
    emf: FloatArray
    code: NDArray[np.int8]
    numbers: FloatArray  # (entries, 4)
    pushing: IntArray
    bent: IntArray

    def places(self, branches: IntArray, rows: IntArray) -> IntArray:
        """Where the numbers of some branches stand, (branches, m) for `rows` (slots, m)."""
        row = rows[self.owner[branches]]
        return np.asarray(self.start[branches, None] + row * self.stride[branches, None])


def build_network(circuits: Sequence[Circuit]) -> Network:
    """Compile circuits that share most of their parts, the first being the usual one.

    Raises InputError when two parts of one circuit have the same id.
    """
    base = circuits[0]
    nodes: dict[str, int] = {base.reference: 0}
    seen: dict[str, dict[int, Part]] = {}
    _unusual(replace(base, parts=()), base)  # for its check of the ids
    unusual = [base.parts, *(_unusual(base, circuit) for circuit in circuits[1:])]
    for part in chain.from_iterable(unusual):
        found = seen.setdefault(part.id, {})
        if id(part) not in found:
            found[id(part)] = part
            for node in part.nodes:
                nodes.setdefault(node, len(nodes))
    ends: list[tuple[int, int]] = []
    names: list[str] = []
    flows: list[Flow] = []
    rooms = []
    places: list[dict[int, int]] = []
    for part_id, parts in seen.items():
        variants, place = _distinct(parts)
        places.append(place)
        rooms.append(_room(part_id, variants, nodes, ends, names, flows))
    tables = _tables(rooms, flows)
    slots = tuple(_slot(room, tables) for room in rooms)
    slot_index = {slot.id: s for s, slot in enumerate(slots)}
    variant = np.full((len(slots), len(circuits)), -1, dtype=np.intp)
    for c, (circuit, parts_here) in enumerate(zip(circuits, unusual, strict=True)):
        if c and len(parts_here) < len(circuit.parts):
            variant[:, c] = variant[:, 0]
        for part in parts_here:
            s = slot_index[part.id]
            variant[s, c] = places[s][id(part)]
    wiring = Wiring(len(nodes), tuple(ends), tuple(names))
    return Network(tuple(circuits), tuple(nodes), wiring, slots, variant, nodes, slot_index, tables)


def _unusual(base: Circuit, circuit: Circuit) -> tuple[Part, ...]:
    """The parts in which a circuit differs from `base`; all if it is another circuit."""
    same = list(map(is_, circuit.parts, base.parts))
    if len(same) == len(base.parts):
        changed = [i for i, kept in enumerate(same) if not kept]
        added = circuit.parts[len(same) :]
        ids = [part.id for part in added]
        if all(circuit.parts[i].id == base.parts[i].id for i in changed) and not (
            base.by_id.keys() & ids or len(set(ids)) < len(ids)
        ):
            return (*(circuit.parts[i] for i in changed), *added)
    if len(circuit.by_id) < len(circuit.parts):
        all_ids = [part.id for part in circuit.parts]
        twice = next(i for n, i in enumerate(all_ids) if i in all_ids[:n])
        raise InputError(f"{circuit.name}: two parts are called {twice}; rename one")
    return circuit.parts


def _distinct(parts: dict[int, Part]) -> tuple[tuple[Part, ...], dict[int, int]]:
    """Variants without repeats, and where each part object went."""
    variants: dict[Part, int] = {}
    place = {key: variants.setdefault(part, len(variants)) for key, part in parts.items()}
    return tuple(variants), place


@dataclass(frozen=True)
class _Room:
    """A slot before it has its tables: its rows begin at entry `start` of those of all slots."""

    id: str
    variants: tuple[Part, ...]
    models: tuple[PartModel, ...]
    columns: tuple[tuple[int, ...], ...]
    first_row: list[int]
    branches: range
    start: int
    rows: int


def _room(
    part_id: str,
    variants: tuple[Part, ...],
    nodes: dict[str, int],
    ends: list[tuple[int, int]],
    names: list[str],
    flows: list[Flow],
) -> _Room:
    """Adds the slot's branches to `ends` and `names`, and its rows to `flows`."""
    models = tuple(part_model(v) for v in variants)
    local: dict[tuple[str, int, int], int] = {}
    columns = []
    for model in models:
        keys = [(b.name, nodes[b.a], nodes[b.b]) for b in model.branches]
        columns.append([local.setdefault(key, len(local)) for key in keys])
    first, start, width = len(ends), len(flows), len(local)
    for name, a, b in local:
        ends.append((a, b))
        names.append(f"{part_id} {name}".strip())
    flows += [NO_FLOW] * width  # row 0: no such part
    first_row, row = [], 1
    for model, where in zip(models, columns, strict=True):
        first_row.append(row)
        row += len(model.states)
        for state in model.flows:
            at = len(flows)
            flows += [NO_FLOW] * width
            for column, flow in zip(where, state, strict=True):
                flows[at + column] = flow
    placed = tuple(tuple(first + i for i in where) for where in columns)
    branches = range(first, first + width)
    return _Room(part_id, variants, models, placed, first_row, branches, start, row)


def _tables(rooms: Sequence[_Room], flows: list[Flow]) -> Tables:
    """The rows of all slots; `flows` are their entries."""
    width = [len(room.branches) for room in rooms]
    owner = np.repeat(np.arange(len(rooms)), width)
    stride = np.array(width, dtype=np.intp)[owner]
    start = np.array([room.start - room.branches.start for room in rooms], dtype=np.intp)
    emf = np.array([flow.volts for flow in flows])
    code, numbers = np.zeros(len(flows), dtype=np.int8), np.zeros((len(flows), 4))
    for entry, flow in enumerate(flows):
        if flow.law is not None:
            code[entry], numbers[entry] = flow.law.code, flow.law.numbers
    branch = np.array(
        [b for room in rooms for _ in range(room.rows) for b in room.branches], dtype=np.intp
    )
    return Tables(
        owner=owner,
        start=start[owner] + np.arange(len(owner)),
        stride=stride,
        siemens=np.array([flow.siemens for flow in flows]),
        emf=emf,
        code=code,
        numbers=numbers,
        pushing=np.unique(branch[emf != 0.0]),
        bent=np.unique(branch[code != LINEAR]),
    )


def _slot(room: _Room, tables: Tables) -> Slot:
    """A slot whose tables are views of its part of the tables of all."""
    shape = room.rows, len(room.branches)
    own = slice(room.start, room.start + room.rows * len(room.branches))
    return Slot(
        room.id,
        room.variants,
        room.models,
        room.columns,
        np.array(room.first_row, dtype=np.intp),
        np.array(room.branches, dtype=np.intp),
        tables.siemens[own].reshape(shape),
        tables.emf[own].reshape(shape),
        tables.code[own].reshape(shape),
        tables.numbers[own].reshape(*shape, 4),
    )


@dataclass(frozen=True)
class LawTable:
    """The non-linear branches of m cases, flattened: entry i is branch[i] in case[i]."""

    branch: IntArray
    case: IntArray
    code: NDArray[np.int8]
    numbers: FloatArray

    def of(self, code: int) -> LawTable:
        """Only the entries with this law."""
        return self.keep(self.code == code)

    def among(self, cases: IntArray, m: int) -> LawTable:
        """Only the entries of some of the m cases, numbered as they stand in `cases`."""
        place = np.full(m, -1, dtype=np.intp)
        place[cases] = np.arange(len(cases))
        kept = self.keep(place[self.case] >= 0)
        return LawTable(kept.branch, place[kept.case], kept.code, kept.numbers)

    def with_branch(self, branch: IntArray) -> LawTable:
        """The same entries with other branch numbers."""
        return LawTable(branch, self.case, self.code, self.numbers)

    def keep(self, mask: NDArray[np.bool_]) -> LawTable:
        """Only the entries where `mask`."""
        return LawTable(self.branch[mask], self.case[mask], self.code[mask], self.numbers[mask])


def law_table(network: Network, rows: IntArray) -> LawTable:
    """All non-linear branches of the cases with table `rows` (slots, m)."""
    tables = network.tables
    place = tables.places(tables.bent, rows)
    code = tables.code[place]
    which, case = np.nonzero(code != LINEAR)
    here = place[which, case]
    return LawTable(tables.bent[which], case, tables.code[here], tables.numbers[here])
