"""Counts of closed cases become revised numbers: pseudo-counts, shops pooled, nothing silently."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.case.events import Draft, chain
from comeback.engine.case_log.outcomes import outcome_of, predicted_causes
from comeback.engine.learning.calibration import Bin, calibrated, mean_distance
from comeback.engine.learning.evidence import Weights
from comeback.engine.learning.frequencies import STAYS_AWAY
from comeback.engine.learning.numbers import learn
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import CauseKind, Disposition
from support.places import SMALL

WEIGHTS = Weights(frequency=1000, chance=20, at_least=5)
AT = "2026-03-02T08:15:00+01:00"


def number(lessons, path):
    return next(one for one in lessons.numbers if one.path == path)


def test_frequency_is_counted_where_the_services_are_known(small):
    """The example of the trainer's page: 3 in 500 services. With a judgement of 8 that weighs 1000: 11 of 1500."""
    rows = [("", "lamp-change", "lamp-loose", 3)]
    lessons = learn(small, rows, [], {("", "lamp-change"): 500}, Weights(1000, 20, at_least=3))
    one = number(lessons, "causes.lamp-loose.frequency")
    assert one.belief.mean == pytest.approx((8 + 3) / 1500)
    assert (one.belief.a, one.belief.b) == pytest.approx((11, 1489))
    assert one.value == 7.33


def test_all_comebacks_together_stay_as_frequent_if_nobody_says_how_many_services(small):
    """T = 8 + 4 of 1000; 150 and 30 cases: 180 cases at 12 of 1000 are 15000 services."""
    rows = [("", "lamp-change", "lamp-loose", 150), ("", "lamp-change", "fuse-out", 30)]
    lessons = learn(small, rows, [], {}, WEIGHTS)
    assert lessons.services == {"lamp-change": (pytest.approx(15_000), False)}
    one, other = (number(lessons, f"causes.{name}.frequency") for name in ("lamp-loose", "fuse-out"))
    assert one.belief.mean == pytest.approx((8 + 150) / 16_000)
    assert one.belief.mean + other.belief.mean == pytest.approx(12 / 1000)


def test_cause_that_forbids_driving_is_not_made_rarer(small):
    rows = [("", "lamp-change", "lamp-loose", 150), ("", "lamp-change", "fuse-out", 30)]
    assert "must not be driven" in number(learn(small, rows, [], {}, WEIGHTS), "causes.fuse-out.frequency").held
    rows = [("", "lamp-change", "lamp-loose", 15), ("", "lamp-change", "fuse-out", 300)]
    assert number(learn(small, rows, [], {}, WEIGHTS), "causes.fuse-out.frequency").held == ""


def test_chance_has_the_leak_taken_out(small):
    """30 of 40 seen; 1 % would be without the cause: the cause itself leaves 10/(40*0.99) unseen."""
    rows = [("", "lamp-loose", "lamp-turns", "turns", 30), ("", "lamp-loose", "lamp-turns", "tight", 10)]
    one = number(learn(small, [], rows, {}, WEIGHTS), "causes.lamp-loose.shows.lamp-turns.turns")
    own = 40 * (1 - 10 / (40 * 0.99))
    assert one.cases == pytest.approx(own)
    assert one.belief.mean == pytest.approx((0.95 * 20 + own) / 60)


def test_too_few_cases_change_nothing(small):
    rows = [("", "lamp-loose", "lamp-turns", "tight", 4)]
    lessons = learn(small, [("", "lamp-change", "lamp-loose", 4)], rows, {}, WEIGHTS)
    assert lessons.revised == []


