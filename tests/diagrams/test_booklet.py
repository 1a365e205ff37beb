"""The booklet of a shipped service: what it can cause, the likeliest first, and no thicker than a hand can turn."""

from comeback.cli.reports.charting import complaints_of
from comeback.diagrams.booklet import AROUND, MOST_PAGES, fitting, likeliest


def test_what_the_service_can_cause_comes_first(shipped):
    """A battery change makes a car dead or forgetful; it does not make it drip."""
    found = likeliest(shipped, "battery", complaints_of(shipped, "battery"))
    assert {"no-crank", "settings-lost"} <= set(found[:10])
    assert "coolant-leak" not in found
    assert "radio-code" not in likeliest(shipped, "air-filter", complaints_of(shipped, "air-filter"))


def test_as_many_charts_as_fit():
    """By hand: 34 pages of charts beside 6 others."""
    assert MOST_PAGES - AROUND == 34
    assert fitting([4, 4, 4]) == 3
    assert fitting([4] * 10) == 8
    assert fitting([33, 2, 1]) == 1
