"""Documents made by hand, to print."""

from __future__ import annotations

from quizgen.publish.view import (
    Answer,
    AnswerKey,
    Choice,
    ExplainedChoice,
    Figure,
    FormAnswers,
    Heading,
    Problem,
    ReadingTable,
    Workbook,
)

TOPICS = ("series resistance", "relay control", "ground-side switching", "reversing motors")
CAUTIONS = (
    "Isolate the battery before a resistance check. An ohmmeter or self-powered test lamp never "
    "goes onto a live circuit.",
    "Jumper wires are fused, and never across a load's supply and ground.",
    "No test lamp on restraint systems, data lines or electronic modules.",
    "High-voltage systems of hybrid and electric machines are for qualified people only.",
    "Fans and pumps start without warning. Keep clear, wear eye protection.",
    "The manufacturer's procedure, local codes and licensed practice come first.",
)

HEADING = Heading(
    college="Brindlemere Technical College",
    course="Evening class: electrical faults on mobile machines",
    title="Four circuits, one meter",
    week="Week 1",
    instructor="Marta Lindqvist",
    topics=TOPICS,
    cautions=CAUTIONS,
)


def drawing(width: float = 150, height: float = 110) -> Figure:
    """A stand-in for a wiring diagram, `width` × `height` mm."""
    middle = width / 2
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">'
        f'<rect x="0.5" y="0.5" width="{width - 1}" height="{height - 1}" fill="none" '
        'stroke="#999999" stroke-width="0.2"/>'
        f'<path d="M{middle} 5V{height / 2 - 8}M{middle} {height / 2 + 8}V{height - 8}" '
        'stroke="#c00000" stroke-width="0.8"/>'
        f'<rect x="{middle - 4}" y="{height / 2 - 8}" width="8" height="16" fill="#ffffff" '
        'stroke="#000000" stroke-width="0.4"/>'
        f'<text x="{middle + 6}" y="{height / 2}" font-size="2.6" '
        'font-family="Atkinson Hyperlegible">M1 pump 0.5 Ω</text></svg>'
    )
    return Figure(svg=svg, alternative="Battery GB1 feeds pump M1 through wire W1, red.")


READINGS = ReadingTable(
    shared="Voltmeter, ignition on and S2 pressed, black lead on a clean chassis point",
    columns=("Red lead on", "Shows"),
    rows=(
        ("K1 terminal 30", "12.3 V"),
        ("K1 terminal 87", "12.2 V"),
        ("M1 terminal 1", "12.2 V"),
        ("M1 terminal 2", "11.9 V"),
    ),
)
STEM = (
    "The booster pump M1 does not run. With the ignition on and switch S2 pressed, relay K1 "
    "clicks. The pump's connector is still plugged in.",
)
QUESTION = "Which fault explains all four readings?"
OPTIONS = (
    "Wire W14, relay K1 terminal 87 to the pump, is broken",
    "Ground point G2 has a high resistance",
    "The pump's winding is open",
    "The contact of relay K1 has a high resistance",
)


def problem(
    number: int = 1,
    figure: Figure | None = None,
    options: tuple[str, ...] = OPTIONS,
    readings: ReadingTable | None = READINGS,
) -> Problem:
    """A problem in the shape that the generator makes."""
    return Problem(
        number=number,
        machine="Orchard sprayer, 12 V",
        stem=STEM,
        question=QUESTION,
        choices=tuple(Choice(letter=a, text=b) for a, b in zip("ABCDEF", options, strict=False)),
        readings=readings,
        figure=figure,
    )


def workbook(*problems: Problem, heading: Heading = HEADING, student: str = "") -> Workbook:
    """A form A with `problems`."""
    return Workbook(heading=heading, form="A", problems=problems, student=student)


SECRET = "Supply reaches terminal 2, so it has already passed through the winding."


def answer(number: int = 1) -> Answer:
    """The answer to `problem()`, key B."""
    reasons = (
        ("With W14 broken nothing would feed the pump: terminal 1 would show 0.0 V. It shows "
         "12.2 V.",),
        (SECRET + " It should drop to nearly 0 V there. What is left, 11.9 V, is being dropped "
         "between terminal 2 and the chassis.",
         "Next: voltmeter from terminal 2 to the stud of G2, then from the stud to the chassis."),
        ("No current passes an open winding. Terminal 2 would sit at chassis through its own "
         "ground wire and show 0.0 V, not 11.9 V.",),
        ("The drop would be across the contact: 30 high, 87 low. You found 0.1 V across it.",),
    )  # fmt: skip
    beliefs = ("one wire is enough", "", "supply at both terminals means the motor is fed", "")
    figures = (
        "M1 terminal 1: found 12.2 V, would be 0.0 V.",
        "Fits every reading.",
        "M1 terminal 2: found 11.9 V, would be 0.0 V.",
        "K1 terminal 87: found 12.2 V, would be 0.9 to 3.1 V.",
    )
    return Answer(
        number=number,
        item="blower-pack-7f3a",
        key="B",
        about=("which fault explains the readings", "interpret", "shared ground"),
        machine="Orchard sprayer, 12 V",
        stem=STEM,
        question=QUESTION,
        readings=READINGS,
        choices=tuple(
            ExplainedChoice(
                letter=a, text=t, is_key=a == "B", reasons=r, misconception=m, figures=f
            )
            for a, t, r, m, f in zip("ABCD", OPTIONS, reasons, beliefs, figures, strict=True)
        ),
        proof="61 possible causes in 140 variants were computed.",
    )


def answer_key(count: int = 8, forms: str = "AB") -> AnswerKey:
    """A key with `count` answers in each form."""
    answers = tuple(answer(n + 1) for n in range(count))
    return AnswerKey(
        heading=HEADING, forms=tuple(FormAnswers(form=f, answers=answers) for f in forms)
    )
