"""Problem sets as packages of QTI, the open standard for questions and tests by 1EdTech.

Item record ─► XML elements in the names of version 2.1 (`question`, `processing`) ─► the names of
the version asked for (`dialect`) ─► a package with figures, tests and manifest (`package`).

A package holds keys and rationales: it is the instructor's. It was made after published examples
and descriptions of the standard; conformance has not been certified and is not claimed.
"""

from quizgen.publish.qti.dialect import DIALECTS
from quizgen.publish.qti.package import package_of

__all__ = ["DIALECTS", "package_of"]
