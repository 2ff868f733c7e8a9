"""Small questions of each sort, written for tests. Figures are plausible, not computed."""

from __future__ import annotations

from quizgen.drill.question import Grid, Key, Picture, Question, Reason, Shown, Slip

GRID = Grid(
    shared="Voltmeter, black lead on a clean point of the frame",
    columns=("Red lead on", "Shows"),
    rows=(("K1 terminal 87", "12.2 V"), ("M1 terminal 2", "11.9 V")),
)
PICTURE = Picture(
    svg="<svg xmlns='http://www.w3.org/2000/svg'/>",
    spoken="Wiring diagram: Pump.\nF1, fuse, 10 A.",
    narrow=("  │", "┌─┴─┐", "│F1 │", "└─┬─┘"),
    wide=("  │" + " " * 100 + "│",),
    symbols=("fuse",),
    colours=("RD", "BK"),
)


def question(shown: Shown, key: Key, number: int = 1, topic: str = "lamps") -> Question:
    """A question with what every question has."""
    return Question(
        topic=topic, level="interpret", kind="fault-from-readings", circuit="push-button-relay",
        item=f"item-{number}", shown=shown, key=key, sum=f"{topic}-{number}",
    )  # fmt: skip


def one(number: int = 1, topic: str = "lamps") -> Question:
    """Four options, B is right."""
    shown = Shown(
        number=number, machine="Orchard sprayer, 12 V", stem=("The pump does not run.",),
        question="Which fault explains the readings?", grid=GRID, picture=PICTURE,
        choices=("Wire W14 is broken", "Ground point G2 is poor", "The winding is open",
                 "The contact of K1 is poor"),
    )  # fmt: skip
    reasons = (
        ("Nothing would feed M1: 0.0 V.", "stops-early"),
        ("M1 terminal 2 shows 11.9 V instead of 0.0 V.", ""),
        ("No current passes an open winding: 0.0 V at terminal 2.", "load-blamed"),
        ("The drop would be across the contact.", "stops-early"),
    )
    choices = tuple(
        Reason(is_key=i == 1, reasons=(text,), misconception=belief, figures=f"figure {i}")
        for i, (text, belief) in enumerate(reasons)
    )
    return question(shown, Key(text="B", choices=choices), number, topic)


def several(number: int = 2) -> Question:
    """Three loads, A and C are hit."""
    shown = Shown(
        number=number, machine="Street sweeper, 24 V", stem=("Fuse F4 is blown.",),
        question="Which loads are hit?", choices=("E1", "E2", "E3"), response="several",
    )  # fmt: skip
    choices = tuple(
        Reason(is_key=i != 1, reasons=(f"E{i + 1}: {volts}.",), misconception=belief)
        for i, (volts, belief) in enumerate((("0.0 V", ""), ("25.1 V", "branch"), ("0.0 V", "")))
    )
    key = Key(text="A C", choices=choices, solution=("Follow the paths until they meet.",))
    return question(shown, key, number, "shared-feed")


def order(number: int = 3) -> Question:
    """Four parts, the current passes D, A, C, B."""
    shown = Shown(
        number=number, machine="Rescue truck, 24 V", stem=("Nothing is wrong.",),
        question="In which order does the current pass these?",
        choices=("S1", "G2", "E1", "F1"), response="order",
    )  # fmt: skip
    choices = tuple(Reason(is_key=False, reasons=(f"{c}: 1.8 A passes.",)) for c in shown.choices)
    key = Key(text="D A C B", choices=choices, order=(3, 0, 2, 1), solution=("F1, S1, E1, G2.",))
    return question(shown, key, number, "switches")


def figure(number: int = 4) -> Question:
    """12.5 V over 255 Ω are 49.0 mA; 24 V over 255 Ω would be 94.1 mA. Ohm's law."""
    shown = Shown(
        number=number, machine="Street sweeper, 24 V", stem=("The coil has 255 Ω.",),
        question="What current passes the coil? Write the answer in mA.",
        response="number", unit="mA",
    )  # fmt: skip
    slip = Slip(
        value=94.1, text="94.1 mA", reasons=("94.1 mA comes of 24 V ÷ 255 Ω.",),
        misconception="nominal-for-measured",
    )  # fmt: skip
    key = Key(
        text="49.0 mA", value=49.0, low=46.57, high=51.47, accepted="46.6 to 51.5 mA",
        slips=(slip,), solution=("12.5 V ÷ 255 Ω: 49.0 mA.",),
    )  # fmt: skip
    return question(shown, key, number, "relay-control")


ALL = (one(), several(), order(), figure())
