"""The marks of several drills and the rule to pass by."""

from dataclasses import asdict, replace

import pytest

from comeback.engine.drill.score import Score, marks, read_score

GOOD = Score(
    "guided", 1, "lamp-change", "dark", "complaint gone", (), "tow", "tow", True, 3, 3, 0,
    20.0, 20.0, 1, 0, 0,
)  # fmt: skip


def test_ten_good_drills_pass():
    assert marks([GOOD] * 10).passed


@pytest.mark.parametrize(
    ("part", "bad", "passes", "fails"),
    [
        # the rule over 10 drills; judged, no source:
        # 0 safety misses, advice >= 90 %, repairs too soon <= 1 in 10, checks <= 1.5 x
        ("safety", {"safety": ("x",)}, 0, 1),
        ("advice", {"told": "watch"}, 1, 2),
        ("found", {"found": False}, 1, 2),  # ours: giving every car away would pass otherwise
        ("too soon", {"too_soon": 1}, 1, 2),
        ("checks", {"checks": 18}, 1, 2),  # 9 x 3 + 18 = 45 = 1.5 x 30
    ],
)
def test_each_part_of_the_rule_stands_by_itself(part, bad, passes, fails):
    for count, met in ((passes, True), (fails, False)):
        got = marks([replace(GOOD, **bad)] * count + [GOOD] * (10 - count))
        assert got.rules[part] is met
        assert sum(not kept for kept in got.rules.values()) == (not met)


def test_the_rule_for_checks_is_not_met_by_making_none():
    """Every car given away, or every drill stopped for safety: nothing was shown, so nothing is met."""
    for none in (replace(GOOD, found=False, checks=0), replace(GOOD, safety=("x",), checks=0, program_checks=0)):
        got = marks([none] * 10)
        assert got.rules["checks"] is None
        assert not got.passed
    guessed = marks([replace(GOOD, checks=0)] * 10)
    assert guessed.blind
    assert guessed.rules["checks"] is False
    assert marks([replace(GOOD, checks=0, program_checks=0)] * 10).rules["checks"] is True


def test_what_was_not_tried_is_neither_met_nor_missed():
    calls = marks([replace(GOOD, mode="phone", found=None, repairs=0, read_back=True)] * 10)
    assert (calls.rules["found"], calls.rules["too soon"], calls.passed) == (None, None, True)


def test_a_drill_broken_off_for_safety_says_nothing_about_the_choice_of_checks():
    stopped = replace(GOOD, safety=("x",), checks=0, program_checks=9)
    assert marks([stopped, replace(GOOD, checks=5)]).checks[0] == 5
    assert not marks([stopped, replace(GOOD, checks=5)]).rules["checks"]


def test_a_score_is_read_as_it_was_kept():
    kept = {**asdict(GOOD), "safety": [], "promised": [], "more": 1}
    assert read_score(kept) == GOOD
    with pytest.raises(KeyError):
        read_score({"mode": "guided"})
