"""A calmer past never makes the advice more urgent: common practice, no source."""

from itertools import pairwise

import pytest

from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience, Disposition

SERVICES = (
    "air-filter", "battery", "belt", "coolant-change", "fuel", "intake-cleaning", "oil-service", "pcv-evap",
    "plugs-coils", "sensors", "throttle-off", "timing",
)  # fmt: skip
NORMAL = ("pull-away", "idle-shake", "idle-speed", "smell", "noise")
"""What a car that drives normally shows as it should be, as far as it is not complained of."""


def test_the_services_are_all_of_them(knowledge):
    assert set(SERVICES) == knowledge.services.keys()


@pytest.mark.parametrize("service", SERVICES)
@pytest.mark.parametrize("normal", [False, True], ids=["as it is", "drives normally"])
def test_a_week_ago_is_never_more_urgent_than_the_same_day(knowledge, service, normal):
    worse = []
    for complaint in knowledge.complaints.values():
        if complaint.services and service not in complaint.services:
            continue
        walk = begin_walk(knowledge, service, complaint.id, Audience.PHONE)
        signs = {sign: knowledge.checks[sign].expected for sign in walk.view.signs if sign not in complaint.reports}
        drives = {c: knowledge.checks[c].expected for c in NORMAL if normal and c not in complaint.reports}
        walk = walk.imagine(walk.answers(signs | drives, "", ""))
        for check in ("onset", "course"):
            levels = [
                walk.imagine(walk.answers({check: result}, "", "")).view.ruling.advice
                for result in knowledge.checks[check].calm
            ]
            # what has lasted for days may be booked where the same day would be watched: it does not pass by itself
            least = [max(level, Disposition.BOOK) for level in levels]
            worse += [(complaint.id, check, levels) for calmer, acuter in pairwise(least) if calmer > acuter]
    assert not worse
