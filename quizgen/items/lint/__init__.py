"""Rules of item writing, checked by the machine. See `remark` for their numbers and sources."""

from quizgen.items.lint.item_rules import lint_item
from quizgen.items.lint.remark import Remark

__all__ = ["Remark", "lint_item"]
