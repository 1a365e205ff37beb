"""Noise in log-odds: what it does to the numbers, and that the report about it is honest."""

import math

import numpy as np
import pytest

from comeback.engine.analysis.perturbed import numbers_of, perturb
from comeback.engine.analysis.sensitivity import (
    FirstAdvice,
    Sensitivity,
    disposition_changed,
    disposition_lower,
    first_advice,
    sensitivity,
    step_changed,
)
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
    copy = perturb(small, dict.fromkeys(numbers, 0.5))

    def odds(chance):
        return chance / (1 - chance)

    frequency = copy.causes["lamp-loose"].frequency / 1000
    assert math.log(odds(frequency) / odds(0.008)) == pytest.approx(0.5)
    assert math.log(odds(copy.causes["lamp-loose"].shows["light"]["dark"]) / odds(0.9)) == pytest.approx(0.5)
    assert math.log(odds(copy.repairs["replace-fuse"].removes["fuse-out"]) / odds(0.95)) == pytest.approx(0.5)


def test_chances_of_several_results_stay_a_distribution(knowledge):
    numbers = numbers_of(knowledge)
    copy = perturb(
        knowledge, dict(zip(numbers, np.random.default_rng(3).normal(0, 2, len(numbers)).tolist(), strict=True))
    )
    for cause in copy.causes.values():
        assert 0 < cause.frequency < 1000
        for check in cause.shows:
            chances = copy.chances(cause.id, check)
            assert min(chances) >= -1e-12
            assert sum(chances) == pytest.approx(1)


def test_no_noise_changes_nothing(small):
    found = sensitivity(small, list(small.services), np.random.default_rng(1), runs=3, noise=0.0)
    assert found.share(step_changed) == found.share(disposition_changed) == 0
    assert found.hinges == {}


def test_the_shipped_advice_is_the_same_without_noise(knowledge):
    numbers = numbers_of(knowledge)
    copy = perturb(knowledge, dict.fromkeys(numbers, 0.0))
    for complaint in ("rough-idle", "engine-light", "no-crank"):
        service = next(iter(knowledge.services))
        assert first_advice(copy, service, complaint) == first_advice(knowledge, service, complaint)


def test_the_same_seed_gives_the_same_figures(small):
    first, second = (sensitivity(small, ["lamp-change"], np.random.default_rng(7), runs=5, noise=2.0) for _ in "ab")
    assert first.noisy == second.noisy


def test_a_frequency_that_decides_the_advice_is_named(small):
    """Own counting: with the loose lamp three times in log-odds as rare, the phone advice or first step is another."""
    found = sensitivity(small, ["lamp-change"], np.random.default_rng(1), runs=1, noise=3.0)
    usual = dict(zip(found.pairs, found.usual, strict=True))
    for cause in ("lamp-loose", "fuse-out"):
        moved = [perturb(small, {("causes", cause, "frequency"): by}) for by in (3.0, -3.0)]
        other = {pair for pair in found.pairs if any(first_advice(copy, *pair) != usual[pair] for copy in moved)}
        assert set(found.hinges.get(cause, ())) == other
    assert found.hinges


def test_changes_are_counted_by_hand():
    """One pair of two runs: another step and a milder disposition once, nothing once."""
    usual, other = FirstAdvice(("check", "a"), Disposition.BOOK), FirstAdvice(("check", "b"), Disposition.WATCH)
    found = Sensitivity((("s", "c"), ("s", "d")), (usual, usual), ((other, usual), (usual, usual)), {})
    assert found.share(step_changed) == found.share(disposition_lower) == 0.25
    assert found.share(disposition_changed, "c") == 0.5
    assert found.complaints == ["c", "d"]
    assert found.commonest_other("c") == (("check", "a"), ("check", "b"))
    assert found.commonest_other("d") is None
