"""The log of a hunt: nothing lost, nothing told, edits noticed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from quizgen.base.errors import FileError, InputError
from quizgen.drill.hunt.case import Wish
from quizgen.drill.hunt.engine import Act
from quizgen.drill.hunt.sitting import Sitting
from quizgen.scenario.scenario import find_scenario

SCENARIO = "brindlemere"
CIRCUIT = Path(__file__).parents[2] / "cases" / "items" / "relay-contact.yaml"
WISH = Wish(label="log", circuit=str(CIRCUIT))  # a small one: it is drawn often
ACTS = (
    Act("watch"),
    Act("measure", ("voltmeter", "GB1.+", "chassis")),
    Act("measure", ("fused-jumper", "GB1.+", "chassis")),
    Act("turn", ("S1", "off")),
    Act("note", ("fuse? or \tits holder", )),
    Act("unplug", ("GB1",)),
)  # fmt: skip


def started(log: Path) -> Sitting:
    return Sitting.start(log, WISH, find_scenario(SCENARIO), SCENARIO)


def test_a_hunt_goes_on_where_its_log_ends(tmp_path: Path) -> None:
    """The log gives the same hunt again, minutes, unsafe acts and all, and so once more later."""
    sitting = started(tmp_path / "a.jsonl")
    for half in (ACTS[:3], ACTS[3:]):
        for done in half:
            sitting.do(done)
        again = Sitting.resume(sitting.log)
        assert again.hunt == sitting.hunt
        sitting = again
    assert sitting.hunt.standing.unsafe == 1


def test_an_act_that_cannot_be_done_leaves_no_trace(tmp_path: Path) -> None:
    """Neither the hunt nor its log changes."""
    sitting = started(tmp_path / "a.jsonl")
    hunt, text = sitting.hunt, sitting.log.read_text()
    with pytest.raises(InputError):
        sitting.do(Act("apart", ("nothing",)))
    assert sitting.hunt is hunt
    assert sitting.log.read_text() == text


def test_the_log_does_not_say_what_is_wrong(tmp_path: Path) -> None:
    """The part at fault is not named in what is written before anybody measures."""
    sitting = started(tmp_path / "a.jsonl")
    text = sitting.log.read_text()
    fault = sitting.case.fault
    assert fault.part not in text
    assert fault.mode not in text


def test_a_log_that_gives_something_else_now_is_noticed(tmp_path: Path) -> None:
    """A log whose recorded reading is not what the circuit shows is refused, with its line."""
    from quizgen.drill.action_log import append_action

    sitting = started(tmp_path / "a.jsonl")
    append_action(sitting.log, {"do": "watch", "args": "", "came": "0.2 min; M1 flies"})
    with pytest.raises(FileError, match="line 2: another version"):
        Sitting.resume(sitting.log)


def test_another_file_is_no_log_of_a_hunt(tmp_path: Path) -> None:
    """A file of something else is named in one line."""
    other = tmp_path / "b.jsonl"
    other.write_text("")
    with pytest.raises(FileError, match="no log of a hunt"):
        Sitting.resume(other)


PLAYER = """
import sys
from pathlib import Path
from quizgen.drill.hunt.engine import Act
from quizgen.drill.hunt.sitting import Sitting
sitting = Sitting.resume(Path(sys.argv[1]))
for number in range(len(sitting.hunt.taken), 10_000):
    sitting.do(Act("watch"))
    print(number, flush=True)
"""


def test_a_killed_process_loses_nothing_that_it_has_told(tmp_path: Path) -> None:
    """Whatever was told before SIGKILL is in the log, and the log goes on from there."""
    sitting = started(tmp_path / "a.jsonl")
    process = subprocess.Popen(
        [sys.executable, "-c", PLAYER, str(sitting.log)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    told = [process.stdout.readline() for _ in range(4)]
    os.kill(process.pid, signal.SIGKILL)
    told += process.stdout.readlines()
    process.wait()
    process.stdout.close()
    again = Sitting.resume(sitting.log)
    assert len(again.hunt.taken) >= int(told[-1]) + 1
    again.do(Act("watch"))
