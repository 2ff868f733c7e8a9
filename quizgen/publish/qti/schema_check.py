"""A package held against an XML schema that the user has a copy of.

The schemas of QTI may be used by anybody but not passed on without registering, so none ships.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

from quizgen.base.errors import InputError, OutsideError


def check_schema(package: bytes, schema: Path, namespace: str) -> Iterator[str]:
    """A line for everything in the package's files of `namespace` that the schema does not allow.

    Nothing is fetched from a network: what the schema imports has to lie beside it. Raises
    InputError for a schema that cannot be read, OutsideError where lxml is not installed.
    """
    try:
        from lxml import etree  # noqa: PLC0415
    except ImportError:
        raise OutsideError(
            "checking against a schema needs lxml; pip install 'quizgen[schema]'"
        ) from None
    parser = etree.XMLParser(no_network=True, resolve_entities=False)
    try:
        rules = etree.XMLSchema(etree.parse(str(schema), parser))
    except (OSError, etree.LxmlError) as error:
        reason = str(error).splitlines()[0]
        raise InputError(f"{schema}: is no XML schema that can be used: {reason}") from None
    with zipfile.ZipFile(io.BytesIO(package)) as archive:
        for name in archive.namelist():
            if not name.endswith(".xml"):
                continue
            root = etree.fromstring(archive.read(name), parser)
            if etree.QName(root).namespace == namespace and not rules.validate(root):
                for found in rules.error_log:
                    yield f"{name}, line {found.line}: {found.message}"
