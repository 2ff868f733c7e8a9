"""Predicted difficulty is what its formula says, and real answers replace it."""

from __future__ import annotations

from dataclasses import replace
from math import log

import numpy as np
import pytest

from quizgen.items.calibration import Answers, calibrate, fit
from quizgen.items.difficulty import (
    HYPOTHESIS,
    WEIGHTS,
    Difficulty,
    features,
    guessed,
    predicted_share,
)
from quizgen.items.item import LEVELS, Item


def test_features_are_counted_from_the_item(made: tuple[Item, ...]) -> None:
    """Readings, level and claims are those of the record; every weight has its feature."""
    for item in made:
        found = features(item)
        assert set(found) == set(WEIGHTS)
        assert found["readings"] == len(item.readings)
        assert found["level"] == LEVELS.index(item.level)
        assert 2 ** found["suspects"] == pytest.approx(item.proof.claims)


def test_harder_by_structure_is_harder_by_prediction(made: tuple[Item, ...]) -> None:
    """A higher level, more readings, an answer to be written: each lowers the share."""
    item = made[0]
    share = predicted_share(item)
    assert predicted_share(replace(item, level="justify")) < share
    assert predicted_share(replace(item, readings=item.readings * 2)) < share
    assert predicted_share(replace(item, response="number", options=())) < share


def test_nobody_falls_below_guessing(made: tuple[Item, ...]) -> None:
    """However hard, one in so many options is right by chance."""
    hopeless = Difficulty(-50.0, WEIGHTS)
    for item in made:
        assert hopeless.share(item) == pytest.approx(1 / len(item.options))
        assert guessed(item) == 1 / len(item.options)


def test_a_relay_makes_a_circuit_harder(made: tuple[Item, ...]) -> None:
    """The feature counts relays of the circuit that the item is made of."""
    relays = {item.family: features(item)["relays"] for item in made}
    assert relays["push-button-relay"] >= 1
    assert relays["ground-switched-lamps"] == 0


def test_without_answers_the_hypothesis_stands(made: tuple[Item, ...]) -> None:
    """Nothing asked, nothing learnt."""
    assert calibrate([]) is HYPOTHESIS
    assert calibrate([Answers(made[0], 0, 0)]) is HYPOTHESIS


def test_two_groups_give_the_log_odds_ratio() -> None:
    """One feature of 0 and 1, no guessing, next to no penalty: the textbook's 2 x 2 table.

    b = ln(30/10), w = ln(12/28) − b (maximum likelihood of a saturated logistic model).
    """
    design = np.array([[1.0, 0.0], [1.0, 1.0]])
    found = fit(
        design, np.zeros(2), np.array([40.0, 40.0]), np.array([30.0, 12.0]), np.zeros(2), 1e4
    )
    assert found == pytest.approx([log(3.0), log(12 / 28) - log(3.0)], abs=1e-4)


def test_true_weights_are_found_again() -> None:
    """Answers simulated with known weights and guessing: the fit comes near them."""
    rng = np.random.default_rng(5)
    design = np.column_stack([np.ones(400), rng.normal(size=(400, 2))])
    truth, guess = np.array([0.5, -0.8, 0.6]), np.full(400, 1 / 3)
    share = guess + (1 - guess) / (1 + np.exp(-design @ truth))
    count = np.full(400, 50.0)
    right = rng.binomial(50, share).astype(float)
    assert fit(design, guess, count, right, np.zeros(3)) == pytest.approx(truth, abs=0.1)


def test_few_answers_move_the_weights_little(made: tuple[Item, ...]) -> None:
    """One wrong answer is no revolution; a hundred items wrong are."""
    one = calibrate([Answers(made[0], 1, 0)])
    many = calibrate([Answers(item, 200, 70) for item in made])
    for item in made:
        assert one.share(item) > predicted_share(item) - 0.15
        assert many.share(item) == pytest.approx(0.35, abs=0.05)
    assert many.calibrated
    assert not one.calibrated
