"""One file that needs no other: style sheets and fonts go into the page itself."""

from __future__ import annotations

import base64
import re
from functools import cache

from quizgen.base.paths import data_folder

_SHEET = re.compile(r'<link rel="stylesheet" href="([a-z.]+)">')
_FONT = re.compile(r"@font-face \{[^}]*?url\(([^)]+)\)[^}]*\}")
# a phone has letters and arrows of its own for what the first font lacks
_LEFT_OUT = "DejaVu"


def standalone(html: str) -> str:
    """`html` with its style sheets and the fonts they name inside it."""
    return _SHEET.sub(lambda match: f"<style>{_sheet(match.group(1))}</style>", html)


@cache
def _sheet(name: str) -> str:
    css = (data_folder("templates") / "print" / name).read_text(encoding="utf-8")
    return _FONT.sub(_font, css)


def _font(match: re.Match[str]) -> str:
    name = match.group(1)
    if _LEFT_OUT in name:
        return ""
    data = (data_folder("templates") / "print" / name).read_bytes()
    address = f"data:font/ttf;base64,{base64.b64encode(data).decode('ascii')}"
    return match.group().replace(name, address)
