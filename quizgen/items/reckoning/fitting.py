"""What to fit: the fuse for a current, the wire for a length. Answers from a standard series.

Blade fuse ratings: ISO 8820-3. Cross-sections and their resistance: ISO 6722-1. A fuse
of at least 1.25 times the running current, and the largest fuse for a wire: common practice,
no source.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

from quizgen.circuit import components as c
from quizgen.circuit.reach import conducting_pairs, reached
from quizgen.circuit.wire_data import MILLIOHM_PER_METRE
from quizgen.items.item import Figure
from quizgen.items.reckoning.problem import (
    LEAST_CLAMPED_AMPS,
    Asked,
    Form,
    Reckoned,
    Setting,
    Shown,
    Slip,
    amps,
    plain,
    read,
    value_of,
    wire_in_series,
)
from quizgen.items.sentences import the

RATINGS = (1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0)  # A
SPARE = 1.25  # fuse rating over running current
BEARS = {  # largest fuse for a wire, A by mm²
    0.5: 5.0, 0.75: 10.0, 1.0: 15.0, 1.5: 20.0, 2.5: 30.0, 4.0: 40.0, 6.0: 50.0, 10.0: 70.0,
    16.0: 100.0,
}  # fmt: skip
SIZES = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0)  # mm² that are for sale everywhere
CLEAR = 0.05  # share by which a limit is kept or missed


def _rating_for(current: float) -> float:
    """The smallest rating that bears a running current; inf where the series ends."""
    return next((r for r in RATINGS if r >= SPARE * current), float("inf"))


def _clear_of(value: float, marks: tuple[float, ...]) -> bool:
    return all(abs(value - mark) > CLEAR * mark for mark in marks)


# --- the fuse for more than it carries so far ------------------------------------------------


def _ratings(setting: Setting, rng: random.Random) -> Iterator[Asked]:
    for fuse in setting.circuit.parts:
        if setting.fault is not None or not isinstance(fuse, c.Fuse):
            continue
        current = amps(setting.point, fuse)
        wire = wire_in_series(setting.point, fuse, current)
        thin = thinnest_behind(setting, fuse)
        if wire is None or thin is None or abs(current) < LEAST_CLAMPED_AMPS:
            continue
        extras = [e / 10 for e in range(15, 121) if 0.3 * abs(current) < e / 10 < 2 * abs(current)]
        for extra in rng.sample(extras, min(4, len(extras))):
            asked = _rating(setting, fuse, (wire, thin), extra)
            if asked is not None:
                yield asked


def thinnest_behind(setting: Setting, fuse: c.Fuse) -> c.Wire | None:
    """The thinnest wire that this fuse alone protects; None if there is none of a known size.

    That is every wire on the way from its load side to a load, another protector, or the frame.
    """
    stops = (*c.LOADS, c.Fuse, c.FusibleLink, c.Breaker, c.Ground, c.Battery, c.Alternator)
    pairs = [
        pair
        for part in setting.circuit.parts
        if not isinstance(part, stops)
        for pair in conducting_pairs(part)
    ]
    ends = sorted(fuse.nodes, key=lambda node: setting.point.volts(node) or 0.0)
    behind = reached(ends[0], pairs)
    wires = [p for p in setting.circuit.parts if isinstance(p, c.Wire) and p.nodes[0] in behind]
    if not wires or any(w.mm2 not in BEARS for w in wires):
        return None
    return min(wires, key=lambda w: w.mm2)


def _rating(
    setting: Setting, fuse: c.Fuse, wires: tuple[c.Wire, c.Wire], extra: float
) -> Asked | None:
    """`wires`: the one that is measured, and the thinnest behind the fuse."""
    wire, thin = wires
    total = abs(amps(setting.point, fuse)) + extra
    rating = _rating_for(total)
    if rating in (fuse.amps, float("inf")) or rating > BEARS[thin.mm2]:
        return None
    if not _clear_of(SPARE * total, RATINGS):
        return None
    return Asked(
        quantity=f"rating:{fuse.id}+{extra:g}",
        about=fuse.id,
        leads=(setting.measured("clamp-ammeter", wire.id),),
        exact=rating,
        given=(
            Figure(name="extra", value=extra, unit="A"),
            Figure(name="spare", value=SPARE),
            Figure(name=f"{thin.id}.bears", value=BEARS[thin.mm2], unit="A"),
        ),
        words={
            "fuse": the(fuse), "extra": f"{extra:g}", "wire": f"wire {wire.id}",
            "thin": f"wire {thin.id}", "mm": f"{thin.mm2:g}", "bears": f"{BEARS[thin.mm2]:g}",
        },
    )  # fmt: skip


def _reckon_rating(asked: Asked, shown: Shown) -> Reckoned:
    extra, bears = asked.given[0].value, asked.given[2].value
    running, total = shown[0], shown[0] + extra
    sums = f"({read(running)} A + {extra:g} A)"
    over = [r for r in RATINGS if r > bears]
    no_spare = next((r for r in RATINGS if r >= total), RATINGS[-1])
    slips = [
        Slip("spare-forgotten", no_spare, f"{sums} × 1 = {plain(total)} A"),
        Slip("constant-current", _rating_for(running),
             f"{read(running)} A × {SPARE:g} = {plain(SPARE * running)} A"),
        Slip("only-the-new-load", _rating_for(extra),
             f"{extra:g} A × {SPARE:g} = {plain(SPARE * extra)} A"),
    ]  # fmt: skip
    slips += (
        [
            Slip(
                "bigger-never-blows",
                over[0],
                "the first rating above what that wire bears",
                taken=True,
            )
        ]
        if over
        else []
    )
    working = f"{sums} × {SPARE:g} = {plain(SPARE * total)} A; the next rating up"
    return Reckoned(_rating_for(total), working, tuple(slips))


def _would_rating(asked: Asked, shown: Shown, value: float) -> dict[str, str]:
    total = shown[0] + asked.given[0].value
    return {
        "sentence": "would_rating_wire" if value > asked.given[2].value else
        "would_rating_overloaded" if value < total else
        "would_rating" if value < SPARE * total else "would_rating_large",
        "would": f"{plain(100.0 * total / value)} %",
        "found": f"{plain(total)} A",
        "need": f"{plain(SPARE * total)} A",
    }  # fmt: skip


RATING = Form(
    name="rating", unit="A", tolerance=0.0,
    find=_ratings, reckon=_reckon_rating, would=_would_rating,
)  # fmt: skip


# --- the wire for another length -------------------------------------------------------------


def _sizes(setting: Setting, rng: random.Random) -> Iterator[Asked]:
    limit = 0.25 if setting.circuit.system_volts < 20.0 else 0.5
    for wire in setting.circuit.parts:
        if setting.fault is not None or not isinstance(wire, c.Wire) or wire.mm2 not in SIZES:
            continue
        current = abs(amps(setting.point, wire))
        if current < LEAST_CLAMPED_AMPS:
            continue
        longer = [x / 2 for x in range(3, 25) if x / 2 > 1.2 * wire.metres]
        for metres in rng.sample(longer, min(4, len(longer))):
            asked = _size(setting, wire, current, metres, limit)
            if asked is not None:
                yield asked


def _size(
    setting: Setting, wire: c.Wire, current: float, metres: float, limit: float
) -> Asked | None:
    drops = {mm2: current * MILLIOHM_PER_METRE[mm2] * metres / 1000.0 for mm2 in SIZES}
    fitting = [mm2 for mm2, drop in drops.items() if drop <= limit]
    if not fitting or fitting[0] < wire.mm2:  # a thinner one the fuse might not protect
        return None
    if fitting[0] == SIZES[0] or not _clear_of(limit, tuple(drops.values())):
        return None
    return Asked(
        quantity=f"size:{wire.id}:{metres:g}:{limit:g}",
        about=wire.id,
        leads=(setting.measured("clamp-ammeter", wire.id),),
        exact=fitting[0],
        given=(
            Figure(name="metres", value=metres, unit="m"),
            Figure(name="limit", value=limit, unit="V"),
            Figure(name="fitted", value=wire.mm2, unit="mm²"),
            *(Figure(name=f"milliohm_per_metre {mm2:g}", value=MILLIOHM_PER_METRE[mm2],
                     unit="mΩ/m") for mm2 in _table(fitting[0])),
        ),
        words={
            "wire": f"wire {wire.id}", "metres": f"{metres:g}", "limit": f"{limit:g}",
            "table": ", ".join(f"{mm2:g} mm²: {MILLIOHM_PER_METRE[mm2]:g} mΩ/m"
                               for mm2 in _table(fitting[0])),
        },
    )  # fmt: skip


def _table(mm2: float) -> tuple[float, ...]:
    """The sizes around the right one that the stem tells of."""
    place = SIZES.index(mm2)
    return SIZES[max(place - 2, 0) : place + 3]


def _size_for(per_metre: float) -> float:
    """The smallest size of no more than so many mΩ/m; inf where the series ends."""
    return next((s for s in SIZES if MILLIOHM_PER_METRE[s] <= per_metre), float("inf"))


def _reckon_size(asked: Asked, shown: Shown) -> Reckoned:
    metres, limit = value_of(asked.given, "metres"), value_of(asked.given, "limit")
    most = 1000.0 * limit / (shown[0] * metres)
    value = _size_for(most)
    ohm = f"{limit:g} V ÷ {read(shown[0])} A ÷ {metres:g} m"
    slips = (
        Slip("rounded-down", SIZES[max(SIZES.index(value) - 1, 0)],
             f"{ohm} = {plain(most)} mΩ/m, rounded to the next thinner size"),
        Slip("return-counted", _size_for(most / 2.0), f"{ohm} ÷ 2 = {plain(most / 2.0)} mΩ/m"),
        Slip("length-forgotten", value_of(asked.given, "fitted"), "what is fitted now", taken=True),
        Slip("thick-is-safe", _size_for(most / 4.0), "what a quarter of that loss would ask for",
             taken=True),
    )  # fmt: skip
    return Reckoned(value, f"{ohm} = {plain(most)} mΩ/m at most", slips)


def _would_size(asked: Asked, shown: Shown, value: float) -> dict[str, str]:
    metres, limit = value_of(asked.given, "metres"), value_of(asked.given, "limit")
    drop = shown[0] * MILLIOHM_PER_METRE[value] * metres / 1000.0
    return {
        "sentence": "would_size" if drop > limit else "would_size_thick",
        "would": f"{plain(drop)} V",
        "found": f"{limit:g} V",
    }


SIZE = Form(
    name="size", unit="mm²", tolerance=0.0, find=_sizes, reckon=_reckon_size, would=_would_size
)
