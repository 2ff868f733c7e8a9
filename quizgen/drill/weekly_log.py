"""Where the answers to a set are kept while a student works on it: every step, at once.

The file is an action log (`quizgen/drill/action_log.py`): first which pack and who, then every
answer with its time. What is handed in is made from it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from quizgen.base.errors import InputError, OutsideError
from quizgen.drill.action_log import append_action, read_actions
from quizgen.drill.home import make_private
from quizgen.drill.words import say
from quizgen.forms.handed_in import HandedIn, Step, answers_after, hand_in

FOLDER = "sets"


@dataclass(frozen=True, kw_only=True)
class Pack:
    """Which set is answered, and by whom: its public name, the form, its checksum, an id."""

    token: str
    form: str
    checksum: str
    student: str

    @property
    def name(self) -> str:
        """Safe as the name of a file, whatever the pack and the id of the student hold."""
        token, form = ("".join(c for c in t if c.isalnum())[:40] for t in (self.token, self.form))
        plain = "".join(c for c in self.student if c.isascii() and (c.isalnum() or c in "-_"))
        if plain != self.student or len(plain) > 40:
            plain = f"{plain[:20]}-{hashlib.sha256(self.student.encode()).hexdigest()[:8]}"
        return f"{token}-{form}-{plain}"


@dataclass(frozen=True)
class WeeklyLog:
    """The log of one pack. Raises FileError where the file was altered, OutsideError for a disk
    that fails."""

    path: Path
    pack: Pack

    def answers(self) -> Mapping[int, str]:
        """The answers so far, by number."""
        return answers_after(self._steps())

    def put(self, number: int, answer: str, at: datetime) -> None:
        """Keep an answer; it is on the disk when this returns."""
        self._append(
            {
                "do": "answer", "number": str(number), "answer": answer,
                "at": at.astimezone(UTC).isoformat(timespec="seconds"),
            }
        )  # fmt: skip

    def handed_in(self) -> HandedIn:
        """What the student hands in after all steps so far."""
        p = self.pack
        return hand_in(
            token=p.token, form=p.form, student=p.student, pack=p.checksum, steps=self._steps()
        )

    def _steps(self) -> tuple[Step, ...]:
        return tuple(
            Step(at=action["at"], number=int(action["number"]), answer=action["answer"])
            for action in read_actions(self.path)
            if action["do"] == "answer"
        )

    def _append(self, action: Mapping[str, str]) -> None:
        try:
            append_action(self.path, action)
        except OSError as error:
            raise OutsideError(
                f"{self.path}: cannot be written ({error.strerror or error})"
            ) from None


def open_log(folder: Path, pack: Pack) -> WeeklyLog:
    """The log of a pack in a student's folder, begun if there is none.

    Raises InputError when it was begun for another version of the pack, FileError when it was
    altered, OutsideError when it cannot be written.
    """
    path = make_private(folder, FOLDER) / f"{pack.name}.jsonl"
    log = WeeklyLog(path, pack)
    begun = read_actions(path)[:1] if path.exists() else ()
    if not begun:
        log._append({"do": "begin", "pack": pack.checksum, "student": pack.student})
    elif begun[0].get("pack") != pack.checksum:
        raise InputError(say("pack_other_version", path=path))
    return log
