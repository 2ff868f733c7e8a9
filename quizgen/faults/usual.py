"""Which details of a fault mode are worth considering on a given circuit.

Each function takes a survey of the circuit and a part, and gives (detail, share) pairs:
the share of the mode's weight that this detail takes. Faults that could not be noticed,
or that would burn a harness no protector guards, are left out.
"""

from __future__ import annotations

from collections.abc import Iterator

from quizgen.circuit import components as c
from quizgen.circuit.reach import Pair, conducting_pairs
from quizgen.faults.survey import Survey
from quizgen.faults.wires import Meeting

# Blade-fuse ratings in ampere, ISO 8820-3 (from memory).
BLADE_AMPS = (1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0)

# A blade fuse opens within 10 minutes at 1.35 times its rating, ISO 8820-3 (from memory).
OPENS_AT = 1.35

# Filament lamps that fit each other's holder: bayonet base of 12 V and 24 V, then wedge base;
# objective watts of UN R37 (from memory). RATED is printed on one that takes 25 W or 28 W.
RATED = 21.0
SAME_HOLDER = ((5.0, 10.0, 25.0), (5.0, 10.0, RATED), (7.0, 12.5, 28.0), (3.0, 5.0))

Details = Iterator[tuple[str, float]]

# Swapping the two wires of these changes nothing.
EITHER_WAY_ROUND: tuple[type[c.Part], ...] = (
    c.Fuse, c.FusibleLink, c.Breaker, c.Resistor, c.Sender, c.Lamp, c.Heater, c.Solenoid, c.Horn,
)  # fmt: skip

# Where studs and blades of several sizes leave but one pair to mix up.
_EXCHANGED: dict[type[c.Part], set[str]] = {
    c.Alternator: {"D+", "S"}, c.StarterSolenoid: {"30", "45"},
}  # fmt: skip


def bare(survey: Survey, part: c.Part) -> Details:
    """The mode has nothing to choose."""
    yield "", 1.0


def weak(survey: Survey, part: c.Battery) -> Details:
    """A quarter left: the lamps are yellow and a motor is slow, yet everything works."""
    yield "25", 1.0


# --- added resistance -----------------------------------------------------------------


def _ladder(survey: Survey, part: c.Part, pairs: list[Pair], place: str = "") -> Details:
    for ohm in survey.telling_ohms(part, pairs):
        yield f"{place}{ohm:g}", 0.5


def resistances(survey: Survey, part: c.Wire | c.Ground) -> Details:
    """Two severities, by what the part feeds."""
    yield from _ladder(survey, part, [(part.nodes[0], part.nodes[1])])


def cavity_resistances(survey: Survey, part: c.Connector) -> Details:
    """Two severities in each cavity."""
    for cavity, pair in zip(part.cavities, conducting_pairs(part), strict=True):
        yield from _ladder(survey, part, [pair], f"{cavity}=")


def contact_resistances(survey: Survey, part: c.Switch) -> Details:
    """Two severities at each contact."""
    for contact, pair in zip(part.contacts, conducting_pairs(part), strict=True):
        yield from _ladder(survey, part, [pair], f"{contact.a}-{contact.b}=")


def relay_resistances(survey: Survey, part: c.Relay | c.StarterSolenoid) -> Details:
    """Two severities at the contact that switches the load."""
    yield from _ladder(survey, part, [conducting_pairs(part)[0]])


# --- one for each place ---------------------------------------------------------------


def each_cavity(survey: Survey, part: c.Connector) -> Details:
    """Every cavity of a connector."""
    yield from ((cavity, 1.0) for cavity in part.cavities)


def each_contact(survey: Survey, part: c.Switch) -> Details:
    """Every contact of a switch."""
    yield from ((f"{k.a}-{k.b}", 1.0) for k in part.contacts)


def each_position(survey: Survey, part: c.Switch | c.Sender) -> Details:
    """Every position of a switch or sender."""
    yield from ((position, 1.0) for position in part.positions)


def each_section(survey: Survey, part: c.ResistorPack) -> Details:
    """Every section of a resistor pack."""
    yield from ((str(i + 1), 1.0) for i in range(len(part.ohms)))


# --- the wrong thing fitted -----------------------------------------------------------


def wrong_ratings(survey: Survey, part: c.Fuse) -> Details:
    """The highest rating that the running load opens, and the first at least twice too high."""
    loads = survey.carried([(part.nodes[0], part.nodes[1])], part)
    running = sum(load.amps for load in loads)
    low = [a for a in BLADE_AMPS if a < part.amps and a * OPENS_AT <= running]
    high = [a for a in BLADE_AMPS if a >= 2.0 * part.amps]
    chosen = low[-1:] + high[:1]
    yield from ((f"{amps:g}", 1.0 / len(chosen)) for amps in chosen)


def wrong_lamps(survey: Survey, part: c.Lamp) -> Details:
    """Lamps of another wattage for the same holder."""
    fitting = {w for holder in SAME_HOLDER if part.watts in holder for w in holder}
    chosen = sorted(fitting - {part.watts, RATED})
    yield from ((f"{watts:g}", 1.0 / len(chosen)) for watts in chosen)


# --- contact with something else ------------------------------------------------------


def short_to_ground(survey: Survey, part: c.Wire) -> Details:
    """Not where the wire is grounded anyhow, nor where no protector would open."""
    node = survey.to_node(part.id)
    if node not in survey.grounded and node not in survey.unprotected:
        yield "", 1.0


def short_to_supply(survey: Survey, part: c.Wire) -> Details:
    """Not where the wire is live anyhow, nor on a plain ground wire."""
    node = survey.to_node(part.id)
    if node not in survey.always_live and node not in survey.grounded:
        yield "", 1.0


def touching(survey: Survey, part: c.Wire) -> Details:
    """Wires side by side at a part of three terminals or more, unless nothing would change."""
    for other, met in _partners(survey, part):
        ends = [part.nodes[met.ends[0]], survey.circuit.by_id[other].nodes[met.ends[1]]]
        if len(survey.circuit.by_id[met.part].terminals) > 2 and _worth_touching(survey, ends):
            yield other, 1.0


def swapped(survey: Survey, part: c.Wire) -> Details:
    """Wires side by side at a part where it matters which is which."""
    for other, met in _partners(survey, part):
        if _matters(survey.circuit.by_id[met.part], met.terminals):
            yield other, 1.0


def _partners(survey: Survey, part: c.Wire) -> Iterator[tuple[str, Meeting]]:
    for first, second, met in survey.neighbours:
        if first == part.id:
            yield second, met


def _worth_touching(survey: Survey, ends: list[str]) -> bool:
    for same in (survey.grounded, survey.always_live):
        if same.issuperset(ends):
            return False
    return not any(
        a in survey.unprotected and b in survey.grounded for a, b in (ends, reversed(ends))
    )


def _matters(part: c.Part, terminals: tuple[str, str]) -> bool:
    if isinstance(part, (*EITHER_WAY_ROUND, c.Battery, c.Source)):
        return False
    if isinstance(part, c.Switch):
        return len(part.pins) > 2
    if type(part) in _EXCHANGED:
        return set(terminals) == _EXCHANGED[type(part)]
    if isinstance(part, c.Relay):
        if set(terminals) == {"85", "86"}:
            return part.suppression == "diode"
        return part.contact == "changeover" or len({"85", "86"} & set(terminals)) == 1
    return True
