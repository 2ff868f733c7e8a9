"""Making many small records at once.

Python looks through all records for circles that nothing leads to, again and again while more are
made. The records of this program have none, and looking takes longer than making them.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def no_collecting() -> Iterator[None]:
    """Leave circles alone for as long as this lasts; what nothing leads to goes at once anyway."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()
