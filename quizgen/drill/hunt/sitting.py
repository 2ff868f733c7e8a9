"""A hunt with its log: every act is on the disk before its outcome is told.

The log begins with the label and the wishes, from which the case is drawn again; it does not say
what the fault is. Each act is kept with what it showed, so that a replay which comes to something
else, as after a change of the program, is noticed and not passed over.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from quizgen.base.errors import FileError, InputError, Place
from quizgen.drill.action_log import append_action, read_actions
from quizgen.drill.hunt.case import Case, Wish, draw_case
from quizgen.drill.hunt.engine import Act, Hunt, Outcome, act, begin
from quizgen.scenario.scenario import Scenario, find_scenario

FORMAT = "1"
BEGIN = "begin"


class Sitting:
    """The one mutable thing of a hunt: which record is the present one, and where it is logged."""

    def __init__(self, log: Path, case: Case, hunt: Hunt) -> None:
        self.log = log
        self.case = case
        self.hunt = hunt

    @classmethod
    def start(cls, log: Path, wish: Wish, scenario: Scenario, scenario_name: str) -> Sitting:
        """A new hunt, logged in a file that does not exist yet. Raises as `draw_case`; OSError."""
        case = draw_case(wish, scenario)
        hunt = begin(case)
        log.parent.mkdir(parents=True, exist_ok=True)
        head = {
            "do": BEGIN, "format": FORMAT, "scenario": scenario_name, "label": wish.label,
            "circuit": wish.circuit, "topic": wish.topic, "level": wish.level,
        }  # fmt: skip
        append_action(log, head)
        return cls(log, case, hunt)

    @classmethod
    def resume(cls, log: Path) -> Sitting:
        """The hunt as far as the log goes.

        Raises FileError for a log that was altered, is no hunt's or gives something else now;
        OSError.
        """
        actions = read_actions(log)
        if not actions or actions[0].get("do") != BEGIN or actions[0].get("format") != FORMAT:
            raise FileError(Place(log, 1), "this is no log of a hunt; name another file")
        wish, scenario = _wish(actions[0]), find_scenario(actions[0].get("scenario", ""))
        try:
            case = draw_case(wish, scenario)
        except InputError as error:
            raise FileError(Place(log, 1), f"{error}; start a new hunt") from None
        sitting = cls(log, case, begin(case))
        sitting.catch_up()
        return sitting

    def catch_up(self) -> None:
        """Do the acts that are in the log and not in the hunt. Raises as `resume`."""
        known = 1 + len(self.hunt.taken)
        for number, action in enumerate(read_actions(self.log)[known:], known + 1):
            if self._again(action) != action.get("came"):
                raise FileError(
                    Place(self.log, number),
                    "another version of the program or of a circuit wrote this; start a new hunt",
                )

    def do(self, done: Act) -> Outcome:
        """One act, on the disk before this returns. Raises as `act`; OSError."""
        after, outcome = act(self.hunt, done)
        words = json.dumps(done.args)
        append_action(self.log, {"do": done.do, "args": words, "came": outcome.record})
        self.hunt = after
        return outcome

    def _again(self, action: Mapping[str, str]) -> str | None:
        """What an act of the log comes to now, None if it cannot be done."""
        try:
            words = json.loads(action.get("args", ""))
            self.hunt, outcome = act(self.hunt, Act(action.get("do", ""), tuple(map(str, words))))
        except (InputError, ValueError, TypeError):
            return None
        return outcome.record


def _wish(head: Mapping[str, str]) -> Wish:
    names = ("label", "circuit", "topic", "level")
    return Wish(**{name: head.get(name, "") for name in names})
