"""Items of every kind over every family: how fast, how many attempts fail and why, any wrong?

    python tests/bench/bench_items.py [--items 10000] [--seed 1] [--family NAME] [--kind NAME]

Each circuit drawn serves every kind a few times, as a set for a whole course would. Every item is
linted and verified by the code that did not make it.
Prints a table by kind and by family, and the reasons of what was turned down.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from scipy.stats import binomtest

from quizgen.base.errors import UnprovableError
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.items.item import Item
from quizgen.items.kinds import KINDS
from quizgen.items.lint import lint_item
from quizgen.items.lint.item_rules import key_is_longest
from quizgen.items.material import Request, draw_material
from quizgen.items.verify import Verifier

PER_KIND = 2  # items of one kind from one circuit


@dataclass
class Tally:
    """What became of the attempts."""

    items: list[Item] = field(default_factory=list)
    made: Counter[tuple[str, str]] = field(default_factory=Counter)
    failed: Counter[tuple[str, str]] = field(default_factory=Counter)
    seconds: defaultdict[str, float] = field(default_factory=lambda: defaultdict(float))
    checking: float = 0.0
    errors: list[str] = field(default_factory=list)
    warnings: Counter[str] = field(default_factory=Counter)


def one_circuit(
    family: str, rng: random.Random, kinds: Sequence[str], verifier: Verifier, tally: Tally
) -> None:
    """All kinds on one random circuit."""
    try:
        material = draw_material(find_template(family), rng)
    except UnprovableError:
        return
    used: list[Item] = []
    for kind in kinds * PER_KIND:
        options = rng.choice((3, 4))
        response = rng.choice(KINDS[kind].responses)
        request = Request(options=options, response=response, used=tuple(used))
        start = time.process_time()
        try:
            item = KINDS[kind].item(material, request, rng)
        except UnprovableError:
            tally.failed[kind, family] += 1
            continue
        finally:
            tally.seconds[kind] += time.process_time() - start
        used.append(item)
        tally.made[kind, family] += 1
        check(item, verifier, tally)
    tally.items += used


def check(item: Item, verifier: Verifier, tally: Tally) -> None:
    """Lint and verification, their findings told at once."""
    start = time.process_time()
    found = [str(r) for r in lint_item(item) if r.severity == "error"]
    tally.warnings.update(r.rule for r in lint_item(item) if r.severity == "warning")
    found += verifier.verify(item)
    tally.checking += time.process_time() - start
    for line in found:
        where = f"{item.kind} {item.family} {dict(item.origin.parameters)} {item.origin.positions}"
        tally.errors.append(f"{where} {item.origin.fault}: {line}")
        print("WRONG", tally.errors[-1], flush=True)


def report(tally: Tally, elapsed: float) -> Iterator[str]:
    """The table."""
    total = sum(tally.made.values())
    attempts = total + sum(tally.failed.values())
    making = sum(tally.seconds.values())
    yield f"{total} items from {attempts} attempts, {len(tally.errors)} findings against them"
    yield f"made: {total / making:.1f} a second of one core; checked: {total / tally.checking:.1f}"
    yield f"wall time {elapsed:.0f} s"
    yield ""
    yield "| kind | items | turned down | ms each |"
    yield "|---|---|---|---|"
    for kind in KINDS:
        made = sum(n for (k, _), n in tally.made.items() if k == kind)
        failed = sum(n for (k, _), n in tally.failed.items() if k == kind)
        share = failed / max(made + failed, 1)
        each = 1000 * tally.seconds[kind] / max(made, 1)
        yield f"| {kind} | {made} | {share:.0%} | {each:.0f} |"
    barren = sorted({key for key in tally.failed if not tally.made[key]})
    yield ""
    yield "pairs that gave nothing: " + (", ".join(" on ".join(p) for p in barren) or "none")
    yield from fairness(tally)
    if tally.warnings:
        yield "lint warnings: " + ", ".join(f"{r} {n}" for r, n in sorted(tally.warnings.items()))


def fairness(tally: Tally) -> Iterator[str]:
    """Places and lengths of keys against chance."""
    ones = [i for i in tally.items if i.response == "one" and not i.in_natural_order]
    for options in (3, 4):
        some = [i for i in ones if len(i.options) == options]
        if not some:
            continue
        longest = sum(map(key_is_longest, some))
        chance = binomtest(longest, len(some), 1 / options, alternative="greater").pvalue
        counts = [sum(i.options.index(i.key) == p for i in some) for p in range(options)]
        yield (
            f"{options} options: {len(some)} items, key longest {longest / len(some):.1%} "
            f"(P {chance:.3f}), keys by place {counts}"
        )


def main() -> None:
    """Draw circuits family by family until there are enough items."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--items", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--family", action="append")
    parser.add_argument("--kind", action="append")
    args = parser.parse_args()
    families = args.family or list(shipped_templates())
    kinds = args.kind or list(KINDS)
    tally, verifier, start, turn = Tally(), Verifier(), time.time(), 0
    try:
        while sum(tally.made.values()) < args.items:
            family = families[turn % len(families)]
            rng = random.Random(f"{args.seed} {turn} {family}")
            one_circuit(family, rng, kinds, verifier, tally)
            turn += 1
            if sys.stderr.isatty():
                print(f"\r{sum(tally.made.values())} items", end="", file=sys.stderr)
    except KeyboardInterrupt:
        print("stopped before the end")  # what has been counted so far is told all the same
    print("\n".join(report(tally, time.time() - start)))
    sys.exit(bool(tally.errors))


if __name__ == "__main__":
    main()
