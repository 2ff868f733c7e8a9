"""Whether a set is the one that was graded: it is known by its questions and printed keys.

More students, or fields that an older program did not know, do not make it another.
"""

from __future__ import annotations

import hashlib

import msgspec

from quizgen.base.errors import InputError
from quizgen.forms.problem_set import ProblemSet
from quizgen.grading.keys import printed_key


def questions_digest(problem_set: ProblemSet) -> str:
    """SHA-256 of what answers refer to: every question with its options and its printed key."""
    content = []
    for form in problem_set.forms:
        for number, item in enumerate(form.items, 1):
            key = printed_key(form.code, number, item)
            options = [option.text for option in item.options]
            content.append((
                form.code, item.id, item.stem, item.question, options, key.accepted, key.ranges,
            ))  # fmt: skip
    return hashlib.sha256(msgspec.json.encode(content)).hexdigest()


def check_digest(problem_set: ProblemSet, held: str) -> None:
    """Raises InputError when the store holds answers to other questions under the same name."""
    if held != questions_digest(problem_set):
        raise InputError(
            f"{problem_set.name}: the store has answers to another version of this set; use the "
            "file that the class's sheets were printed from, or another store"
        )
