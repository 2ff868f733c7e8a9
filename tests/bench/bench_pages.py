"""Pages: what a class of forms costs over the PDF engine alone on the same HTML.

    python tests/bench/bench_pages.py [SET.instructor.json] [--forms 30] [--problems 20]

Takes the items of a finished set, by default of the example plan, and repeats them under
other ids. Times the making of every workbook from items to PDF bytes, and then the PDF engine
alone on the same HTML, form by form in turn, so that a busy machine slows both. Prints the ratio
(to be at most 1.25), pages per second, and the memory after the first and the last form.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from dataclasses import replace
from pathlib import Path

from pypdf import PdfReader

from quizgen.base.paths import data_folder
from quizgen.base.seeds import Seed
from quizgen.forms.problem_set import Form, read_problem_set
from quizgen.items.item import Item
from quizgen.pipeline import build_set
from quizgen.publish.circuit_figures import figure_of
from quizgen.publish.from_items import workbook_of
from quizgen.publish.html import workbook_html
from quizgen.publish.pack import seal_pack, write_pack
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from quizgen.publish.view import Heading

MOST = 1.25
PLAN = data_folder("scenarios") / "brindlemere" / "plans" / "week-01.yaml"
HEADING = Heading(college="Brindlemere Technical College", course="Evening class", title="Bench")


def forms_of(items: list[Item], forms: int, problems: int) -> list[Form]:
    """Forms of repeated items, each form beginning elsewhere."""
    return [
        Form(
            code=f"{n:02}",
            items=tuple(
                replace(items[(n + k) % len(items)], id=f"{n}-{k}") for k in range(problems)
            ),
        )
        for n in range(forms)
    ]


def main() -> int:
    """Measure, print, and fail when the ratio is too large."""
    words = argparse.ArgumentParser()
    words.add_argument("set", type=Path, nargs="?", help="NAME.instructor.json of a finished set")
    words.add_argument("--forms", type=int, default=30)
    words.add_argument("--problems", type=int, default=20)
    words.add_argument("--out", type=Path, default=Path("out/bench-pages"))
    asked = words.parse_args()
    made = asked.set or build_set(PLAN, asked.out).problem_set
    items = [item for form in read_problem_set(made).forms for item in form.items]
    pdf_bytes("<html lang='en'><title>warm</title><p>warm</p></html>")  # loads the engine
    whole = engine = 0.0
    pages = 0
    memory = []
    for form in forms_of(items, asked.forms, asked.problems):
        start = time.perf_counter()
        book = workbook_of(HEADING, form, figure_of)
        html = workbook_html(book, PageOptions())
        pdf = pdf_bytes(html)
        path = asked.out / f"{form.code}.pdf"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(pdf)
        write_pack(seal_pack(book, "bench", "", Seed(b"bench")), path.with_suffix(".json"))
        middle = time.perf_counter()
        pdf_bytes(html)
        whole, engine = whole + middle - start, engine + time.perf_counter() - middle
        pages += len(PdfReader(path).pages)
        memory.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    ratio = whole / engine
    print(f"{asked.forms} forms of {asked.problems} problems, {pages} pages")
    print(f"whole {whole:.1f} s, engine alone {engine:.1f} s, ratio {ratio:.3f} (at most {MOST})")
    print(f"{pages / whole:.1f} pages a second on one core")
    print(f"most memory: {memory[0]:.0f} MB after the first form, {memory[-1]:.0f} MB at the end")
    return ratio > MOST


if __name__ == "__main__":
    sys.exit(main())
