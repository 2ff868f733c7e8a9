"""Wiring diagrams: `draw_svg` paints a circuit, `describe_diagram` says it in words."""

from quizgen.diagram.describe import describe_diagram
from quizgen.diagram.drawing import Drawing
from quizgen.diagram.layout import lay_out
from quizgen.diagram.marks import Marks
from quizgen.diagram.netcheck import drawing_faults
from quizgen.diagram.svg import draw_svg

__all__ = ["Drawing", "Marks", "describe_diagram", "draw_svg", "drawing_faults", "lay_out"]
