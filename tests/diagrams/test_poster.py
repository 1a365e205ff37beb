"""The poster of a service: every cause of it, joined to what it brings and what removes it."""

import re

import pytest

from comeback.diagrams.drawing.program import draw
from comeback.diagrams.poster import poster_text


@pytest.mark.parametrize("service", ["oil-service", "intake-cleaning"])
def test_every_cause_of_the_service_stands_on_it_with_complaint_and_repair(shipped, service):
    text = poster_text(shipped, service, "2026-01-31")
    causes = [cause.id for cause in shipped.causes.values() if cause.service == service]
    assert causes
    for cause in causes:
        assert f'\t"w-{cause}" [' in text or f"\tw-{cause} [" in text or f'"w-{cause}"' in text
        assert re.search(rf'-> "?w-{cause}"?\b', text)
        assert re.search(rf'"?w-{cause}"? -> "?r-', text)


def test_no_other_cause_stands_on_it(shipped):
    text = poster_text(shipped, "oil-service", "2026-01-31")
    stand = set(re.findall(r'"w-([a-z0-9-]+)"', text))
    assert all(shipped.causes[name].service == "oil-service" for name in stand)


def test_type_is_14_points_but_for_the_step(shipped):
    sizes = {
        float(size) for size in re.findall(r'POINT-SIZE="([\d.]+)"', poster_text(shipped, "battery", "2026-01-31"))
    }
    assert min(sizes) >= 11


def test_same_text_twice_and_date_and_limits_on_it(shipped):
    text = poster_text(shipped, "battery", "2026-01-31")
    assert text == poster_text(shipped, "battery", "2026-01-31")
    assert "printed 2026-01-31" in text
    assert "not an inspection" in text


@pytest.mark.dot
def test_it_can_be_drawn(shipped):
    assert b"<svg" in draw(poster_text(shipped, "battery", "2026-01-31"), "svg")
