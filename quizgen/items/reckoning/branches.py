"""Kirchhoff's laws: currents at a branching, voltages along one path, a divided voltage."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import pairwise

from quizgen.circuit import components as c
from quizgen.faults.wording import point_name
from quizgen.items.item import Figure
from quizgen.items.reckoning.laws import LEAST_READ_VOLTS
from quizgen.items.reckoning.problem import (
    Asked,
    Form,
    Reckoned,
    Setting,
    Shown,
    Slip,
    amps,
    plain,
    read,
    same,
    wires_at,
)
from quizgen.items.sentences import listed, the

LEAST_BRANCH_AMPS = 0.5
MOST_ROUNDING = 0.03  # of a sum of clamp readings, as a share of it


# --- one current from the others at a branching ----------------------------------------------


def _branchings(setting: Setting, rng: random.Random) -> Iterator[Asked]:
    circuit = setting.circuit
    for splice in circuit.parts:
        if setting.fault is not None or not isinstance(splice, c.Splice):
            continue
        node = splice.nodes[0]
        others = [p for p, _ in circuit.terminals_at[node] if p != splice.id]
        wires = wires_at(circuit, node)
        if len(others) != len(wires):
            continue
        flow = {w.id: _into(setting, w, node) for w in wires}
        if any(0.0005 < abs(a) < LEAST_BRANCH_AMPS for a in flow.values()):
            continue
        busy = {w: a for w, a in flow.items() if abs(a) >= LEAST_BRANCH_AMPS}
        if 3 <= len(busy) <= 5:
            yield from _of_each(setting, splice, busy)


def _into(setting: Setting, wire: c.Wire, node: str) -> float:
    """Current that a wire brings into a node."""
    current = amps(setting.point, wire)
    return current if wire.nodes[1] == node else -current


def _of_each(setting: Setting, splice: c.Splice, flow: dict[str, float]) -> Iterator[Asked]:
    for wire, current in flow.items():
        rounding = 0.05 * (len(flow) - 1)
        alone = sum(a * current > 0 for a in flow.values()) == 1
        along = sum(a * current > 0 for a in flow.values()) - 1
        against = len(flow) - 1 - along
        if rounding > MOST_ROUNDING * abs(current) or not (alone or against == 1):
            continue
        first = [w for w, a in flow.items() if w != wire and a * current < 0]
        second = [w for w, a in flow.items() if w != wire and a * current > 0]
        came = {w for w, a in flow.items() if a > 0}
        yield Asked(
            quantity=f"branch:{wire}",
            about=wire,
            leads=tuple(setting.measured("clamp-ammeter", w) for w in (*first, *second)),
            exact=abs(current),
            words={
                "wire": f"wire {wire}",
                "point": point_name(setting.circuit, splice.nodes[0], names=False),
                "into": listed([f"wire {w}" for w in flow if w in came]),
                "out": listed([f"wire {w}" for w in flow if w not in came]),
            },
            variant="" if alone else "part",
        )


def _reckon_branch(asked: Asked, shown: Shown) -> Reckoned:
    """The first reading, or readings, flow the other way than what is asked for."""
    if asked.variant == "part":
        total, rest = shown[0], shown[1:]
        value = total - sum(rest)
        away = " − ".join(f"{read(a)} A" for a in rest)
        slips = (
            Slip("equal-split", total / (1 + len(rest)), f"{read(total)} A ÷ {1 + len(rest)}"),
            Slip("same-everywhere", total, "the whole current of that joint", taken=True),
            Slip("added-not-taken-away", total + sum(rest),
                 f"{read(total)} A + {' + '.join(f'{read(a)} A' for a in rest)}"),
        )  # fmt: skip
        return Reckoned(value, f"{read(total)} A − {away}", slips)
    value, most = sum(shown), max(shown)
    terms = " + ".join(f"{read(a)} A" for a in shown)
    mean = value / len(shown)
    parallel = 1.0 / sum(1.0 / a for a in shown)
    return Reckoned(value, terms, (
        Slip("constant-current", most, "the largest of the readings", taken=True),
        Slip("average-for-sum", mean, f"({terms}) ÷ {len(shown)}"),
        Slip("parallel-rule-for-current", parallel,
             f"1 ÷ ({' + '.join(f'1/{read(a)}' for a in shown)})"),
    ))  # fmt: skip


def _would_branch(asked: Asked, shown: Shown, value: float) -> dict[str, str]:
    if asked.variant == "part":
        return {"would": f"{plain(value + sum(shown[1:]))} A", "found": f"{read(shown[0])} A"}
    return {"would": f"{plain(value)} A", "found": f"{plain(sum(shown))} A"}


BRANCH = Form(
    name="branch", unit="A", tolerance=0.05,
    find=_branchings, reckon=_reckon_branch, would=_would_branch, decimals=1,
)  # fmt: skip


# --- what is left at a load ------------------------------------------------------------------


def _left(setting: Setting, rng: random.Random) -> Iterator[Asked]:
    batteries = [p for p in setting.circuit.parts if isinstance(p, c.Battery)]
    if setting.fault is None or len(batteries) != 1:
        return
    plus, minus = batteries[0].nodes
    for load in setting.circuit.parts:
        if not isinstance(load, c.Lamp | c.Motor | c.Heater | c.Horn | c.Solenoid):
            continue
        volts = setting.point.between(*load.nodes)
        if volts is None or abs(volts) < LEAST_READ_VOLTS:
            continue
        a, b = load.nodes if volts > 0 else load.nodes[::-1]
        way, back = setting.point.between(plus, a), setting.point.between(b, minus)
        if way is None or back is None or min(way, back) < 0.1 or max(way, back) < 0.6:
            continue
        yield Asked(
            quantity=f"left:{load.id}",
            about=load.id,
            leads=(
                setting.measured("voltmeter", plus, minus),
                setting.measured("voltmeter", plus, a),
                setting.measured("voltmeter", b, minus),
            ),
            exact=abs(volts),
            words={"load": the(load)},
        )


def _reckon_left(asked: Asked, shown: Shown) -> Reckoned:
    supply, way, back = shown
    return Reckoned(
        supply - way - back,
        f"{read(supply)} V − {read(way)} V − {read(back)} V",
        (
            Slip("one-wire", supply - way, f"{read(supply)} V − {read(way)} V"),
            Slip("feed-side-forgotten", supply - back, f"{read(supply)} V − {read(back)} V"),
            Slip("unloaded-is-loaded", supply, "what stands at the battery", taken=True),
            Slip("equal-drop", supply / 3.0, f"{read(supply)} V ÷ 3"),
            Slip("drop-for-level", way + back, f"{read(way)} V + {read(back)} V"),
        ),
    )


def _would_left(asked: Asked, shown: Shown, value: float) -> dict[str, str]:
    supply, way, back = shown
    return {"would": f"{plain(round(supply - value, 1))} V", "found": f"{plain(way + back)} V"}


LEFT = Form(
    name="left", unit="V", tolerance=0.025,
    find=_left, reckon=_reckon_left, would=_would_left, decimals=1,
)  # fmt: skip


# --- how resistors in series share a voltage -------------------------------------------------


def _shares(setting: Setting, rng: random.Random) -> Iterator[Asked]:
    for pack in setting.circuit.parts:
        if setting.fault is not None or not isinstance(pack, c.ResistorPack):
            continue
        flows = setting.point.flows(pack)
        run = [i for i, f in enumerate(flows) if abs(f.amps) > 0.1]
        joined = all(same(flows[i].amps, flows[j].amps) for i, j in pairwise(run))
        if len(run) < 2 or not joined or run[-1] - run[0] != len(run) - 1:
            continue
        a, b = pack.nodes[run[0]], pack.nodes[run[-1] + 1]
        volts = setting.point.between(a, b) or 0.0
        if abs(volts) < LEAST_READ_VOLTS:
            continue
        a, b = (a, b) if volts > 0 else (b, a)
        yield from (_share_of(setting, pack, run, i, (a, b)) for i in run)


def _share_of(
    setting: Setting, pack: c.ResistorPack, run: list[int], section: int, across: tuple[str, str]
) -> Asked:
    ohms = [section, *(i for i in run if i != section)]
    names = [f"{pack.terminals[i]} to {pack.terminals[i + 1]}" for i in run]
    sheet = [f"{round(pack.ohms[i], 3):g} Ω from {n}" for i, n in zip(run, names, strict=True)]
    return Asked(
        quantity=f"share:{pack.node(str(section + 1))},{pack.node(str(section + 2))}",
        about=pack.id,
        leads=(setting.measured("voltmeter", *across),),
        exact=abs(setting.point.flows(pack)[section].volts or 0.0),
        given=tuple(
            Figure(name=f"{pack.id}.section{i + 1}", value=round(pack.ohms[i], 3), unit="Ω")
            for i in ohms
        ),
        words={
            "part": the(pack),
            "sheet": listed(sheet),
            "section": f"the section from {names[run.index(section)]}",
        },
    )


def _reckon_share(asked: Asked, shown: Shown) -> Reckoned:
    volts = shown[0]
    mine, *rest = (figure.value for figure in asked.given)
    total, others = mine + sum(rest), sum(rest)
    terms = " + ".join(f"{o:g}" for o in (mine, *rest))
    return Reckoned(
        volts * mine / total,
        f"{read(volts)} V × {mine:g} Ω ÷ ({terms}) Ω",
        (
            Slip("equal-drop", volts / (1 + len(rest)), f"{read(volts)} V ÷ {1 + len(rest)}"),
            Slip("larger-takes-less", volts * others / total,
                 f"{read(volts)} V × {plain(others)} Ω ÷ ({terms}) Ω"),
            Slip("same-voltage-in-series", volts, "the whole voltage across the row", taken=True),
            Slip("ratio-for-share", volts * mine / others,
                 f"{read(volts)} V × {mine:g} ÷ {plain(others)}"),
        ),
    )  # fmt: skip


def _would_share(asked: Asked, shown: Shown, value: float) -> dict[str, str]:
    mine, *rest = (figure.value for figure in asked.given)
    return {
        "would": f"{plain(value / mine)} A",
        "found": f"{plain(max(shown[0] - value, 0.0) / sum(rest))} A",
        "ohm": f"{mine:g} Ω",
    }


SHARE = Form(
    name="share", unit="V", tolerance=0.05, find=_shares, reckon=_reckon_share, would=_would_share
)
