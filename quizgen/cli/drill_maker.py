"""The process that makes questions while the student thinks.

It takes one request a line as JSON and answers each with a line of JSON. It is a process of its own
because making a question loads numpy and takes seconds, and an answer has to be there at once.
"""

from __future__ import annotations

import random
import signal
import sys
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

import msgspec

from quizgen.base.errors import QuizgenError, UnprovableError
from quizgen.base.seeds import Seed
from quizgen.cli.drill_convert import key_of, question_of, shown_of
from quizgen.cli.drill_messages import FIRST, Reply, Wanted
from quizgen.drill.page import NARROW
from quizgen.drill.question import Question
from quizgen.items.item import LEVELS, Item

SCENARIO = "brindlemere"
REMEMBERED = 40  # items that a new one must not be like
FIGURE_SHARE = 0.4  # of the questions that can be answered by a figure instead of a choice


@dataclass
class Bench:
    """What questions are made with; items made lately are kept so that new ones differ.

    `circuit` is the one that all are to be about, by its name or its file; "" for any.
    """

    circuit: str = ""
    lately: deque[Item] = field(default_factory=lambda: deque(maxlen=REMEMBERED))

    def reply(self, wanted: Wanted) -> Reply:
        """The answer to a request; never an exception."""
        try:
            if not wanted.topic:
                return Reply(catalogue=self.catalogue)
            if wanted.topic == FIRST:
                wanted = replace(wanted, topic=next(iter(self.catalogue)))
            return Reply(number=wanted.number, question=self.make(wanted))
        except UnprovableError as error:
            return Reply(number=wanted.number, barren=True, error=str(error))
        except QuizgenError as error:
            return Reply(number=wanted.number, error=str(error))
        except Exception as error:  # a mistake of ours must not leave the student waiting
            return Reply(number=wanted.number, error=f"{type(error).__name__}: {error}")

    @cached_property
    def families(self) -> dict[str, tuple[str, ...]]:
        """The circuits of the scenario's machines, or the one, each with its topics."""
        from quizgen.forms.plan import topics_of
        from quizgen.scenario.scenario import find_scenario

        if self.circuit:
            return {self.circuit: topics_of(self.circuit)}
        machines = find_scenario(SCENARIO).machines
        names = sorted({carried.family for machine in machines for carried in machine.carries})
        return {name: topics_of(name) for name in names}

    @cached_property
    def catalogue(self) -> dict[str, tuple[str, ...]]:
        """Topic → levels; the topics that most circuits have in common come first."""
        counts: dict[str, int] = {}
        for topics in self.families.values():
            for topic in topics:
                counts[topic] = counts.get(topic, 0) + 1
        order = sorted(counts, key=lambda topic: (-counts[topic], topic))
        return dict.fromkeys(order, LEVELS)

    def make(self, wanted: Wanted) -> Question:
        """A verified question that is like none of those made lately.

        Raises UnprovableError when no circuit of the topic gives one.
        """
        from quizgen.forms.candidates import Workshop
        from quizgen.forms.plan import Plan
        from quizgen.forms.slots import Slot
        from quizgen.items.kinds import KINDS
        from quizgen.scenario.scenario import find_scenario

        seed = Seed(wanted.seed.encode()).under("drill")
        scenario = find_scenario(SCENARIO)
        plan = Plan(
            name="drill", title="", week="", scenario=SCENARIO, forms=1, cells=(),
            circuits=tuple(self.families), kinds=tuple(KINDS), options=4, difficulty=(0.0, 1.0),
            secret="",
        )  # fmt: skip
        rng = seed.under("pairs", wanted.number).rng()
        figure = rng.random() < FIGURE_SHARE
        for family, kind in self._pairs(wanted, rng):
            typed = figure and "number" in KINDS[kind].responses
            workshop = Workshop(plan, scenario, seed, "number" if typed else None)
            slot = Slot(wanted.number, family, kind, wanted.topic, wanted.level)
            found = workshop.candidates(slot, 1, list(self.lately)).items
            if found:
                self.lately.append(found[0])
                return self._question(wanted, found[0])
        raise UnprovableError(f"{wanted.topic}, {wanted.level}: no question could be proved")

    def _pairs(self, wanted: Wanted, rng: random.Random) -> Iterator[tuple[str, str]]:
        """Circuits and kinds in a drawn order, a different kind each time."""
        from quizgen.items.kinds import KINDS

        kinds = [name for name, kind in KINDS.items() if kind.level == wanted.level]
        rng.shuffle(kinds)
        families = [name for name, topics in self.families.items() if wanted.topic in topics]
        orders = {kind: rng.sample(families, len(families)) for kind in kinds}
        for turn in range(len(families)):
            yield from ((orders[kind][turn], kind) for kind in kinds)

    def _question(self, wanted: Wanted, item: Item) -> Question:
        from quizgen.diagram.terminal import draw_text
        from quizgen.forms.problem_set import Form
        from quizgen.publish.circuit_figures import drawn, figure_of, with_terminal
        from quizgen.publish.from_items import answer_key_of, workbook_of
        from quizgen.publish.view import Heading

        heading = Heading(college="", course="", title="")
        form = Form(code="", items=(item,))
        book = with_terminal(workbook_of(heading, form, figure_of), form.items)
        answer = answer_key_of(heading, [form]).forms[0].answers[0]
        drawing = draw_text(drawn(replace(item.origin, positions=(), fault=""))[0], NARROW)
        lists = (*drawing.parts, "", *drawing.wires)
        shown = shown_of(book.problems[0], lists, wanted.ascii_only)
        shown = replace(shown, number=wanted.number)
        return question_of(wanted.topic, item, shown, key_of(item, answer))


def main() -> None:
    """Answer requests until there are no more; about one circuit, if one is named."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the student's window
    bench = Bench(circuit=sys.argv[1] if len(sys.argv) > 1 else "")
    for line in sys.stdin.buffer:
        reply = bench.reply(msgspec.json.decode(line, type=Wanted))
        sys.stdout.buffer.write(msgspec.json.encode(reply) + b"\n")
        sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()
