"""Wrong ways of the current through a load, as wrong mental models would draw them.

Each is computed on the circuit at hand and differs from the right way, which names all that
the current passes but wires and splices.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from quizgen.circuit import components as c
from quizgen.circuit.netlist import Circuit
from quizgen.items.current_path import Flows, Path, Step
from quizgen.items.item import Moves
from quizgen.solver import OperatingPoint, solve_cases
from quizgen.solver.models import part_model

FUSES = (c.Fuse, c.FusibleLink, c.Breaker)
AT_WORK = 0.3  # of the current that the load takes now: it is at work there too
MOST_STATES = 12  # others in which the same load is looked at


@dataclass(frozen=True)
class Wrong:
    """A wrong way and what there is to say of it.

    `labels` are its steps. Of `wrong` the way is wrong, by `right` the current goes instead;
    both are labels, "" for none. `moves` is the state whose way it is, if it is that of one.
    """

    labels: tuple[str, ...]
    misconception: str
    wrong: str = ""
    right: str = ""
    moves: Moves = ()


def wrong_paths(
    flows: Flows, path: Path, loads: Sequence[str], states: Sequence[Moves]
) -> Iterator[Wrong]:
    """Every wrong way that can be made of `path`. `loads` are at work, `path`'s own among them."""
    right = labels(path.devices)
    found = [
        *_cut_short(path),
        *_coils(flows, path),
        *_other_throws(flows.point, path),
        *_other_states(flows.point, path, states),
        *_switch_moved(flows.point.circuit, path),
        *_beside(flows, path, loads),
        *_neighbours(flows, path),
        *_swapped(flows.point.circuit, path),
        Wrong(right[::-1], "against-the-current", wrong=right[-1], right=right[0]),
    ]
    yield from (w for w in found if w.labels != right and len(set(w.labels)) == len(w.labels))


def labels(steps: Sequence[Step]) -> tuple[str, ...]:
    """The steps in the notation of claims."""
    return tuple(step.label for step in steps)


def _cut_short(path: Path) -> Iterator[Wrong]:
    """Ends at the load, leaves out one thing on the way back, starts at the second fuse."""
    right = labels(path.devices)
    here = len(path.before)
    if path.after:
        yield Wrong(right[: here + 1], "one-wire", wrong=path.after[-1].label)
    for i in range(here + 1, len(right)) if len(path.after) > 1 else ():
        yield Wrong((*right[:i], *right[i + 1 :]), "ground-side-forgotten", wrong=right[i])
    if len(path.before) > 2:
        yield Wrong(right[1:], "starts-at-the-panel", wrong=right[0])


def _coils(flows: Flows, path: Path) -> Iterator[Wrong]:
    """Through the coil of a relay instead of its contact."""
    for i, step in enumerate(path.devices):
        if step.kind != c.Relay.kind:
            continue
        coil = flows.step(f"{step.part}:coil")
        fed = flows.feed(coil) if coil else None
        if coil is None or fed is None:
            continue
        control = [s for s in fed[1] if s.kind != c.Wire.kind]
        rest = path.devices[i + 1 :]
        way = labels((*control, coil, *rest))
        yield Wrong(way, "coil-for-contact", wrong=coil.label, right=step.label)
        short = labels((*path.devices[:i], coil, *rest))
        yield Wrong(short, "coil-for-contact", wrong=coil.label, right=step.label)


def _other_throws(point: OperatingPoint, path: Path) -> Iterator[Wrong]:
    """A contact of the same switch or relay as it is drawn: at rest, and open now."""
    right = labels(path.devices)
    for i, step in enumerate(path.devices):
        part = point.circuit.by_id[step.part]
        if not step.branch or not isinstance(part, c.Switch | c.Relay):
            continue
        for branch in _closed_at_rest(point.circuit, part):
            label = f"{part.id}:{branch}"
            comes_in = part.terminals[part.nodes.index(step.a)]
            if comes_in in branch.split("-") and label not in right:
                way = (*right[:i], label, *right[i + 1 :])
                yield Wrong(way, "read-as-drawn", wrong=label, right=step.label)


