"""Figures as they go onto a page: embedded, in their own size, in colour or grey.

A figure is an `<img>` with the drawing inside its address rather than inline SVG: the PDF
engine then parses it once and does not lay its elements out as part of the page.
"""

from __future__ import annotations

import base64
import re
from math import inf

from quizgen.base.errors import InputError
from quizgen.publish.page_options import Size

_TO_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96}
_LENGTH = r"""\b{name}\s*=\s*["']\s*([0-9.]+)\s*([a-z]*)\s*["']"""
_VIEW_BOX = re.compile(r"""\bviewBox\s*=\s*["']\s*([-0-9.eE]+)[ ,]+([-0-9.eE]+)[ ,]+"""
                       r"""([0-9.eE]+)[ ,]+([0-9.eE]+)\s*["']""")  # fmt: skip
_FONT_SIZE = re.compile(r"""\bfont-size\s*=\s*["']([0-9.]+)["']""")
_HEX = re.compile(r"#(?:[0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b")


def natural_size(svg: str) -> Size:
    """The size that `svg` asks for: its width and height, else its viewBox taken as millimetres.

    Raises InputError when it says neither.
    """
    head = svg[svg.find("<svg") : svg.find(">", svg.find("<svg"))]
    found = [re.search(_LENGTH.format(name=name), head) for name in ("width", "height")]
    if all(found):
        width, height = (float(m[1]) * _TO_MM.get(m[2] or "px", 1.0) for m in found if m)
        return Size(width, height)
    box = _VIEW_BOX.search(head)
    if box is None:
        raise InputError("a figure has neither a width and height nor a viewBox")
    return Size(float(box[3]), float(box[4]))


def smallest_letters(svg: str) -> float:
    """Size in points of the smallest text in `svg` at its natural size; inf without text.

    Takes font sizes as user units of a drawing whose user unit is one millimetre.
    """
    sizes = [float(size) for size in _FONT_SIZE.findall(svg)]
    return min(sizes, default=inf) * 72 / 25.4


def fitted(size: Size, width: float, height: float, most: float = 1.0) -> Size:
    """`size` scaled to fit into `width` × `height` mm, enlarged at most `most` times."""
    scale = min(most, width / size.width, height / size.height)
    return Size(round(size.width * scale, 2), round(size.height * scale, 2))


def grey(text: str) -> str:
    """`text` with every hexadecimal colour turned into the grey of the same lightness.

    Weights of the ITU-R BT.709 luma, applied to the coded values as is.

    >>> grey('stroke="#ff0000"')
    'stroke="#363636"'
    """
    return _HEX.sub(lambda found: _grey_of(found.group()), text)


def _grey_of(colour: str) -> str:
    digits = colour[1:] if len(colour) == 7 else "".join(2 * c for c in colour[1:])
    red, green, blue = (int(digits[i : i + 2], 16) for i in (0, 2, 4))
    level = round(0.2126 * red + 0.7152 * green + 0.0722 * blue)
    return f"#{level:02x}{level:02x}{level:02x}"


def data_address(svg: str) -> str:
    """`svg` as an address that holds it."""
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode("ascii")


def flexible(svg: str) -> str:
    """`svg` without a size of its own, so that it takes the width of what it stands in."""
    head, body = svg.split(">", 1)
    return re.sub(r'\s(width|height)="[^"]*"', "", head) + ">" + body
