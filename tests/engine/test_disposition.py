"""What the caller is told: floors hold, unknown is worse, a worse answer never lowers the urgency."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.walk import steps
from comeback.engine.walk.disposition import expected_losses, needed_dispositions, red_flag_floor, ruling_for
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience, Disposition, Sureness


def call(knowledge, complaint, service=None):
    return begin_walk(knowledge, service or next(iter(knowledge.services)), complaint, Audience.PHONE)


def ruling(walk):
    view = walk.view
    return ruling_for(walk.knowledge, view.network, view.evidence, view.results)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_a_worse_answer_to_a_red_flag_never_lowers_the_urgency(knowledge, seed):
    """From "no" over "don't know" to "yes", with any other answers given before."""
    rng = random.Random(seed)
    complaint = rng.choice(list(knowledge.complaints))
    walk = call(knowledge, complaint)
    for check in rng.sample(walk.view.askable(), k=min(4, len(walk.view.askable()))):
        walk = walk.imagine(walk.answers({check: rng.choice([None, *knowledge.checks[check].names])}, "", ""))
    flags = [c for c in walk.view.askable() if knowledge.checks[c].red_flag]
    if not flags:
        return
    flag = rng.choice(flags)
    names = knowledge.checks[flag].names
    urgency = [ruling(walk.imagine(walk.answers({flag: answer}, "", ""))).advice for answer in (names[0], None)]
    urgency += [ruling(walk.imagine(walk.answers({flag: answer}, "", ""))).advice for answer in names[1:]]
    assert urgency[0] == min(urgency)
    floors = knowledge.checks[flag].red_flag
    for name, advice in zip(names[1:], urgency[2:], strict=True):
        assert advice >= floors.get(name, Disposition.WATCH)


def test_no_later_answer_goes_below_the_floor(knowledge):
    for complaint in knowledge.complaints.values():
        for flag in complaint.red_flags:
            if flag in complaint.reports:
                continue
            check = knowledge.checks[flag]
            worst = max(check.red_flag, key=lambda name: check.red_flag[name])
            walk = call(knowledge, complaint.id)
            good = {f: knowledge.checks[f].expected for f in complaint.red_flags if f not in complaint.reports}
            walk = walk.imagine(walk.answers({**good, flag: worst}, "", ""))
            assert ruling(walk).advice >= check.red_flag[worst], (complaint.id, flag)


def test_unknown_red_flag_counts_as_its_worst_result_short_of_running_from_the_car(knowledge):
    for check in knowledge.checks.values():
        if check.red_flag:
            worst = max(check.red_flag.values())
            assert red_flag_floor(knowledge, {check.id: None})[0] == min(worst, Disposition.TOW)
            other = "steer-feel" if check.id != "steer-feel" else "stalls"  # somebody who looked at another sign
            seen = {check.id: None, other: knowledge.checks[other].expected}
            there = check.sureness is not Sureness.UNMISTAKABLE  # what nobody could miss is not there then
            assert red_flag_floor(knowledge, seen)[0] == (min(worst, Disposition.TOW) if there else Disposition.WATCH)
            assert red_flag_floor(knowledge, {check.id: check.expected})[0] == Disposition.WATCH


def test_needed_dispositions_are_a_distribution(knowledge):
    for complaint in knowledge.complaints:
        view = call(knowledge, complaint).view
        needed = needed_dispositions(knowledge, view.network, view.evidence)
        assert sum(needed.values()) == pytest.approx(1.0, abs=1e-9)
        assert min(needed.values()) >= 0


def test_losses_are_lopsided(small):
    """One in ten needs the tow: towing all of them is cheaper than driving one that must not be driven."""
    needed = dict.fromkeys(Disposition, 0.0) | {Disposition.BOOK: 0.9, Disposition.TOW: 0.1}
    losses = expected_losses(small, needed)
    assert losses[Disposition.BOOK] == pytest.approx(10 + 0.1 * 1500)
    assert losses[Disposition.TOW] == pytest.approx(150)
    assert losses[Disposition.TOW] < losses[Disposition.BOOK]


def test_a_screen_without_danger_signs_does_not_tow_a_car_that_runs(knowledge):
    """Steady lamp or rough idle, nothing red: it may be driven to the workshop (common practice, no source)."""
    for complaint in ("rough-idle", "engine-light", "high-idle", "hesitation"):
        walk = call(knowledge, complaint)
        walk = walk.imagine(walk.answers({c: knowledge.checks[c].expected for c in walk.step.checks}, "", ""))
        assert ruling(walk).advice <= Disposition.COME_IN, complaint


@pytest.mark.parametrize("complaint", ["no-crank", "no-start-cranks"])
def test_nobody_is_told_to_drive_a_car_that_does_not_start(knowledge, complaint):
    """Common practice, no source."""
    for service in knowledge.services:
        walk = begin_walk(knowledge, service, complaint, Audience.PHONE)
        for _ in range(20):
            asked = steps.checks_of(walk.step)
            if not asked:
                break
            walk = walk.imagine(walk.answers({check: knowledge.checks[check].expected for check in asked}, "", ""))
        assert isinstance(walk.step, steps.Advise), service
        assert walk.step.solved or walk.step.disposition >= Disposition.TOW, service
