"""The diagrams of all shipped circuits at twenty settings each: faults, crossings, bends, text.

Counts, not times: what a reader meets on paper. A line that names a fault says at which
setting, so that it can be drawn and looked at.
"""

from __future__ import annotations

import random
import sys

from quizgen.circuit.template import find_template, shipped_templates
from quizgen.diagram import Drawing, drawing_faults, lay_out
from quizgen.diagram.lettering import POINT

SETTINGS = 20


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


if __name__ == "__main__":
    main(sys.argv[1:])
