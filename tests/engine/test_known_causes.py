"""No complaint is offered after a service that mostly leaves it without a known cause: the car would be given away.

What a light, a smell or a noise of that kind has as its usual cause on any car is common practice, no source.
"""

import math

import pytest

from comeback.engine.belief.exact_posterior import logs_without
from comeback.engine.walk.steps import HandOver
from comeback.engine.walk.walk import begin_walk
from comeback.kb.rules.bearing import unexplained
from comeback.kb.rules.reach import MOST_UNEXPLAINED
from comeback.kb.vocabulary import Audience

USUAL = {
    "service-reminder": ("battery", "service-due"),
    "starter-grinds": ("oil-service", "starter-worn"),
    "solvent-smell": ("throttle-off", "parts-cleaner-smell"),
    "parking-brake": ("coolant-change", "parking-brake-worn"),
    "radio-code": ("plugs-coils", "power-lost-at-work"),
    "not-ready": ("sensors", "monitors-start-over"),
    "skid-lamp": ("air-filter", "wheel-sensor-worn"),
    "louder": ("oil-service", "muffler-rusted"),
    "exhaust-smoke": ("battery", "steam-in-the-cold"),
}
"""Complaint -> a service that cannot bring it, and what is behind it most often then."""


def bay(knowledge, service, complaint):
    """The walk in the bay with every danger sign answered by its expected result."""
    walk = begin_walk(knowledge, service, complaint, Audience.BAY)
    signs = [knowledge.checks[sign] for sign in knowledge.complaints[complaint].red_flags]
    open_signs = {sign.id: sign.expected for sign in signs if walk.view.makes_sense(sign)}
    return walk.imagine(walk.answers(open_signs, "", ""))


@pytest.mark.parametrize(("complaint", "service", "usual"), [(c, *rest) for c, rest in USUAL.items()])
def test_a_complaint_that_the_service_cannot_bring_has_its_usual_cause_and_something_to_do(
    knowledge, complaint, service, usual
):
    walk = bay(knowledge, service, complaint)
    named = walk.view.network.causes
    assert max(named, key=walk.view.belief.probability) == usual
    assert not isinstance(walk.step, HandOver) or walk.step.repair is not None


def test_no_complaint_mostly_has_no_known_cause(knowledge):
    shares = {
        (complaint.id, service): unexplained(knowledge, complaint, service)
        for complaint in knowledge.complaints.values()
        for service in knowledge.services
        if complaint.reports and complaint.after((service,))
    }
    assert {pair: share for pair, share in shares.items() if share > MOST_UNEXPLAINED} == {}


@pytest.mark.parametrize("complaint", ["service-reminder", "louder", "reduced-power", "engine-light"])
def test_the_share_is_the_belief_s_own_within_some_hundredths(knowledge, complaint):
    belief = begin_walk(knowledge, "oil-service", complaint, Audience.BAY).view.belief
    live = tuple(belief.network.causes[index] for index in belief.live)
    (log,) = logs_without(belief.network, belief.presences, [live])
    by_belief = math.exp(log - belief.log_evidence)
    assert unexplained(knowledge, knowledge.complaints[complaint], "oil-service") == pytest.approx(by_belief, abs=0.05)
