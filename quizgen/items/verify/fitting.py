"""The verifier's own choice of a fuse or a wire from a standard series.

Blade fuse ratings: ISO 8820-3. Resistance of wires: as the circuit has them. A fuse of
1.25 times the running current and the largest fuse for a wire: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from quizgen.base.errors import InputError
from quizgen.circuit import components as c
from quizgen.circuit.reach import conducting_pairs, reached
from quizgen.circuit.wire_data import wire_ohm
from quizgen.items.verify.sum_records import Bench, Worked

BLADES = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40)
SQUARES = (0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16)
LARGEST_FUSE = dict(zip(SQUARES, (5, 10, 15, 20, 30, 40, 50, 70, 100), strict=True))
HEADROOM = 1.25
SOLID = (*c.LOADS, c.Fuse, c.FusibleLink, c.Breaker, c.Ground, c.Battery, c.Alternator)


def _next(series: Sequence[float], least: float) -> float:
    return next((float(s) for s in series if s >= least), inf)


def rating(bench: Bench, of: str) -> Worked:
    name, _, more = of.partition("+")
    fuse = bench.part(name, c.Fuse)
    bench.expect(("", name))
    extra = _figure(more)
    thin, bears = _thinnest(bench, fuse)
    running = bench.shown[0]
    total = running + extra
    over = _next(BLADES, bears + 0.01)
    exact = _next(BLADES, HEADROOM * (abs(bench.amps(name)) + extra))
    school = _next(BLADES, HEADROOM * total)
    if school > bears:
        raise InputError(f"a fuse of {school:g} A does not protect {thin}")
    return Worked(
        "A",
        exact,
        school,
        0.0,
        {"extra": extra, "spare": HEADROOM, f"{thin}.bears": bears},
        {
            "spare-forgotten": (_next(BLADES, total),),
            "constant-current": (_next(BLADES, HEADROOM * running),),
            "only-the-new-load": (_next(BLADES, HEADROOM * extra),),
            "bigger-never-blows": (over,),
        },
        lambda value: (100.0 * total / value,),
        (total, HEADROOM * total, HEADROOM * running, HEADROOM * extra, bears, extra),
        (extra, bears),
    )


def _thinnest(bench: Bench, fuse: c.Part) -> tuple[str, float]:
    """The thinnest wire between a fuse and whatever comes next, and its largest fuse."""
    open_ended = [p for p in bench.circuit.parts if not isinstance(p, SOLID)]
    pairs = [pair for part in open_ended for pair in conducting_pairs(part)]
    low = min(fuse.nodes, key=lambda node: bench.point.volts(node) or 0.0)
    behind = reached(low, pairs)
    wires = [w for w in bench.circuit.parts if isinstance(w, c.Wire) and w.nodes[0] in behind]
    if not wires:
        raise InputError(f"there is no wire behind {fuse.id}")
    thin = min(wires, key=lambda w: w.mm2)
    return thin.id, float(LARGEST_FUSE.get(thin.mm2, 0.0))


def size(bench: Bench, of: str) -> Worked:
    name, metres, limit = (*of.split(":"), "", "")[:3]
    wire = bench.part(name, c.Wire)
    assert isinstance(wire, c.Wire)  # as asked for
    bench.expect(("", name))
    length, most = _figure(metres), _figure(limit)
    per = {mm2: wire_ohm(mm2, 1.0) for mm2 in SQUARES}

    def fitting(amps: float, share: float = 1.0) -> float:
        fine = [m for m in SQUARES if amps * per[m] * length <= most / share]
        return float(fine[0]) if fine else inf

    amps = bench.shown[0]
    school = fitting(amps)
    if school < wire.mm2 or school == inf:
        raise InputError(f"{name} would not be protected as it is now, or no size will do")
    place = SQUARES.index(school)
    table = SQUARES[max(place - 2, 0) : place + 3]
    limits = [1000.0 * most / (amps * length) / share for share in (1.0, 2.0, 4.0)]
    return Worked(
        "mm²",
        fitting(abs(bench.amps(name))),
        school,
        0.0,
        {"metres": length, "limit": most, "fitted": wire.mm2}
        | {f"milliohm_per_metre {m:g}": 1000.0 * per[m] for m in table},
        {
            "rounded-down": (float(SQUARES[max(place - 1, 0)]),),
            "return-counted": (fitting(amps, 2.0),),
            "length-forgotten": (wire.mm2,),
            "thick-is-safe": (fitting(amps, 4.0),),
        },
        lambda value: (amps * per.get(value, 0.0) * length,),
        (*limits, length, most),
        (length, most, *(1000.0 * per[m] for m in table)),
    )


def _figure(text: str) -> float:
    """A positive number. Raises InputError for anything else."""
    try:
        value = float(text)
    except ValueError:
        raise InputError(f"{text!r} is no number") from None
    if not 0.0 < value < 1e6:
        raise InputError(f"{text!r} is no figure for a sum")
    return value
