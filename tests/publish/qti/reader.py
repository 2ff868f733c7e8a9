"""A reader of QTI packages that shares nothing with the writer: what a program on the other side
would make of one. Names are those of the standard; 3.0 is read by taking its prefix off.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

Answer = str | list[str]


def plain(tag: str) -> str:
    """`{ns}qti-response-if` and `responseIf` are both `responseif`."""
    return re.sub(r"^qti-", "", tag.rpartition("}")[2]).replace("-", "").lower()


def attribute(element: Element, name: str) -> str:
    """By its name in lower case without hyphens."""
    return next((v for k, v in element.items() if plain(k) == name), "")


def all_of(element: Element, tag: str) -> list[Element]:
    """Every descendant of that name, in the order of the document."""
    return [e for e in element.iter() if plain(e.tag) == tag]


def text(element: Element) -> str:
    """All text inside, spaces made one."""
    return " ".join("".join(element.itertext()).split())


def number(value: object) -> float:
    """A response as a number."""
    return float(str(value))


def flat(values: list[object]) -> list[object]:
    """Containers opened."""
    return [v for value in values for v in (value if isinstance(value, list) else [value])]


FUNCTIONS: dict[str, Callable[[list[object]], object]] = {
    "match": lambda inside: inside[0] == inside[1],
    "and": all,
    "gte": lambda inside: number(inside[0]) >= number(inside[1]),
    "lte": lambda inside: number(inside[0]) <= number(inside[1]),
    "multiple": flat,
}


@dataclass
class Question:
    """An item as it was read."""

    root: Element

    @property
    def body(self) -> Element:
        """What a candidate sees."""
        return all_of(self.root, "itembody")[0]

    @property
    def choices(self) -> dict[str, str]:
        """Identifier → text."""
        return {attribute(e, "identifier"): text(e) for e in all_of(self.body, "simplechoice")}

    @property
    def keys(self) -> list[str]:
        """The values of the correct response."""
        right = all_of(self.root, "correctresponse")[0]
        return [text(e) for e in all_of(right, "value")]

    @property
    def feedback(self) -> dict[str, str]:
        """Identifier → what is said."""
        found = all_of(self.root, "modalfeedback")
        assert {attribute(e, "outcomeidentifier") for e in found} <= {"FEEDBACK"}
        return {attribute(e, "identifier"): text(e) for e in found}

    def outcome(self, answer: Answer) -> tuple[float, list[str]]:
        """Score and the feedback shown for an answer, by running the response processing."""
        values: dict[str, object] = {"RESPONSE": answer, "SCORE": 0.0, "FEEDBACK": []}
        for rule in all_of(self.root, "responseprocessing")[0]:
            self._run(rule, values)
        score, shown = values["SCORE"], values["FEEDBACK"]
        assert isinstance(score, float)
        assert isinstance(shown, list)
        return score, [self.feedback[name] for name in shown if name in self.feedback]

    def _run(self, rule: Element, values: dict[str, object]) -> None:
        if plain(rule.tag) == "responsecondition":
            test, *rules = list(rule[0])
            if self._value(test, values):
                for inner in rules:
                    self._run(inner, values)
        else:
            assert plain(rule.tag) == "setoutcomevalue"
            values[attribute(rule, "identifier")] = self._value(rule[0], values)

    def _value(self, e: Element, values: dict[str, object]) -> object:
        inside = [self._value(child, values) for child in e]
        match plain(e.tag):
            case "variable":
                return values[attribute(e, "identifier")]
            case "correct":
                many = attribute(all_of(self.root, "responsedeclaration")[0], "cardinality")
                return self.keys if many != "single" else self.keys[0]
            case "basevalue":
                return float(text(e)) if attribute(e, "basetype") == "float" else text(e)
            case "mapresponse":
                return self._mapped(values["RESPONSE"])
            case name:
                return FUNCTIONS[name](inside)  # KeyError: no rule is passed over

    def _mapped(self, answer: object) -> float:
        assert isinstance(answer, list)
        mapping = all_of(self.root, "mapping")[0]
        worth = {
            attribute(e, "mapkey"): float(attribute(e, "mappedvalue"))
            for e in all_of(mapping, "mapentry")
        }
        total = 0.0 + sum(worth[letter] for letter in answer)
        low, high = (float(attribute(mapping, n)) for n in ("lowerbound", "upperbound"))
        return min(max(total, low), high)


@dataclass
class Package:
    """A package as it was read: manifest, and the files by their path."""

    manifest: Element
    files: dict[str, bytes]

    @property
    def resources(self) -> dict[str, Element]:
        """Identifier → resource."""
        return {attribute(e, "identifier"): e for e in all_of(self.manifest, "resource")}

    def test(self, form: str) -> list[Question]:
        """The items of a form's test, in its order."""
        root = ElementTree.fromstring(self.files[f"test-{form}.xml"])
        found = [attribute(e, "href") for e in all_of(root, "assessmentitemref")]
        return [Question(ElementTree.fromstring(self.files[path])) for path in found]


def read(data: bytes) -> Package:
    """The package in a zip file."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        files = {name: archive.read(name) for name in archive.namelist()}
    return Package(ElementTree.fromstring(files["imsmanifest.xml"]), files)
