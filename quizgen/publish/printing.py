"""The documents of a set as jobs that do not need each other: a form, the key, the sheets.

A job is a plain record, and its documents are bytes: whoever asked for them writes the files.
So a job may be done by another process, or on a machine that cannot see the folder.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from quizgen.base.seeds import Seed
from quizgen.forms.problem_set import Form
from quizgen.forms.sheet import Sheet
from quizgen.forms.slots import Slot
from quizgen.publish.circuit_figures import figure_of, marked_of, with_terminal
from quizgen.publish.documents import key_bytes, sheets_bytes, workbook_bytes
from quizgen.publish.from_items import answer_key_of, workbook_of
from quizgen.publish.pack import pack_bytes, seal_pack
from quizgen.publish.page_options import PageOptions
from quizgen.publish.sheet_svg import Bearer
from quizgen.publish.view import Heading


@dataclass(frozen=True)
class Document:
    """A file to be: its name, which ends in what it is, and its bytes."""

    name: str
    content: bytes


class PrintJob(Protocol):
    """Some documents of a set called `name`."""

    def documents(self) -> Iterator[Document]:
        """Set them. Raises OutsideError (Pango, fonts)."""


@dataclass(frozen=True)
class FormJob:
    """The workbook of a form as PDF and HTML, and its pack for the student with the id `owner`.

    `seed` seals the pack of the set that is known as `token`.
    """

    name: str
    heading: Heading
    form: Form
    pages: PageOptions
    token: str
    owner: str
    seed: Seed

    def documents(self) -> Iterator[Document]:
        """See `PrintJob`."""
        stem = f"{self.name}-{self.form.code}"
        book = workbook_of(self.heading, self.form, figure_of, self.form.student)
        for kind in ("pdf", "html"):
            yield Document(f"{stem}.workbook.{kind}", workbook_bytes(book, kind, self.pages))
        book = with_terminal(book, self.form.items)
        pack = seal_pack(book, self.token, self.owner, self.seed)
        yield Document(f"{stem}.pack.json", pack_bytes(pack))


@dataclass(frozen=True)
class KeyJob:
    """The key of all forms as PDF and HTML."""

    name: str
    heading: Heading
    forms: tuple[Form, ...]
    slots: tuple[Slot, ...]
    pages: PageOptions

    def documents(self) -> Iterator[Document]:
        """See `PrintJob`."""
        key = answer_key_of(self.heading, self.forms, marked_of, self.slots)
        for kind in ("pdf", "html"):
            yield Document(f"{self.name}.key.{kind}", key_bytes(key, kind, self.pages))


@dataclass(frozen=True)
class SheetsJob:
    """The answer sheets of a class, one PDF."""

    name: str
    heading: Heading
    sheets: tuple[tuple[Sheet, Bearer], ...]

    def documents(self) -> Iterator[Document]:
        """See `PrintJob`."""
        yield Document(f"{self.name}.sheets.pdf", sheets_bytes(self.heading, self.sheets))


def print_job(job: PrintJob) -> tuple[Document, ...]:
    """The documents of a job, for a `Runner`."""
    return tuple(job.documents())
