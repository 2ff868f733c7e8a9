"""Pages: what a class of forms costs over the PDF engine alone on the same HTML.

    python tests/bench/bench_pages.py [SET.instructor.json] [--forms 30] [--problems 20] [--alike]

The whole is everything from the items of a set to the bytes of its workbooks and packs: circuits
built and laid out, figures painted, pages filled and set. Making the items is not in it. The
engine alone sets the same HTML again, form by form in turn, so that a busy machine slows both;
times are of the processor. Takes the items of a finished set, by default of the example plan,
and gives every copy of an item other parameters of its circuit, as forms per student have, so
that no diagram is laid out only once for many (`--alike`: as many copies as it takes, all alike).
Prints the ratio (to be at most 1.25), what laying out has of it, pages per second, and the
memory after the first and the last form.
"""

from __future__ import annotations

import argparse
import random
import resource
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from pypdf import PdfReader

from quizgen.base.paths import data_folder
from quizgen.base.seeds import Seed
from quizgen.circuit.template import find_template
from quizgen.forms.problem_set import Form, read_problem_set
from quizgen.items.item import Item
from quizgen.pipeline import build_set
from quizgen.publish.circuit_figures import figure_of
from quizgen.publish.from_items import workbook_of
from quizgen.publish.html import workbook_html
from quizgen.publish.pack import pack_bytes, seal_pack
from quizgen.publish.page_options import PageOptions
from quizgen.publish.pdf import pdf_bytes
from quizgen.publish.view import Heading

MOST = 1.25
PLAN = data_folder("scenarios") / "brindlemere" / "plans" / "week-01.yaml"
HEADING = Heading(college="Brindlemere Technical College", course="Evening class", title="Bench")


def forms_of(items: list[Item], forms: int, problems: int, alike: bool) -> Iterator[Form]:
    """Forms of items in turn, their circuits drawn anew unless `alike`."""
    rng = random.Random(8)
    for n in range(forms):
        chosen = [items[(n * problems + k) % len(items)] for k in range(problems)]
        if not alike:
            chosen = [fresh(item, rng) for item in chosen]
        yield Form(
            code=f"{n:02}",
            items=tuple(replace(item, id=f"{n}-{k}") for k, item in enumerate(chosen)),
        )


def fresh(item: Item, rng: random.Random) -> Item:
    """The item with its circuit at other parameters. Its text no longer fits: for times only."""
    drawn = tuple(find_template(item.origin.template).draw(rng).items())
    return replace(item, origin=replace(item.origin, parameters=drawn))


def main() -> int:
    """Measure, print, and fail when the ratio is too large."""
    words = argparse.ArgumentParser()
    words.add_argument("set", type=Path, nargs="?", help="NAME.instructor.json of a finished set")
    words.add_argument("--forms", type=int, default=30)
    words.add_argument("--problems", type=int, default=20)
    words.add_argument("--alike", action="store_true", help="copies of items, circuits the same")
    words.add_argument("--out", type=Path, default=Path("out/bench-pages"))
    asked = words.parse_args()
    made = asked.set or build_set(PLAN, asked.out).problem_set
    items = [item for form in read_problem_set(made).forms for item in form.items]
    pdf_bytes("<html lang='en'><title>warm</title><p>warm</p></html>")  # loads the engine
    whole = engine = figures = 0.0
    pages = 0
    memory = []
    asked.out.mkdir(parents=True, exist_ok=True)
    for form in forms_of(items, asked.forms, asked.problems, asked.alike):
        start = time.process_time()
        book = workbook_of(HEADING, form, figure_of)
        drawn = time.process_time()
        html = workbook_html(book, PageOptions())
        pdf = pdf_bytes(html)
        pack = pack_bytes(seal_pack(book, "bench", "", Seed(b"bench")))
        middle = time.process_time()
        pdf_bytes(html)
        whole, engine = whole + middle - start, engine + time.process_time() - middle
        figures += drawn - start
        path = asked.out / f"{form.code}.pdf"
        path.write_bytes(pdf)
        path.with_suffix(".json").write_bytes(pack)
        pages += len(PdfReader(path).pages)
        memory.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    ratio = whole / engine
    print(f"{asked.forms} forms of {asked.problems} problems, {pages} pages")
    print(f"whole {whole:.1f} s, engine alone {engine:.1f} s, ratio {ratio:.3f} (at most {MOST})")
    print(
        f"without circuits and diagrams: ratio {(whole - figures) / engine:.3f}; "
        f"those take {1000 * figures / asked.forms / asked.problems:.0f} ms a problem"
    )
    print(f"{pages / whole:.1f} pages a second on one core")
    print(f"most memory: {memory[0]:.0f} MB after the first form, {memory[-1]:.0f} MB at the end")
    return ratio > MOST


if __name__ == "__main__":
    sys.exit(main())
