"""Beliefs, minimal explanations and the order of checks, against published and enumerated values.

D2 and D3: the five-component circuit of de Kleer and Williams 1987, three multipliers and two
adders. The posteriors and the information of the probes come from an independent enumeration;
the candidates after a probe were read in lecture notes on that paper.
"""

from __future__ import annotations

import random
from itertools import chain, combinations, permutations
from math import log2

import numpy as np
import pytest

from quizgen.base.errors import InputError
from quizgen.diagnosis.beliefs import entropy, information, normalised, posterior, settled
from quizgen.diagnosis.check_order import check_order, expected_cost
from quizgen.diagnosis.minimal_sets import minimal_sets

PARTS = ("M1", "M2", "M3", "A1", "A2")
FAILS = 0.01
Values = dict[str, int]


def implied(broken: tuple[str, ...], known: Values) -> Values | None:
    """All values that follow from the sound parts, None if they contradict each other.

    X = A*C, Y = B*D, Z = C*E with A=3 B=2 C=2 D=3 E=3; F = X + Y, G = Y + Z.
    """
    values = dict(known)
    sums = {"A1": ("X", "Y", "F"), "A2": ("Y", "Z", "G")}
    for part, name in {"M1": "X", "M2": "Y", "M3": "Z"}.items():
        if part not in broken and values.setdefault(name, 6) != 6:
            return None
    for _ in PARTS:
        for part, (a, b, total) in sums.items():
            if part in broken:
                continue
            if a in values and b in values:
                if values.setdefault(total, values[a] + values[b]) != values[a] + values[b]:
                    return None
            elif total in values and (a in values or b in values):
                have, miss = (a, b) if a in values else (b, a)
                values[miss] = values[total] - values[have]
    return values


def worlds() -> list[tuple[str, ...]]:
    """Every set of broken parts."""
    return list(chain.from_iterable(combinations(PARTS, n) for n in range(6)))


def prior() -> list[float]:
    """Each part fails by itself with probability 0.01."""
    return [FAILS ** len(w) * (1 - FAILS) ** (5 - len(w)) for w in worlds()]


def after(known: Values) -> np.ndarray:
    """Posterior over `worlds()` when `known` was observed."""
    return posterior(prior(), [implied(w, known) is not None for w in worlds()])


SEEN = {"F": 10, "G": 12}


def test_d2_the_two_single_faults_are_equally_likely() -> None:
    """F = 10 and G = 12 leave {M1} and {A1} at .478 each."""
    found = dict(zip(worlds(), after(SEEN), strict=True))
    assert found[("M1",)] == pytest.approx(0.478, abs=5e-4)
    assert found[("A1",)] == pytest.approx(0.478, abs=5e-4)


@pytest.mark.parametrize(("point", "bits"), [("X", 1.041), ("Y", 0.082), ("Z", 0.047)])
def test_d2_the_best_probe_is_x(point: str, bits: float) -> None:
    """Probe X tells 1.041 bit, Y .082, Z .047; what a world does not settle is one outcome more."""
    values = [(implied(w, SEEN) or {}).get(point, -1) for w in worlds()]
    names = sorted(set(values))
    likelihood = settled([names.index(v) for v in values])
    assert information(after(SEEN), likelihood) == pytest.approx(bits, abs=1.5e-3)


@pytest.mark.parametrize(
    ("known", "expected"),
    [
        (SEEN, {("M1",), ("A1",), ("M2", "M3"), ("M2", "A2")}),
        (SEEN | {"X": 4}, {("M1",)}),
        (SEEN | {"X": 6}, {("A1",), ("M2", "M3"), ("M2", "A2")}),
    ],
)
def test_d3_minimal_candidates(known: Values, expected: set[tuple[str, ...]]) -> None:
    """After X = 4 the single fault M1 is left; after X = 6 A1 and two pairs.

    After X = 4 every other set contains M1.
    """
    found = minimal_sets(PARTS, lambda s: implied(s, known) is not None)
    assert set(found) == expected


def test_nothing_wrong_is_the_smallest_explanation() -> None:
    """When all is as it should be no fault is needed, and none is named."""
    assert minimal_sets(PARTS, lambda s: implied(s, {"F": 12, "G": 12}) is not None) == ((),)


def test_d4_which_of_two_checks_first() -> None:
    """Check 1 first exactly if C1/p <= C2/(1 - p): textbook exercise, checked by algebra."""
    rng = random.Random(4)
    for _ in range(200):
        p, c1, c2 = rng.uniform(0.01, 0.99), rng.uniform(0.1, 9.0), rng.uniform(0.1, 9.0)
        assert (check_order([p, 1 - p], [c1, c2])[0] == 0) == (c1 / p <= c2 / (1 - p))


def test_d6_falling_p_over_c_beats_every_other_order() -> None:
    """Six causes: no permutation is cheaper (Kadane and Simon 1977; by enumeration)."""
    rng = random.Random(6)
    for _ in range(20):
        p = normalised([rng.random() for _ in range(6)]).tolist()
        costs = [rng.uniform(0.2, 5.0) for _ in range(6)]
        best = min(expected_cost(order, p, costs) for order in permutations(range(6)))
        assert expected_cost(check_order(p, costs), p, costs) == pytest.approx(best, rel=1e-12)


def test_information_never_exceeds_either_entropy() -> None:
    """I(H; O) <= min(H(H), H(O)), and it is symmetric (Cover and Thomas, sec. 2.4, from memory)."""
    rng = np.random.default_rng(1)
    for _ in range(50):
        p = rng.dirichlet(np.ones(5))
        table = rng.dirichlet(np.ones(3), size=5).T
        bits = information(p, table)
        joint = table * p
        from_the_other_side = entropy(p) + entropy(joint.sum(axis=1)) - entropy(joint.ravel())
        assert bits == pytest.approx(from_the_other_side, abs=1e-12)
        assert bits <= min(entropy(p), entropy(joint.sum(axis=1))) + 1e-12


def test_a_posterior_is_bayes_rule() -> None:
    """A test right in 9 of 10 cases on a cause of 1 in 100: 1/12, by hand."""
    assert posterior([0.01, 0.99], [0.9, 0.1])[0] == pytest.approx(1 / 12)


def test_what_cannot_be_is_refused() -> None:
    """An outcome that nothing allows, weights below 0 and a free check are errors of the input."""
    with pytest.raises(InputError, match="no hypothesis"):
        posterior([0.5, 0.5], [0.0, 0.0])
    with pytest.raises(InputError, match="weights"):
        normalised([1.0, -1.0])
    with pytest.raises(InputError, match="cost"):
        check_order([1.0], [0.0])


def test_equal_chances_are_log2_n_bits() -> None:
    """n equal outcomes: log2 n bits."""
    for n in (1, 2, 3, 10):
        assert entropy([1 / n] * n) == pytest.approx(log2(n))
