"""A small set of invented questions, one for each way to answer, and answers to it."""

from __future__ import annotations

from collections.abc import Sequence

from quizgen.forms.problem_set import FILE_FORMAT, Form, ProblemSet
from quizgen.forms.roster import Student
from quizgen.forms.slots import Slot
from quizgen.grading.responses import Response, Source, StudentResponses
from quizgen.items.item import Item, Number, Option, Origin, Proof, WrongNumber

ORIGIN = Origin(template="divider", parameters=(), positions=(), fault="")


def option(text: str, misconception: str = "", *, is_key: bool = False) -> Option:
    """An option with a reason of one sentence."""
    reason = f"What speaks for or against {text}."
    return Option(
        claim=text, text=text, is_key=is_key, rationale=(reason,), misconception=misconception
    )


def item(
    name: str, response: str, options: Sequence[Option] = (), order: Sequence[int] = (),
    number: Number | None = None,
) -> Item:  # fmt: skip
    """A question with as much as grading looks at."""
    return Item(
        id=name,
        kind="fault-from-readings",
        level="interpret",
        topics=("lamps",),
        family="divider",
        key_kind="",
        machine="Street sweeper, 12 V",
        stem=("The lamp stays dark.",),
        readings=(),
        question="What is wrong?",
        options=tuple(options),
        origin=ORIGIN,
        proof=Proof(),
        response=response,  # type: ignore[arg-type]
        order=tuple(order),
        number=number,
        solution=("The way to the answer.",) if order or number else (),
    )


def one(name: str = "one") -> Item:
    """Key B of A to C."""
    return item(
        name, "one",
        (option("the fuse", "stops-early"), option("the ground", is_key=True),
         option("the lamp", "load-blamed")),
    )  # fmt: skip


def several(name: str = "several") -> Item:
    """Keys A and C of A to D."""
    return item(
        name, "several",
        (option("the horn", is_key=True), option("the radio", "branches-mixed-up"),
         option("the fan", is_key=True), option("the pump", "dead-only")),
    )  # fmt: skip


def order(name: str = "order") -> Item:
    """Right is C A B D."""
    return item(name, "order", [option(t) for t in ("F1", "S1", "GB1", "E1")], (2, 0, 1, 3))


def number(name: str = "number") -> Item:
    """Right is 11.7 to 12.1 V; 0 V is a known mistake."""
    wrong = WrongNumber(
        value=0.0, misconception="ground-side-forgotten", rationale=("It is not 0 V.",)
    )
    return item(
        name, "number",
        number=Number(
            quantity="volts", value=11.9, low=11.7, high=12.1, unit="V", decimals=1, wrong=(wrong,)
        ),
    )  # fmt: skip


STUDENTS = tuple(
    Student(id=f"S-{n:03}", name=name, form="AB"[n % 2 == 0])
    for n, name in enumerate(("Ana Okoro", "Bo Lind", "Cy Marsh", "Di Navarro"), 1)
)


def the_set(items: Sequence[Item] = (), students: Sequence[Student] = STUDENTS) -> ProblemSet:
    """Forms A and B of four questions, or of `items`."""
    made = tuple(items) or (one(), several(), order(), number())
    slots = tuple(
        Slot(number=n, family="divider", kind=i.kind, topic="lamps", level=i.level)
        for n, i in enumerate(made, 1)
    )
    return ProblemSet(
        format=FILE_FORMAT, name="week-07", token="abcd1234", title="Lamps and grounds",
        week="Week 7", scenario="brindlemere", circuits=("divider",), slots=slots,
        forms=(Form(code="A", items=made), Form(code="B", items=made)), students=tuple(students),
    )  # fmt: skip


def answered(*values: str | tuple[str, ...], student: str = "S-001", form: str = "A",
             file: str = "answers.csv", digest: str = "00") -> StudentResponses:  # fmt: skip
    """Answers in order; "" is a blank one, "AC" the letters A and C."""
    return StudentResponses(
        student=student, form=form, source=Source(file=file, digest=digest),
        responses=tuple(
            Response(
                item=n,
                value=tuple(value) if value and value[0].isalpha() else value,
                state="answered" if value else "blank",
            )
            for n, value in enumerate(values, 1)
        ),
    )  # fmt: skip
