"""A small safe part of YAML, with the line and the field path of every value.

Templates and scenarios are written by hand by people who are no programmers. What surprises them
in YAML is left out: anchors, aliases, tags, merge keys, several documents, `on` and `yes`
as truth values, `1:30` as ninety minutes, a key given twice. Mapping keys are text.

The text is read as a stream of events, so depth, size and aliases are refused before
anything is built; no file can make the reader slow or large.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count
from math import inf, isinf
from pathlib import Path
from typing import NoReturn

import yaml

from quizgen.base.errors import FileError, InputError, Place
from quizgen.base.suggest import shown

MAX_BYTES = 256 * 1024
MAX_DEPTH = 12
MAX_VALUES = 10_000
MAX_KEY = 60

Literal = bool | int | float | str

_LOADER = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader
_INTEGER = re.compile(r"[-+]?[0-9]{1,30}\Z")
_DECIMAL = re.compile(r"[-+]?([0-9]{1,30}\.?[0-9]{0,30}|\.[0-9]{1,30})([eE][-+]?[0-9]{1,4})?\Z")
_HINTS = (
    # the parser's words -> what a person who is no programmer can do about it
    (
        "cannot start any token",
        "; indent with spaces, not tabs; quote a text that begins with a sign",
    ),
    ("mapping values are not allowed", "; put a text with ': ' in it in quotes"),
    ("could not find expected ':'", "; a field needs ': ' behind its name"),
    ("block end", "; check the indentation and the quotes"),
    ("did not find expected key", "; check the indentation and the quotes"),
    ("',' or", "; a comma, a brace or a bracket is missing"),
)
_INFINITE = re.compile(r"([-+]?)\.?inf\Z", re.IGNORECASE)


@dataclass(frozen=True)
class Scalar:
    """One value as written. `plain` is false when it stood in quotes."""

    place: Place
    text: str
    plain: bool = True

    @property
    def is_expression(self) -> bool:
        """True for a text that begins with "="."""
        return self.text.startswith("=")


@dataclass(frozen=True)
class Listing:
    """A YAML sequence."""

    place: Place
    items: tuple[Tree, ...]


@dataclass(frozen=True)
class Table:
    """A YAML mapping, in the order of the file."""

    place: Place
    entries: dict[str, Tree]

    def get(self, key: str) -> Tree | None:
        """The value of `key`, None when it is not there."""
        return self.entries.get(key)


Tree = Scalar | Listing | Table


def fail(tree: Tree, problem: str) -> NoReturn:
    """Raise FileError at the place of `tree`."""
    raise FileError(tree.place, problem)


def found(tree: Tree) -> str:
    """What stands there, for the end of an error message.

    >>> found(Scalar(Place("a", 1), "12"))
    "found '12'"
    """
    match tree:
        case Scalar(text="", plain=True):
            return "found nothing"
        case Scalar():
            return f"found {shown(tree.text)}"
        case Listing():
            return "found a list"
        case Table():
            return "found a mapping"


def written(tree: Tree) -> int:
    """How many characters the values in `tree` have."""
    match tree:
        case Scalar():
            return len(tree.text)
        case Listing():
            return sum(written(item) for item in tree.items)
        case Table():
            return sum(written(value) for value in tree.entries.values())


def read_number(text: str) -> int | float | None:
    """The number that `text` writes, None when it is no number. `inf` is one, NaN is not.

    >>> [read_number(t) for t in ("12", "0.5", "1e3", "inf", "12 V", "nan", "1e999")]
    [12, 0.5, 1000.0, inf, None, None, None]
    """
    if _INTEGER.match(text):
        return int(text)
    if _DECIMAL.match(text):
        value = float(text)
        return None if isinf(value) else value
    infinite = _INFINITE.match(text)
    if infinite:
        return -inf if infinite[1] == "-" else inf
    return None


def literal(scalar: Scalar) -> Literal:
    """The value of a scalar: true and false, numbers, else text. Quotes make text.

    Raises FileError when nothing is written there.
    """
    if not scalar.plain:
        return scalar.text
    if scalar.text in ("", "~", "null"):
        fail(scalar, "expected a value, found nothing")
    if scalar.text in ("true", "false"):
        return scalar.text == "true"
    number = read_number(scalar.text)
    return scalar.text if number is None else number


def read_file(path: Path) -> Table:
    """The mapping that the YAML file at `path` holds.

    Raises InputError when the file cannot be read as text, FileError when its text is wrong.
    """
    try:
        if path.is_dir():
            raise InputError(f"{path}: this is a folder; name a file in it")
        if not path.exists():
            raise InputError(f"{path}: no such file")
        if not path.is_file():
            raise InputError(f"{path}: not a file with text in it")
        with path.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror or error}") from None
    except ValueError:  # a NUL character in the name
        raise InputError(f"{shown(str(path))}: not a possible file name") from None
    return parse(_decoded(raw, path), path)


def _decoded(raw: bytes, path: Path) -> str:
    if len(raw) > MAX_BYTES:
        raise InputError(f"{path}: larger than {MAX_BYTES // 1024} kB; such a file is a short text")
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(f"{path}: saved as UTF-16; save the file as UTF-8 text")
    if b"\0" in raw:
        raise InputError(f"{path}: not a text file")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise FileError(Place(path, line), "not UTF-8; save the file as UTF-8 text") from None


def parse(text: str, file: Path | str) -> Table:
    """The mapping written in `text`. Raises FileError, naming `file`, when it is wrong."""
    top = _Reader(text, file).document()
    if isinstance(top, Table):
        return top
    if isinstance(top, Scalar) and not top.text:
        fail(top, "the file is empty")
    fail(top, f"expected fields such as 'format: 1', {found(top)}")


class _Reader:
    """Turns the event stream of the YAML parser into a tree."""

    def __init__(self, text: str, file: Path | str) -> None:
        self.file = file
        self.events: Iterator[yaml.Event] = yaml.parse(text, Loader=_LOADER)
        self.values = 0

    def document(self) -> Tree:
        """The one document of the file."""
        self.next()  # the start of the stream
        event = self.next()
        if isinstance(event, yaml.StreamEndEvent):
            return Scalar(Place(self.file, 1), "")
        tree = self.tree(self.next(), "", 0)
        self.next()  # the end of the document
        event = self.next()
        if not isinstance(event, yaml.StreamEndEvent):
            raise FileError(self.place(event, ""), "a second document ('---'); one is expected")
        return tree

    def next(self) -> yaml.Event:
        """The next event; the parser's own errors become FileErrors."""
        try:
            return next(self.events)
        except yaml.MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            line = mark.line + 1 if mark else 1
            problem = " ".join(f"not readable as YAML: {error.problem or error.context}".split())
            hint = next((hint for words, hint in _HINTS if words in problem), "")
            raise FileError(Place(self.file, line), problem + hint) from None
        except yaml.YAMLError as error:  # a character that YAML does not allow
            problem = " ".join(str(error).split())
            raise FileError(Place(self.file, 1), f"not readable as YAML: {problem}") from None

    def place(self, event: yaml.Event, field: str) -> Place:
        """Where `event` begins."""
        mark = event.start_mark
        return Place(self.file, mark.line + 1 if mark else 1, field)

    def tree(self, event: yaml.Event, field: str, depth: int, line: int = 0) -> Tree:
        """The value that begins with `event`; `line` is that of its field name, if it has one."""
        place = Place(self.file, line, field) if line else self.place(event, field)
        self.refuse_surprises(event, place, depth)
        match event:
            case yaml.ScalarEvent():
                return Scalar(place, event.value, not event.style)
            case yaml.SequenceStartEvent():
                return Listing(place, tuple(self.items(field, depth)))
            case _:
                return Table(place, self.entries(field, depth))

    def refuse_surprises(self, event: yaml.Event, place: Place, depth: int) -> None:
        """Raise FileError for what this reader leaves out of YAML."""
        self.values += 1
        if self.values > MAX_VALUES:
            raise FileError(place, f"more than {MAX_VALUES} values in one file")
        if depth > MAX_DEPTH:
            raise FileError(place, f"nested more than {MAX_DEPTH} deep")
        if isinstance(event, yaml.AliasEvent):
            raise FileError(place, "aliases (*name) are not used here; write the value again")
        if getattr(event, "anchor", None) is not None:
            raise FileError(place, "anchors (&name) are not used here; put the text in quotes")
        if getattr(event, "tag", None) is not None:
            raise FileError(place, "tags (!name) are not used here; put the text in quotes")

    def items(self, field: str, depth: int) -> Iterator[Tree]:
        """The items of the sequence just begun; paths count them from 1."""
        for number in count(1):
            if isinstance(event := self.next(), yaml.SequenceEndEvent):
                return
            yield self.tree(event, f"{field}[{number}]", depth + 1)

    def entries(self, field: str, depth: int) -> dict[str, Tree]:
        """The entries of the mapping just begun."""
        entries: dict[str, Tree] = {}
        while not isinstance(event := self.next(), yaml.MappingEndEvent):
            place = self.place(event, field)
            self.refuse_surprises(event, place, depth + 1)
            if not isinstance(event, yaml.ScalarEvent):
                raise FileError(place, "a field name must be one word, not a list or a mapping")
            key = event.value
            if not key or not key.isprintable() or len(key) > MAX_KEY:
                raise FileError(place, f"{shown(key)} cannot be a field name")
            if key in entries:
                raise FileError(place, f"{key} is given twice; remove one")
            path = f"{field}.{key}" if field else key
            entries[key] = self.tree(self.next(), path, depth + 1, place.line)
        return entries
