"""A piece of a scanned sheet in characters: two rows of dots to a line of the terminal."""

from __future__ import annotations

from io import BytesIO

import numpy as np

DOTS = " ▀▄█"  # none, upper, lower, both
PLAIN = " '.#"
DARKER = 0.84  # of the paper: what is drawn, thin rims as well


def crop_lines(png: bytes, width: int = 76, *, ascii_only: bool = False) -> list[str]:
    """Lines of at most `width` characters; none for a picture that cannot be shown."""
    from PIL import Image

    try:
        image = Image.open(BytesIO(png), formats=("PNG",)).convert("L")
    except OSError:
        return []
    by = min(1.0, width / image.width)
    small = image.resize((max(round(image.width * by), 1), max(round(image.height * by), 1)))
    grey = np.asarray(small, dtype=np.float64)
    dark = grey < DARKER * max(float(np.percentile(grey, 90)), 1.0)
    if len(dark) % 2:
        dark = np.vstack([dark, np.zeros((1, dark.shape[1]), dtype=bool)])
    dots = PLAIN if ascii_only else DOTS
    codes = dark[::2].astype(int) + 2 * dark[1::2].astype(int)
    lines = ["".join(dots[code] for code in row).rstrip() for row in codes]
    shown = [number for number, line in enumerate(lines) if line]
    return lines[shown[0] : shown[-1] + 1] if shown else []
