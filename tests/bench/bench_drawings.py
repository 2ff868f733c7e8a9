"""The diagrams of all shipped circuits at twenty settings each: faults, crossings, bends, text.

Counts, not times: what a reader meets on paper, and then in a terminal of 80 and 120 columns. A
line that names a fault says at which setting, so that it can be drawn and looked at.
"""

from __future__ import annotations

import random
import sys

from quizgen.circuit.components import Wire
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.diagram import Drawing, drawing_faults, lay_out
from quizgen.diagram.lettering import POINT
from quizgen.diagram.terminal import draw_text
from quizgen.diagram.text_check import text_faults

SETTINGS = 20
COLUMNS = (80, 120)


def bends(drawing: Drawing) -> int:
    """Corners of all conductors."""
    return sum(max(0, len(line.points) - 2) for line in drawing.lines)


def main(names: list[str]) -> None:
    print(f"{'circuit':24} {'crossings':>12} {'bends':>12} {'least pt':>9} {'faults':>7}")
    for name in names or shipped_templates():
        template, rng = find_template(name), random.Random(8)
        settings = [template.draw(rng) for _ in range(SETTINGS)]
        circuits = [template.build(setting) for setting in settings]
        drawings = [lay_out(circuit) for circuit in circuits]
        found = [drawing_faults(c, d) for c, d in zip(circuits, drawings, strict=True)]
        crossings = [d.crossings for d in drawings]
        corners = [bends(d) for d in drawings]
        least = min(d.least_text / POINT for d in drawings)
        print(f"{name:24} {min(crossings):5} to {max(crossings):3} {min(corners):5} to "
              f"{max(corners):3} {least:9.2f} {sum(map(bool, found)):7}", flush=True)  # fmt: skip
        for setting, faults in zip(settings, found, strict=True):
            if faults:
                print(f"  {faults[0]} at {setting}")


def in_characters(names: list[str]) -> None:
    """How high the drawings in characters are, how many wires are labelled in full, faults."""
    print(f"\n{'circuit':24}" + "".join(f"{n:5} columns: lines labels faults" for n in COLUMNS))
    for name in names or shipped_templates():
        template, rng = find_template(name), random.Random(8)
        circuits = [template.build(template.draw(rng)) for _ in range(SETTINGS)]
        told = []
        for columns in COLUMNS:
            drawings = [draw_text(circuit, columns) for circuit in circuits]
            plain = [draw_text(circuit, columns, ascii_only=True) for circuit in circuits]
            wide = sum(max(map(len, d.page)) > columns for d in drawings)
            faults = wide + sum(
                bool(text_faults(c, d)) for c, d in zip(circuits * 2, drawings + plain, strict=True)
            )
            whole = [
                any(f"{w.id} {w.colour} {w.mm2:g}" == t.text for t in d.words)
                for c, d in zip(circuits, drawings, strict=True)
                for w in c.parts
                if isinstance(w, Wire)
            ]
            high = max(len(d.lines) for d in drawings)
            told.append(f"{high:20} {sum(whole) / len(whole):6.0%} {faults:6}")
        print(f"{name:24}" + "".join(told), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
    in_characters(sys.argv[1:])
