"""Chance that can be repeated by whoever holds the course secret, and by nobody else.

Every random decision hangs on a label under the secret (HMAC-SHA-256), so the same secret and
plan give the same problem set, and nothing printed for students leads back to it.
"""

from __future__ import annotations

import hashlib
import hmac
import random
from dataclasses import dataclass
from pathlib import Path

from quizgen.base.errors import InputError

FEWEST_SECRET_BYTES = 16


def read_secret(path: Path) -> bytes:
    """The course secret in a file, without white space around it.

    Raises InputError when the file cannot be read or holds too little to be a secret.
    """
    try:
        secret = path.read_bytes().strip()
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None
    if len(secret) < FEWEST_SECRET_BYTES:
        raise InputError(
            f"{path}: a secret of fewer than {FEWEST_SECRET_BYTES} characters can be guessed; "
            "put a line of random letters into the file"
        )
    return secret


@dataclass(frozen=True)
class Seed:
    """A secret and a path of labels below it."""

    secret: bytes
    path: tuple[str, ...] = ()

    def under(self, *labels: object) -> Seed:
        """The seed for a sub-task."""
        return Seed(self.secret, (*self.path, *(str(label) for label in labels)))

    def rng(self) -> random.Random:
        """A generator of its own for this path."""
        return random.Random(int.from_bytes(self._digest(b"rng"), "big"))

    def token(self, characters: int = 8) -> str:
        """A short public name for this path, in hexadecimal; tells nothing about `rng`."""
        return self._digest(b"token").hex()[:characters]

    def seal(self, content: bytes) -> str:
        """HMAC-SHA-256 of `content` under this path, in hexadecimal: proof of who made it."""
        return hmac.new(self._digest(b"seal"), content, hashlib.sha256).hexdigest()

    def _digest(self, purpose: bytes) -> bytes:
        # each label goes in with its length, so that no two paths read the same
        text = b"".join(len(p.encode()).to_bytes(4, "big") + p.encode() for p in self.path)
        return hmac.new(self.secret, purpose + b":" + text, hashlib.sha256).digest()
