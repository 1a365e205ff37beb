"""Noise in log-odds: what it does to the numbers, and that the report about it is honest."""

import math

import numpy as np
import pytest

from comeback.engine.analysis.perturbed import numbers_of, perturb
from comeback.engine.analysis.sensitivity import FirstAdvice, Sensitivity, first_advice, sensitivity
from comeback.kb.vocabulary import Disposition


def test_every_frequency_and_chance_is_a_number(small):
    numbers = numbers_of(small)
    assert ("causes", "lamp-loose", "frequency") in numbers
    assert ("causes", "fuse-out", "shows", "volts", "none") in numbers
    assert ("checks", "volts", "otherwise", "low") in numbers
    assert ("repairs", "replace-fuse", "removes", "fuse-out") in numbers
    assert len(set(numbers)) == len(numbers) == 2 + 5 + 5 + 2


def test_a_shift_is_in_natural_log_odds(small):
    numbers = numbers_of(small)
    copy = perturb(small, numbers, [0.5] * len(numbers))

    def odds(chance):
        return chance / (1 - chance)

    frequency = copy.causes["lamp-loose"].frequency / 1000
    assert math.log(odds(frequency) / odds(0.008)) == pytest.approx(0.5)
    assert math.log(odds(copy.causes["lamp-loose"].shows["light"]["dark"]) / odds(0.9)) == pytest.approx(0.5)
    assert math.log(odds(copy.repairs["replace-fuse"].removes["fuse-out"]) / odds(0.95)) == pytest.approx(0.5)


def test_chances_of_several_results_stay_a_distribution(knowledge):
    numbers = numbers_of(knowledge)
    copy = perturb(knowledge, numbers, np.random.default_rng(3).normal(0, 2, len(numbers)).tolist())
    for cause in copy.causes.values():
        assert 0 < cause.frequency < 1000
        for check in cause.shows:
            chances = copy.chances(cause.id, check)
            assert min(chances) >= -1e-12
            assert sum(chances) == pytest.approx(1)


def test_no_noise_changes_nothing(small):
    found = sensitivity(small, list(small.services), np.random.default_rng(1), runs=3, noise=0.0)
    assert not found.changed.any()
    assert found.leading_numbers(np.random.default_rng(2)) == []


def test_the_shipped_advice_is_the_same_without_noise(knowledge):
    numbers = numbers_of(knowledge)
    copy = perturb(knowledge, numbers, [0.0] * len(numbers))
    for complaint in ("rough-idle", "engine-light", "no-crank"):
        service = next(iter(knowledge.services))
        assert first_advice(copy, service, complaint) == first_advice(knowledge, service, complaint)


def test_the_same_seed_gives_the_same_figures(small):
    first, second = (sensitivity(small, ["lamp-change"], np.random.default_rng(7), runs=5, noise=2.0) for _ in "ab")
    assert first.noisy == second.noisy


def planted(runs, follows, count=200):
    """Advice that flips with the sign of one number's shift, or for no reason of the numbers."""
    chance = np.random.default_rng(11)
    shifts = chance.normal(0, 0.5, (runs, count))
    turns = shifts[:, 17] > 0 if follows else chance.random(runs) > 0.5
    usual = FirstAdvice(("check", "a"), Disposition.BOOK)
    other = FirstAdvice(("check", "b"), Disposition.WATCH)
    numbers = tuple(("causes", f"c{i}", "frequency") for i in range(count))
    noisy = tuple((other,) if turn else (usual,) for turn in turns)
    return Sensitivity((("s", "c"),), (usual,), noisy, numbers, shifts, np.ones((1, count), bool))


def test_a_number_that_decides_is_found():
    leading = planted(60, follows=True).leading_numbers(np.random.default_rng(5))
    assert leading[0][0] == ("causes", "c17", "frequency")
    assert leading[0][1] > 0.6  # a sign and its normal variable correlate with sqrt(2/pi) = 0.80


def test_no_number_is_blamed_for_flips_that_follow_none():
    assert len(planted(60, follows=False).leading_numbers(np.random.default_rng(5))) <= 1


def test_lower_dispositions_are_counted_apart():
    found = planted(20, follows=True)
    assert (found.disposition_lower == found.disposition_changed).all()
    assert found.commonest_other("c") == (("check", "a"), ("check", "b"))
