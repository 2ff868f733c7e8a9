"""Items of every kind over every family: how fast, how many attempts fail and why, any wrong?

    python tests/bench/bench_items.py [--items 10000] [--seed LABEL] [--second 500]
                                      [--family NAME] [--kind NAME]

Each circuit drawn serves every kind a few times, as a set for a whole course would. Every item is
linted and verified by the code that did not make it; ngspice gives a second opinion on so many of
them, drawn in advance. Prints a table by kind, what was turned down, and whether place or length
tells the key.

Exit code 1 if there is a finding against any item, or a key that can be guessed.
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
from itertools import count

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from quizgen.base.errors import OutsideError, UnprovableError
from quizgen.circuit.template import find_template, shipped_templates
from quizgen.items.item import Item
from quizgen.items.kinds import KINDS
from quizgen.items.lint import lint_item
from quizgen.items.material import Request, draw_material
from quizgen.items.verify import Verifier
from quizgen.items.verify.second_opinion import AT_ONCE, Opinion, second_opinion
from quizgen.solver.ngspice import find_ngspice
from tests.items.chance import guesses, longest_keys

PER_KIND = 2  # items of one kind from one circuit


@dataclass
class Tally:
    """What became of the attempts. `waiting` are items that ngspice is still to look at."""

    items: list[Item] = field(default_factory=list)
    made: Counter[tuple[str, str]] = field(default_factory=Counter)
    failed: Counter[tuple[str, str]] = field(default_factory=Counter)
    seconds: defaultdict[str, float] = field(default_factory=lambda: defaultdict(float))
    checking: float = 0.0
    errors: list[str] = field(default_factory=list)
    warnings: Counter[str] = field(default_factory=Counter)
    waiting: list[Item] = field(default_factory=list)
    opinion: Opinion = field(default_factory=Opinion)

    def wrong(self, where: str, problem: object) -> None:
        """A finding; told at once."""
        self.errors.append(f"{where}: {problem}")
        print("WRONG", self.errors[-1], flush=True)


@dataclass(frozen=True)
class Examiners:
    """Who looks at the items: the verifier, and ngspice at those whose numbers are `drawn`."""

    verifier: Verifier
    drawn: frozenset[int]
    ngspice: str

    def check(self, item: Item, tally: Tally) -> None:
        """Lint and verification; some items are put by for ngspice."""
        start = time.process_time()
        remarks = lint_item(item)
        found = [str(r) for r in remarks if r.severity == "error"]
        tally.warnings.update(r.rule for r in remarks if r.severity == "warning")
        found += self.verifier.verify(item)
        tally.checking += time.process_time() - start
        for line in found:
            tally.wrong(place(item), line)
        if len(tally.items) in self.drawn:
            tally.waiting.append(item)
        tally.items.append(item)
        if len(tally.waiting) == AT_ONCE:
            self.ask(tally)

    def ask(self, tally: Tally) -> None:
        """The second opinion on the items that wait for it."""
        if not tally.waiting:
            return
        opinion = second_opinion(tally.waiting, self.ngspice)
        for item, problems in zip(tally.waiting, opinion.findings, strict=True):
            for line in problems:
                tally.wrong(place(item), f"by ngspice: {line}")
        tally.opinion += opinion
        tally.waiting.clear()


def place(item: Item) -> str:
    """What is needed to make the circuit of an item again."""
    origin = item.origin
    return f"{item.kind} {item.family} {dict(origin.parameters)} {origin.positions} {origin.fault}"


def one_circuit(
    family: str, rng: random.Random, kinds: Sequence[str], examiners: Examiners, tally: Tally
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
        examiners.check(item, tally)


def report(tally: Tally, elapsed: float) -> Iterator[str]:
    """The table."""
    total = sum(tally.made.values())
    attempts = total + sum(tally.failed.values())
    making = sum(tally.seconds.values())
    yield f"{total} items from {attempts} attempts, {len(tally.errors)} findings against them"
    yield f"made: {total / making:.1f} a second of one core; checked: {total / tally.checking:.1f}"
    yield f"wall time {elapsed:.0f} s"
    yield ""
    yield "| kind | items | turned down | ms each | key longest |"
    yield "|---|---|---|---|---|"
    for kind in KINDS:
        made = sum(n for (k, _), n in tally.made.items() if k == kind)
        failed = sum(n for (k, _), n in tally.failed.items() if k == kind)
        share = failed / max(made + failed, 1)
        each = 1000 * tally.seconds[kind] / max(made, 1)
        longest, told = longest_keys([i for i in tally.items if i.kind == kind])
        yield f"| {kind} | {made} | {share:.0%} | {each:.0f} | {longest} of {told} |"
    barren = sorted({key for key in tally.failed if not tally.made[key]})
    yield ""
    yield "pairs that gave nothing: " + (", ".join(" on ".join(p) for p in barren) or "none")
    if tally.opinion.findings:
        opinion = tally.opinion
        yield (
            f"second opinion on {len(opinion.findings)} items, {sum(map(bool, opinion.findings))} "
            f"with a finding; {opinion.readings} readings, worst difference {opinion.digits:.1g} "
            f"of the last digit; {opinion.nodes} nodes, {opinion.volts:.1g} V"
        )
    yield from map(str, guesses(tally.items))
    if tally.warnings:
        yield "lint warnings: " + ", ".join(f"{r} {n}" for r, n in sorted(tally.warnings.items()))


def options() -> argparse.Namespace:
    """What was asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--items", type=int, default=10_000)
    parser.add_argument("--seed", default="1", metavar="LABEL", help="another one, other items")
    parser.add_argument("--second", type=int, default=500, metavar="N", help="items for ngspice")
    parser.add_argument("--family", action="append", choices=list(shipped_templates()))
    parser.add_argument("--kind", action="append", choices=list(KINDS))
    return parser.parse_args()


def engage(args: argparse.Namespace) -> Examiners:
    """The verifier, and ngspice if it is wanted."""
    try:
        ngspice = find_ngspice() if args.second else ""
    except OutsideError as error:
        sys.exit(f"{error}; --second 0 does without")
    rng = random.Random(f"{args.seed} second opinion")
    drawn = rng.sample(range(args.items), min(args.second, args.items))
    return Examiners(Verifier(), frozenset(drawn), ngspice)


def main() -> None:
    """Draw circuits family by family until there are enough items."""
    args = options()
    families, kinds = args.family or list(shipped_templates()), args.kind or list(KINDS)
    examiners, tally, start = engage(args), Tally(), time.time()
    try:
        for turn in count():
            if len(tally.items) >= args.items:
                break
            family = families[turn % len(families)]
            rng = random.Random(f"{args.seed} {turn} {family}")
            try:
                one_circuit(family, rng, kinds, examiners, tally)
            except Exception as error:  # a long run goes on, and ends with exit code 1
                tally.wrong(f"seed {args.seed}, turn {turn}, {family}", f"crash: {error!r}")
            if sys.stderr.isatty():
                print(f"\r{len(tally.items)} items", end="", file=sys.stderr)
        examiners.ask(tally)
    except KeyboardInterrupt:
        print("stopped before the end")  # what has been counted so far is told all the same
    print("\n".join(report(tally, time.time() - start)))
    sys.exit(bool(tally.errors) or not all(c.is_chance for c in guesses(tally.items)))


if __name__ == "__main__":
    main()