def _closed_at_rest(circuit: Circuit, part: c.Switch | c.Relay) -> tuple[str, ...]:
    if isinstance(part, c.Relay):
        return ("30-87a",) if "87a" in part.terminals else ()
    rest = part.positions.index(circuit.by_control[part.control].rest)
    return tuple(f"{contact.a}-{contact.b}" for contact in part.closes[rest])


def _other_states(point: OperatingPoint, path: Path, states: Sequence[Moves]) -> Iterator[Wrong]:
    """The way of the same load with the controls otherwise."""
    others = states[:MOST_STATES]
    if not others:
        return
    right = labels(path.devices)
    solutions = solve_cases([point.circuit], [(0, moves) for moves in others])
    for case, moves in enumerate(others):
        there = Flows(solutions.point(case)).path(path.load.part)
        if there is None or there.load.amps < AT_WORK * path.load.amps:
            continue
        way = labels(there.devices)
        new = [s for s in way if s not in right]
        gone = [s for s in right if s not in way]
        if new and gone:
            yield Wrong(way, "other-position", wrong=new[0], right=gone[0], moves=moves)


def _switch_moved(circuit: Circuit, path: Path) -> Iterator[Wrong]:
    """A switch on the way back, taken for one on the way to the load."""
    behind = [s for s in path.after if isinstance(circuit.by_id[s.part], c.Switch | c.Relay)]
    if behind and not any(s.part == behind[0].part for s in path.before):
        rest = [s for s in path.after if s is not behind[0]]
        way = labels((*path.before, behind[0], path.load, *rest))
        yield Wrong(way, "switch-in-feed", wrong=behind[0].label, right=path.load.label)


def _beside(flows: Flows, path: Path, loads: Sequence[str]) -> Iterator[Wrong]:
    """Another load on the same feed and ground, passed as if one stood behind the other."""
    right = labels(path.devices)
    i = len(path.before)
    for load in loads:
        other = None if load in right else flows.path(load)
        if other is None or other.load.amps < 0.02 * path.load.amps:
            continue
        near = labels(other.before)[-1:] == labels(path.before)[-1:]
        if near and labels(other.after) == labels(path.after):
            way = (*right[: i + 1], load, *right[i + 1 :])
            yield Wrong(way, "parallel-as-series", wrong=load, right=right[i])


def _neighbours(flows: Flows, path: Path) -> Iterator[Wrong]:
    """The fuse beside the right one."""
    circuit = flows.point.circuit
    right = labels(path.devices)
    for i, step in enumerate(path.devices):
        if not isinstance(circuit.by_id[step.part], FUSES) or i == 0:
            continue
        for part in circuit.parts:
            if isinstance(part, FUSES) and part.id not in right and len(part_model(part).branches):
                way = (*right[:i], part.id, *right[i + 1 :])
                if _near(circuit, step.a) & _near(circuit, part.nodes[0]):
                    yield Wrong(way, "neighbour-fuse", wrong=part.id, right=step.label)


def _near(circuit: Circuit, node: str) -> frozenset[str]:
    """The nodes that a wire joins to `node`, itself included."""
    wires = [p for p in circuit.parts if isinstance(p, c.Wire) and node in p.nodes]
    return frozenset((node, *(n for w in wires for n in w.nodes)))


def _swapped(circuit: Circuit, path: Path) -> Iterator[Wrong]:
    """A fuse and a switch on the feed side that change places."""
    right = labels(path.devices)
    for i in range(len(path.before) - 1):
        pair = [circuit.by_id[s.part] for s in path.before[i : i + 2]]
        if sum(isinstance(p, FUSES) for p in pair) == 1 and pair[0].id != pair[1].id:
            way = (*right[:i], right[i + 1], right[i], *right[i + 2 :])
            yield Wrong(way, "order-by-habit", wrong=right[i + 1], right=right[i])