def test_cases_that_allow_the_judgement_leave_it(small):
    """12 in 1000 beside a judgement of 8: 20 of 2000, whose middle 95 % (6.1 to 14.8, Beta(20, 1980)) holds the 8."""
    rows = [("", "lamp-change", "lamp-loose", 12)]
    one = number(learn(small, rows, [], {("", "lamp-change"): 1000}, WEIGHTS), "causes.lamp-loose.frequency")
    assert one.held == "the cases allow what was judged"
    assert one.interval == pytest.approx((6.1, 14.8), abs=0.1)
    every = learn(small, rows, [], {("", "lamp-change"): 1000}, Weights(1000, 20, 5, sure=0))
    assert number(every, "causes.lamp-loose.frequency").value == 10


def test_what_passes_or_is_watched_is_not_lowered_by_absence(knowledge):
    """The trainer's example: 6 loose ducts in 300 cleanings; cleaner that burns off (80) and a hesitation (60) stay."""
    rows, done = [("", "intake-cleaning", "duct-loose", 6)], {("", "intake-cleaning"): 300}
    lessons = learn(knowledge, rows, [], done, Weights(1000, 20, 5, sure=0))
    for name, was in (("cleaner-residue", 80), ("brief-hesitation", 60)):
        one = number(lessons, f"causes.{name}.frequency")
        assert (one.held, one.was, one.value, one.cases) == (STAYS_AWAY, was, was, 0)
        assert one.expected == pytest.approx(was * 300 / 1000)
    lowered = {one.path.split(".")[1] for one in lessons.revised if one.value < one.was}
    kinds = {knowledge.causes[name].kind for name in lowered}
    assert CauseKind.AFTER_EFFECT not in kinds
    assert all(knowledge.causes[name].drive > Disposition.WATCH for name in lowered)


def test_what_is_watched_is_raised_if_it_came_in_more_often_than_judged(knowledge):
    """100 of 500 did come in, at the least so many there were: (80 + 100) of 1500 is 120 of 1000."""
    rows, done = [("", "intake-cleaning", "cleaner-residue", 100)], {("", "intake-cleaning"): 500}
    one = number(learn(knowledge, rows, [], done, WEIGHTS), "causes.cleaner-residue.frequency")
    assert (one.held, one.value) == ("", 120)


def test_services_are_worked_out_from_what_comes_in_alone(knowledge):
    """1000 K / T with K and T without the watched ones; 50 of those found besides change nothing."""
    rows = [("", "intake-cleaning", "duct-loose", 30)]
    causes = [c for c in knowledge.causes.values() if c.service == "intake-cleaning" or not c.kind.needs_service]
    come = [c for c in causes if c.kind is not CauseKind.AFTER_EFFECT and c.drive > Disposition.WATCH]
    expected = 1000 * 30 / sum(c.frequency for c in come)
    more = [*rows, ("", "intake-cleaning", "cleaner-residue", 50)]
    for found in (rows, more):
        assert learn(knowledge, found, [], {}, WEIGHTS).services["intake-cleaning"][0] == pytest.approx(expected)


def test_a_number_moves_as_soon_as_the_cases_contradict_what_was_judged(knowledge):
    """6 of 300 beside 6 of 1000: Beta(12, 1288). At this rate 10 cases are 500 services.

    By Poisson's tail (a Beta(k, n) below p is k or more at a mean of n p, for rare things): the 6 of 1000 lie
    outside the middle 95 % if k or more have less than 2.5 %. With 9 cases 15 or more at 8.7 have 3.5 %, with
    10 cases 16 or more at 9.0 have 2.2 % (tables of the Poisson distribution).
    """
    rows, done = [("", "intake-cleaning", "duct-loose", 6)], {("", "intake-cleaning"): 300}
    one = number(learn(knowledge, rows, [], done, WEIGHTS), "causes.duct-loose.frequency")
    assert (one.belief.a, one.belief.b) == (pytest.approx(12), pytest.approx(1288))
    assert one.held == "the cases allow what was judged"
    assert one.expected == pytest.approx(1.8)
    for cases, moves in ((9, False), (10, True)):
        rows, done = [("", "intake-cleaning", "duct-loose", cases)], {("", "intake-cleaning"): 50 * cases}
        again = number(learn(knowledge, rows, [], done, WEIGHTS), "causes.duct-loose.frequency")
        assert (again.held == "") is moves


