"""The hand-made documents of `samples.py`, and pages read back."""

from __future__ import annotations

import io
from collections.abc import Callable
from types import ModuleType

import pdfplumber
import pytest

from tests.publish import samples as made


@pytest.fixture
def samples() -> ModuleType:
    """The module of hand-made documents."""
    return made


@pytest.fixture
def pages() -> Callable[[bytes], list[pdfplumber.page.Page]]:
    """A function that opens a PDF's pages for measuring."""
    return lambda pdf: pdfplumber.open(io.BytesIO(pdf)).pages
