"""A problem set as one QTI package: an item each, their figures, a test for each form."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

from quizgen.forms.problem_set import Form, ProblemSet
from quizgen.items.item import Item
from quizgen.publish.qti.dialect import Dialect, document, element
from quizgen.publish.qti.question import question
from quizgen.publish.view import Figure

MADE = (1980, 1, 1, 0, 0, 0)  # the least date a zip file knows: same input, same bytes
RIGHTS = 0o644 << 16


@dataclass(frozen=True)
class Resource:
    """A file of the package as its manifest lists it, with what it needs by identifier."""

    identifier: str
    kind: str
    path: str
    needs: tuple[str, ...] = ()


@dataclass
class _Files:
    """What has been put together so far."""

    content: dict[str, bytes] = field(default_factory=dict)
    resources: dict[str, Resource] = field(default_factory=dict)

    def add(self, resource: Resource, content: bytes) -> None:
        self.content[resource.path] = content
        self.resources[resource.identifier] = resource


def package_of(
    problem_set: ProblemSet, draw: Callable[[Item], Figure | None], dialect: Dialect,
    language: str = "en",
) -> bytes:  # fmt: skip
    """The package as a zip file. `draw` makes the figure of an item, of the sound circuit."""
    files = _Files()
    for form in problem_set.forms:
        needs = tuple(
            _add_item(files, form, number, item, draw(item), dialect, language)
            for number, item in enumerate(form.items, 1)
        )
        name = f"test-{form.code}"
        test = Resource(name, f"imsqti_test_{dialect.resource}", f"{name}.xml", needs)
        files.add(test, dialect.text_of(_test(problem_set, form, needs, files)))
    manifest = _manifest(problem_set, list(files.resources.values()), dialect)
    return _zipped({"imsmanifest.xml": manifest, **files.content})


def _add_item(
    files: _Files, form: Form, number: int, item: Item, figure: Figure | None, dialect: Dialect,
    language: str,
) -> str:  # fmt: skip
    """Puts an item and its figure among the files and returns the item's identifier."""
    identifier = f"item-{form.code}-{number:02}"
    needs: tuple[str, ...] = ()
    image = ""
    if figure is not None:
        svg = figure.svg.encode()
        name = f"figure-{hashlib.sha256(svg).hexdigest()[:16]}"
        files.add(Resource(name, "webcontent", f"figures/{name}.svg"), svg)
        needs, image = (name,), f"../figures/{name}.svg"
    title = f"Problem {number}, form {form.code}"
    root = question(item, identifier, title, figure, image, language)
    kind = f"imsqti_item_{dialect.resource}"
    resource = Resource(identifier, kind, f"items/{identifier}.xml", needs)
    files.add(resource, dialect.text_of(root))
    return identifier


def _test(problem_set: ProblemSet, form: Form, items: tuple[str, ...], files: _Files) -> Element:
    """One part, one section, every item of the form once; the score is the sum."""
    references = [
        element("assessmentItemRef", {"identifier": name, "href": files.resources[name].path})
        for name in items
    ]
    section = {"identifier": f"section-{form.code}", "title": problem_set.title, "visible": "true"}
    part = {
        "identifier": f"part-{form.code}",
        "navigationMode": "nonlinear",
        "submissionMode": "simultaneous",
    }
    score = {"identifier": "SCORE", "cardinality": "single", "baseType": "float"}
    total = element("sum", None, element("testVariables", {"variableIdentifier": "SCORE"}))
    return element(
        "assessmentTest",
        {"identifier": f"test-{form.code}", "title": f"{problem_set.title}, form {form.code}"},
        element("outcomeDeclaration", score),
        element("testPart", part, element("assessmentSection", section, *references)),
        element(
            "outcomeProcessing", None, element("setOutcomeValue", {"identifier": "SCORE"}, total)
        ),
    )


def _manifest(problem_set: ProblemSet, resources: list[Resource], dialect: Dialect) -> bytes:
    """The list of what the package holds."""
    listed = [
        element(
            "resource",
            {"identifier": r.identifier, "type": r.kind, "href": r.path},
            element("file", {"href": r.path}),
            *(element("dependency", {"identifierref": name}) for name in dict.fromkeys(r.needs)),
        )
        for r in resources
    ]
    about = element(
        "metadata", None,
        element("schema", None, dialect.schema),
        element("schemaversion", None, dialect.schema_version),
    )  # fmt: skip
    root = element(
        "manifest",
        {"xmlns": dialect.manifest, "identifier": f"set-{problem_set.token}"},
        about,
        element("organizations"),
        element("resources", None, *listed),
    )
    return document(root)


def _zipped(content: dict[str, bytes]) -> bytes:
    """The files as a zip that depends on nothing but them."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, data in content.items():
            info = zipfile.ZipInfo(path, MADE)
            info.compress_type, info.external_attr = zipfile.ZIP_DEFLATED, RIGHTS
            archive.writestr(info, data)
    return out.getvalue()