def test_small_shop_is_not_ruled_by_three_cases(small):
    """Hill has 3 blown fuses in 100 services where the others have 40 in 10,000; its own share would be 30 of 1000."""
    rows = [("mill", "lamp-change", "fuse-out", 40), ("hill", "lamp-change", "fuse-out", 3)]
    done = {("mill", "lamp-change"): 10_000, ("hill", "lamp-change"): 100}
    one = number(learn(small, rows, [], done, WEIGHTS, shop="hill"), "causes.fuse-out.frequency")
    assert one.own == (3, 100)
    assert 4 < 1000 * one.belief.mean < 8
    assert one.kappa >= WEIGHTS.frequency


def test_large_shop_is_ruled_by_its_own_cases(small):
    rows = [("mill", "lamp-change", "fuse-out", 40), ("hill", "lamp-change", "fuse-out", 3000)]
    done = {("mill", "lamp-change"): 10_000, ("hill", "lamp-change"): 100_000}
    one = number(learn(small, rows, [], done, WEIGHTS, shop="hill"), "causes.fuse-out.frequency")
    assert 1000 * one.belief.mean == pytest.approx(30, rel=0.03)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 400), st.integers(0, 400), st.integers(0, 400)), min_size=1, max_size=4))
def test_results_of_a_check_never_pass_a_hundred_percent(small, shops):
    rows = [
        (f"shop{i}", "fuse-out", "volts", result, count)
        for i, counts in enumerate(shops)
        for result, count in zip(("present", "low", "none"), counts, strict=True)
        if count
    ]
    numbers = [one for one in learn(small, [], rows, {}, WEIGHTS).numbers if ".volts." in one.path]
    assert sum(one.value for one in numbers) <= 100
    assert len({bool(one.held) for one in numbers if one.value != one.was}) <= 1


def test_result_that_was_judged_never_and_was_never_seen_stays_never(small):
    """A blown fuse was judged to leave no low voltage (0 %); 90 cars without one leave that, whatever else moves."""
    rows = [("", "fuse-out", "volts", "none", 20), ("", "fuse-out", "volts", "present", 70)]
    numbers = {one.path.rpartition(".")[2]: one for one in learn(small, [], rows, {}, WEIGHTS).numbers}
    assert numbers["none"].held == ""
    assert (numbers["low"].was, numbers["low"].value) == (0, 0)
    assert numbers["low"].held


def test_ids_that_the_knowledge_does_not_have_are_named(small):
    rows = [("", "wash", "lamp-loose", 9), ("", "lamp-change", "ghost", 9)]
    findings = [("", "lamp-loose", "lamp-turns", "sideways", 9), ("", "ghost", "light", "dark", 9)]
    lessons = learn(small, rows, findings, {}, WEIGHTS)
    assert lessons.unknown == {"wash", "ghost", "lamp-turns: sideways"}
    assert lessons.revised == []


def test_number_of_an_overlay_is_not_learned_a_second_time(small, tmp_path):
    file = tmp_path / "own.yaml"
    file.write_text(
        "revise:\n  causes.lamp-loose.frequency: {value: 20, evidence: counted by hand, source: invented}\n"
    )
    revised = load_knowledge(SMALL, overlays=[file])
    lessons = learn(revised, [("", "lamp-change", "lamp-loose", 900)], [], {("", "lamp-change"): 9000}, WEIGHTS)
    assert number(lessons, "causes.lamp-loose.frequency").held == "already revised at own.yaml:2"


def events_of(*drafts, opening=None):
    made, previous = [], ""
    for count, (kind, payload) in enumerate([("opened", opening or {"car": "x", "audience": "bay"}), *drafts], 1):
        made.append(chain("AAAA", count, Draft(kind, AT, "Ida", payload), "k1", previous))
        previous = made[-1].hash
    return made


