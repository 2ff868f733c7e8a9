"""A chain of sums over records in a row, so that a change to any of them shows.

The sum of a record is the SHA-256 (FIPS 180-4) of the sum before it and of the record as JSON. The
chain has no secret: it shows careless edits, not those of somebody who computes it anew.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping

START = "0" * 64  # what the first record follows on


def linked(before: str, record: Mapping[str, str]) -> str:
    """The sum of `record` behind a record whose sum is `before`, in hexadecimal."""
    text = before + json.dumps(dict(record), sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def sum_of(records: Iterable[Mapping[str, str]]) -> str:
    """The sum of the last of `records`; `START` without any."""
    last = START
    for record in records:
        last = linked(last, record)
    return last
