"""What a rule says of an item or a form.

Rules: Haladyna, Downing and Rodriguez 2002, A review of multiple-choice item-writing guidelines
for classroom assessment, Applied Measurement in Education 15(3):309-334 (H numbers, second-hand)
and the list of flaws of the NBME item-writing guide (second-hand). No source gives numeric
thresholds; those here are ours, and each stands as a named constant beside its rule.

====  ==========================  ========  ================================================
rule  about                       severity  source
====  ==========================  ========  ================================================
L01   option lengths              error     H24; NBME: the correct answer is longer
L02   "all of the above"          error     H26
L03   "none of the above"         error     H25 says "carefully"; we leave it out
L04   negative question           warning   H17; error unless the word is in capitals
L05   negative options            warning   H27
L06   absolutes                   error     H28a
L07   clang                       warning   H28b
L08   grammar and punctuation     error     H28c
L09   convergence                 warning   NBME
L10   opposites                   warning   H28e
L11   overlap                     error     H22
L12   one sort of option          error     H23
L13   figures by size             error     H21
L14   place of the key            error     H20; over a form
L15   one key                     error     H19; by the verifier, never by words
L16   vague words                 error     NBME
L17   a question to be answered   error     H15
L18   long stems                  warning   H13, H16
L19   one item tells another      error     H4; over a form
L20   "A and B"                   error     H9
L21   reasons for wrong options   error     H29, H30
L22   count of options            error     H18
====  ==========================  ========  ================================================
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["error", "warning"]


@dataclass(frozen=True)
class Remark:
    """One breach of a rule, in a line."""

    rule: str
    severity: Severity
    text: str

    def __str__(self) -> str:
        return f"{self.rule} {self.severity}: {self.text}"


def error(rule: str, text: str) -> Remark:
    """A breach that keeps an item from being printed."""
    return Remark(rule, "error", text)


def warning(rule: str, text: str) -> Remark:
    """A breach that an instructor may want to look at."""
    return Remark(rule, "warning", text)
