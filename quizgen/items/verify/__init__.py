"""Is an item right? Checked by code that shares nothing with the code that writes items."""

from quizgen.items.verify.verifier import Verifier, verify_item

__all__ = ["Verifier", "verify_item"]
