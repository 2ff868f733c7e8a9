"""Two versions of QTI. Everything is written in the names of 2.1; 3.0 renames what is not HTML.

Sources: the examples of the 1EdTech repository qti-examples for 3.0 (namespaces, kebab-case,
resource types); the schema of 2.1 for its namespace. Names of the 2.1 manifest, and that feedback
of 3.0 has a content body: from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element, indent, tostring

HTML = frozenset({"p", "div", "img", "table", "caption", "thead", "tbody", "tr", "th", "td"})
LANGUAGE = "xml:lang"
_CAPITAL = re.compile(r"(?<=[a-z])[A-Z]")
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True)
class Dialect:
    """What one version calls things. `kebab` names elements `qti-assessment-item`."""

    version: str
    namespace: str
    manifest: str  # namespace
    schema: str  # as the manifest states it
    schema_version: str
    resource: str  # ending of resource types
    kebab: bool

    def text_of(self, root: Element) -> bytes:
        """A document in the names of this version, as UTF-8 XML."""
        named = self._renamed(root)
        named.set("xmlns", self.namespace)
        return document(named)

    def _renamed(self, element: Element) -> Element:
        qti = self.kebab and element.tag not in HTML
        attributes = {_kebab(k) if qti else k: v for k, v in element.items()}
        found = Element(f"qti-{_kebab(element.tag)}" if qti else element.tag, attributes)
        found.text, found.tail = element.text, element.tail
        inside = [self._renamed(child) for child in element]
        if self.kebab and element.tag == "modalFeedback":
            body = Element("qti-content-body")
            body.extend(inside)
            inside = [body]
        found.extend(inside)
        return found


DIALECTS = {
    d.version: d
    for d in (
        Dialect(
            version="2.1",
            namespace="http://www.imsglobal.org/xsd/imsqti_v2p1",
            manifest="http://www.imsglobal.org/xsd/imscp_v1p1",
            schema="QTIv2.1 Package",
            schema_version="1.0.0",
            resource="xmlv2p1",
            kebab=False,
        ),
        Dialect(
            version="3.0",
            namespace="http://www.imsglobal.org/xsd/imsqtiasi_v3p0",
            manifest="http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1",
            schema="QTI Package",
            schema_version="3.0.0",
            resource="xmlv3p0",
            kebab=True,
        ),
    )
}


def element(tag: str, attributes: dict[str, str] | None = None, *inside: Element | str) -> Element:
    """An element with text, or with elements, inside."""
    found = Element(tag, {k: clean(v) for k, v in (attributes or {}).items()})
    for piece in inside:
        if isinstance(piece, str):
            found.text = (found.text or "") + clean(piece)
        else:
            found.append(piece)
    return found


def paragraphs(texts: Iterator[str] | tuple[str, ...]) -> list[Element]:
    """One paragraph for each text that is not empty."""
    return [element("p", None, text) for text in texts if text]


def document(root: Element) -> bytes:
    """`root` as an XML file, indented, the same bytes for the same content."""
    if not any(child.tail for child in root.iter()):
        indent(root)
    text: str = tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def clean(text: str) -> str:
    """`text` without the characters that XML 1.0 has no place for (section 2.2)."""
    return _FORBIDDEN.sub("", text)


def _kebab(name: str) -> str:
    """`responseIdentifier` → `response-identifier`; `xml:lang` stays."""
    return _CAPITAL.sub(lambda letter: f"-{letter.group()}", name).lower()
