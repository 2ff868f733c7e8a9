"""The plan of one problem set, as an instructor writes it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from quizgen.base.seeds import FEWEST_SECRET_BYTES
from quizgen.circuit.values import text, texts
from quizgen.circuit.yaml_reader import fail, read_file
from quizgen.scenario.reading import check_head, whole

MOST_FORMS = 26  # form codes are the letters A to Z
MOST_ITEMS = 60
_REQUIRED = ("name", "title", "scenario", "forms", "items", "circuits")


@dataclass(frozen=True)
class Plan:
    """What to build. `secret` decides every draw; who has it and the plan has the key.

    It is empty where the course keeps its secret in a file of its own.
    """

    name: str
    title: str
    week: str
    scenario: str
    forms: int
    items: int
    circuits: tuple[str, ...]
    secret: str

    @property
    def form_codes(self) -> tuple[str, ...]:
        """A, B, C and so on."""
        return tuple(chr(ord("A") + n) for n in range(self.forms))


def load_plan(path: Path) -> Plan:
    """Read a plan file. Raises InputError or FileError for what is wrong."""
    root = read_file(path)
    check_head(root, (*_REQUIRED, "week", "secret"), _REQUIRED)
    circuits = texts(root.entries["circuits"], {})
    if not circuits:
        fail(root.entries["circuits"], "there is no circuit family")
    if len(set(circuits)) < len(circuits):
        fail(root.entries["circuits"], "a circuit family is named twice")
    week = root.get("week")
    secret = root.get("secret")
    if secret and len(text(secret, {}).encode()) < FEWEST_SECRET_BYTES:
        fail(secret, f"a secret of fewer than {FEWEST_SECRET_BYTES} characters can be guessed")
    return Plan(
        name=text(root.entries["name"], {}),
        title=text(root.entries["title"], {}),
        week=text(week, {}) if week else "",
        scenario=text(root.entries["scenario"], {}),
        forms=whole(root.entries["forms"], 1, MOST_FORMS),
        items=whole(root.entries["items"], 1, MOST_ITEMS),
        circuits=circuits,
        secret=text(secret, {}) if secret else "",
    )