STORY = (
    ("service", {"service": "lamp-change"}),
    ("complaint", {"complaint": "dark", "words": ""}),
    ("answered", {"results": {"lamp-turns": "turns", "volts": None}, "audience": "bay"}),
    ("repaired", {"repair": "screw-in-lamp"}),
    ("answered", {"results": {"lamp-turns": "tight", "light": "lit"}, "audience": "bay"}),
    (
        "closed",
        {"causes": ["lamp-loose"], "repairs": ["screw-in-lamp"], "proven": True},
    ),
)


def test_closed_case_teaches_what_was_seen_before_the_repair():
    outcome = outcome_of(events_of(*STORY, opening={"car": "x", "shop": "mill"}))
    assert (outcome.shop, outcome.service, outcome.causes) == ("mill", "lamp-change", ("lamp-loose",))
    assert outcome.findings == {"lamp-turns": "turns"}


def test_two_causes_or_two_repairs_teach_no_findings():
    two = (*STORY[:-1], ("closed", {**STORY[-1][1], "causes": ["lamp-loose", "fuse-out"]}))
    assert outcome_of(events_of(*two)).findings == {}
    again = (*STORY[:4], ("repaired", {"repair": "replace-fuse"}), *STORY[4:])
    assert outcome_of(events_of(*again)).findings == {}


@pytest.mark.parametrize(
    "closed",
    [{"proven": False}, {"proven": "yes"}, {"causes": []}, {"causes": None}, {"causes": [1]}, {"causes": "x" * 90}],
)
def test_unproven_or_unreadable_cases_teach_nothing(closed):
    assert outcome_of(events_of(*STORY[:-1], ("closed", {**STORY[-1][1], **closed}))) is None
    assert outcome_of(events_of(*STORY[:-1])) is None


def test_prediction_is_the_belief_before_the_first_repair(small):
    """Enumeration by hand over four sets: leaks 0.005 and 0.01, priors 0.008 and 0.004."""
    before = predicted_causes(small, events_of(*STORY[:3]))
    assert predicted_causes(small, events_of(*STORY)) == before

    def weight(loose, fuse):
        prior = (0.008 if loose else 0.992) * (0.004 if fuse else 0.996)
        dark = 1 - 0.995 * (0.1 if loose else 1) * (0.01 if fuse else 1)
        turns = 1 - 0.99 * (0.05 if loose else 1)
        return prior * dark * turns

    total = sum(weight(a, b) for a in (0, 1) for b in (0, 1))
    assert before["lamp-loose"] == pytest.approx((weight(1, 0) + weight(1, 1)) / total, abs=1e-4)


def test_findings_of_other_knowledge_predict_nothing(small):
    strange = (
        ("service", {"service": "wash"}),
        ("answered", {"results": {"lamp-turns": "sideways"}, "audience": "bay"}),
    )
    assert predicted_causes(small, events_of(*strange)) == {}


def test_calibration_gathers_predictions_by_class_of_chance():
    made = calibrated([*[(0.75, True)] * 6, *[(0.75, False)] * 4, (0.72, True), (1.0, True)])
    assert [(one.low, one.count, one.found) for one in made] == [(0.7, 11, 7), (0.9, 1, 1)]
    assert made[0].predicted == pytest.approx((7.5 + 0.72) / 11)
    assert mean_distance(made) == pytest.approx((abs(8.22 - 7) + 0) / 12)


def test_calibration_interval_is_that_of_jeffreys():
    """Published limits for 0 of 10: 0 to 0.217 (Brown, Cai & DasGupta 2001, from memory); equal-tailed upper limit."""
    assert Bin(0, 0.1, 10, 0.5, 0).interval[1] == pytest.approx(0.217, abs=1e-3)
    assert Bin(0.7, 0.8, 100, 75, 74).fits
    assert not Bin(0.7, 0.8, 100, 75, 40).fits
