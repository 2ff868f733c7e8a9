"""What a typed line asks for: an act on the machine, or something to be told.

Forgiving: capitals do not matter, commands and positions may be cut short, points may be written
K1.87 or K1 87, and a point or a control by itself is a reading or a turn.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from quizgen.base.errors import InputError
from quizgen.base.suggest import shown, suggest
from quizgen.circuit.netlist import Circuit
from quizgen.drill.hunt import engine as e
from quizgen.drill.hunt.engine import Act, Hunt

LOOK, STATE, INFO, HELP, QUIT, PAST = "look", "state", "info", "help", "quit", "past"
TELLINGS = (LOOK, STATE, INFO, HELP, QUIT, PAST)
COMMANDS = (
    LOOK, STATE, INFO, e.TURN, e.WATCH, e.MEASURE, e.APART, e.UNPLUG, e.BACK, e.JUMP, e.FUSE,
    e.NOTE, PAST, e.REPAIR, HELP, QUIT,
)  # fmt: skip
OTHER_WORDS = {"?": HELP, "exit": QUIT, "new": e.FUSE, "put": e.BACK, "hear": e.WATCH}
INSTRUMENTS = {
    "volts": "voltmeter", "voltmeter": "voltmeter", "fine": "voltmeter-2V",
    "lamp": "test-lamp", "ohms": "ohmmeter", "ohmmeter": "ohmmeter",
    "self-powered": "self-powered-lamp", "amps": "ammeter", "ammeter": "ammeter",
    "clamp": e.CLAMP,
}  # fmt: skip
"""What the instruments are called here; the first letters do."""

SHORT = {full: word for word, full in reversed(INSTRUMENTS.items())}
FRAME = ("frame", "chassis", "ground", "earth")


@dataclass(frozen=True)
class Tell:
    """Something to be told; costs nothing."""

    what: str
    args: tuple[str, ...] = ()


def read_line(line: str, hunt: Hunt) -> Act | Tell | None:
    """What `line` asks for; None for an empty one. Raises InputError that says what would do."""
    words = line.replace(",", " ").replace("=", " ").split()
    if not words:
        return None
    command = _command(words[0], hunt.case.circuit)
    if not command:  # a point, or a control with its position
        known = _nearest(words[0], [c.name for c in hunt.case.circuit.controls])
        command = e.TURN if known and len(words) > 1 else e.MEASURE
        words = ["", *words]
    if command in TELLINGS:
        return Tell(command, tuple(_thing(hunt, word) for word in words[1:]))
    if command == e.NOTE:
        return Act(e.NOTE, (line.strip().partition(" ")[2].strip(),))
    return Act(command, READERS[command](hunt, words[1:]))


def _command(word: str, circuit: Circuit) -> str:
    """The command that a first word means; "" if it is rather a point or a control."""
    low = word.lower()
    if low in OTHER_WORDS:
        return OTHER_WORDS[low]
    found = [command for command in COMMANDS if command.startswith(low)]
    if found:
        return found[0]
    if low in FRAME or _is_thing(circuit, word) or _instruments(low):
        return ""
    near = get_close_matches(low[:20], COMMANDS, n=1)
    hint = f"did you mean {near[0]}?" if near else "help lists what can be typed"
    raise InputError(f"no command, point or control {shown(word)}; {hint}")


def _instruments(low: str) -> list[str]:
    """The instruments that a word means, all of those whose name it begins."""
    if low in INSTRUMENTS.values():
        return [low]
    return [full for word, full in INSTRUMENTS.items() if word.startswith(low)]


def _is_thing(circuit: Circuit, word: str) -> bool:
    head = _split(word)[0]
    known = [*circuit.by_id, *circuit.by_control, *circuit.nodes]
    return bool(_nearest(word, known) or _nearest(head, known))


def _nearest(word: str, known: Iterable[str]) -> str:
    """The known name that `word` is, capitals aside; "" if none is."""
    names = list(known)
    return word if word in names else next((n for n in names if n.lower() == word.lower()), "")


def _thing(hunt: Hunt, word: str) -> str:
    """A part or control by its name; another word as it is."""
    circuit = hunt.case.circuit
    return _nearest(word, [*circuit.by_id, *circuit.by_control]) or word


# --- one reader for each act ----------------------------------------------------------


def _no_words(hunt: Hunt, words: Sequence[str]) -> tuple[str, ...]:
    return ()


def _part(hunt: Hunt, words: Sequence[str]) -> tuple[str, ...]:
    if len(words) != 1:
        raise InputError("name one part, such as M1")
    return (_known_part(hunt.case.circuit, words[0]),)


def _known_part(circuit: Circuit, word: str) -> str:
    part = _nearest(word, circuit.by_id)
    if not part:
        raise InputError(f"no part {shown(word)}{suggest(word, circuit.by_id)}")
    return part


def _named(hunt: Hunt, words: Sequence[str]) -> tuple[str, ...]:
    pieces = [piece for word in words for piece in re.split(r"[:.]", word) if piece]
    pieces = [piece for piece in pieces if piece.lower() != "cavity"]
    if not pieces:
        raise InputError("name the part to repair, such as W5, or X1 and a cavity")
    return (_known_part(hunt.case.circuit, pieces[0]), *(p.lower() for p in pieces[1:]))


def _turns(hunt: Hunt, words: Sequence[str]) -> tuple[str, ...]:
    controls = hunt.case.circuit.by_control
    found: list[str] = []
    left = list(words)
    while left:
        control = controls.get(_nearest(left[0], controls))
        if control is None:
            raise InputError(f"no control {shown(left[0])}{suggest(left[0], controls)}")
        count = 1
        while count < len(left) and not _nearest(left[count], controls):
            count += 1
        wanted = " ".join(left[1:count])
        able = [p for p in control.positions if p.lower() == wanted.lower()]
        able = able or [p for p in control.positions if p.lower().startswith(wanted.lower())]
        if len(able) != 1 or not wanted:
            raise InputError(f"{control.name} can be turned to: {', '.join(control.positions)}")
        found += [control.name, able[0]]
        left = left[count:]
    if not found:
        raise InputError(f"name a control and its position; controls: {' '.join(controls)}")
    return tuple(found)


def _measure(hunt: Hunt, words: Sequence[str]) -> tuple[str, ...]:
    instrument, left = _instrument(hunt, list(words))
    if instrument == e.CLAMP:
        if len(left) != 1:
            raise InputError("a clamp goes around one wire, such as clamp W5")
        return instrument, _known_part(hunt.case.circuit, left[0])
    points = _points(hunt.case.circuit, left)
    if not points or len(points) > 2:
        raise InputError("name one point or two, such as K1.87, or K1.87 G2; one is to the frame")
    return instrument, points[0], (*points, hunt.case.circuit.reference)[1]


def _instrument(hunt: Hunt, words: list[str]) -> tuple[str, list[str]]:
    """The instrument named first, or the one in hand."""
    if words and not _is_thing(hunt.case.circuit, words[0]) and words[0].lower() not in FRAME:
        found = _instruments(words[0].lower())
        if not found:
            known = suggest(words[0].lower(), INSTRUMENTS)
            raise InputError(f"no instrument or point {shown(words[0])}{known}")
        return found[0], words[1:]
    return in_hand(hunt), words


def in_hand(hunt: Hunt) -> str:
    """The instrument that was used last, at first the voltmeter."""
    used = (t.act.args[0] for t in reversed(hunt.taken) if t.act.do == e.MEASURE)
    last = next(used, "voltmeter")
    return "voltmeter" if last == e.CLAMP else last


def _points(circuit: Circuit, words: Sequence[str]) -> list[str]:
    found: list[str] = []
    left = [word for word in words if word.lower() not in ("to", "and", "on", "at", "from")]
    while left:
        word = left.pop(0)
        part = circuit.by_id.get(_nearest(word, circuit.by_id))
        if part and left and (pin := _nearest(left[0], part.terminals)):
            left.pop(0)
            found.append(f"{part.id}.{pin}")
        else:
            found.append(_point(circuit, word))
    return found


def _point(circuit: Circuit, word: str) -> str:
    if word.lower() in FRAME:
        return circuit.reference
    head, mark, pin = _split(word)
    part = circuit.by_id.get(_nearest(head, circuit.by_id))
    if part and mark and (terminal := _nearest(pin, part.terminals)):
        return f"{part.id}{'/' if mark == '/' else '.'}{terminal}"
    if part and not mark and len(set(part.nodes)) == 1:
        return part.nodes[0]
    if part:
        pins = " ".join(f"{part.id}.{t}" for t in part.terminals)
        raise InputError(f"name a terminal of {part.id}: {pins}")
    node = _nearest(word, circuit.nodes)
    if not node:
        raise InputError(
            f"no point {shown(word)}; points are terminals, such as K1.87, or the frame"
        )
    return node


def _split(word: str) -> tuple[str, str, str]:
    """Part, mark, terminal of `K1.87`, `K1-87`, `K1/87`; of a battery also `GB1+`."""
    found = re.fullmatch(r"([A-Za-z]+[0-9]*)([./:-]?)(.+)", word)
    if found and (found[2] or found[3] in "+-"):
        return found[1], found[2] or ".", found[3]
    return word, "", ""


def _jump(hunt: Hunt, words: Sequence[str]) -> tuple[str, ...]:
    if [w.lower() for w in words] == [e.OFF]:
        return (e.OFF,)
    points = _points(hunt.case.circuit, words)
    if len(points) != 2:
        raise InputError("a jumper joins two points, such as jumper K1.30 K1.87; or jumper off")
    return tuple(points)


READERS = {
    e.TURN: _turns, e.WATCH: _no_words, e.MEASURE: _measure, e.APART: _part, e.UNPLUG: _part,
    e.BACK: _part, e.JUMP: _jump, e.FUSE: _part, e.REPAIR: _named,
}  # fmt: skip


def completions(hunt: Hunt, before: str) -> list[str]:
    """Whole words that may stand next in a line of which `before` is typed."""
    words = before.split()
    circuit = hunt.case.circuit
    if not words:
        return list(COMMANDS)
    first = next((c for c in COMMANDS if c.startswith(words[0].lower())), "")
    if first == e.TURN:
        last = circuit.by_control.get(_nearest(words[-1], circuit.by_control))
        return list(last.positions) if last else list(circuit.by_control)
    parts = [p.id for p in circuit.parts]
    if first in (e.MEASURE, e.JUMP):
        points = [f"{p.id}.{t}" for p in circuit.parts if p.kind != "wire" for t in p.terminals]
        return [*points, *(INSTRUMENTS if len(words) == 1 and first == e.MEASURE else ())]
    return [] if first in (e.WATCH, e.NOTE, HELP, QUIT) else parts
