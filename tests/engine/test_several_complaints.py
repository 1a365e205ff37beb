"""Several complaints of one car: all of them are findings, all of them are part of the proof."""

import pytest

from comeback.engine.case import facts
from comeback.engine.walk.opening import MOST_SIGNS, main_first
from comeback.engine.walk.steps import CloseCase, DangerScreen, ProofRound, ProveRepair, checks_of
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience


def complained(knowledge, audience, service, *complaints):
    walk = open_walk(knowledge, audience, car="gasoline")
    walk = walk.imagine(facts.ServiceNamed(service=service))
    main, *also = complaints
    return walk.imagine(facts.ComplaintNamed(complaint=main, also=also))


def further(walk, complaint):
    return walk.imagine(facts.ComplaintNamed(complaint=complaint, further=True))


def test_what_else_is_named_counts_like_an_answer(knowledge):
    """A light named beside the idle says the same of every cause as a light that the technician sees."""
    one = complained(knowledge, Audience.BAY, "intake-cleaning", "high-idle")
    answered = one.imagine(one.answers({"engine-lamp": "lit-on"}, "", ""))
    both = complained(knowledge, Audience.BAY, "intake-cleaning", "high-idle", "engine-light")
    later = further(one, "engine-light")
    for walk in (both, later):
        assert walk.view.belief.present == pytest.approx(answered.view.belief.present)
    assert later.case.complaints == both.case.complaints == ("high-idle", "engine-light")


def proved(knowledge, repair, *complaints):
    """What is looked at as proof after the repair, and the walk after all of it was as it should be."""
    walk = complained(knowledge, Audience.BAY, "intake-cleaning", *complaints)
    looks = []
    while isinstance(walk.step, DangerScreen | ProveRepair | ProofRound) or not walk.case.repairs:
        if isinstance(walk.step, DangerScreen | ProveRepair | ProofRound):
            looks += () if isinstance(walk.step, DangerScreen) else checks_of(walk.step)
            walk = walk.imagine(walk.answers({c: knowledge.checks[c].expected for c in checks_of(walk.step)}, "", ""))
        else:
            walk = walk.imagine(facts.Repaired(repair=repair))
    return walk, looks


def test_what_a_smell_is_like_is_not_asked_once_it_is_gone(knowledge):
    _, looks = proved(knowledge, "clip-loom", "burnt-plastic")
    assert "smell" in looks
    assert "burnt-what" not in looks


def test_all_that_was_named_is_part_of_the_proof(knowledge):
    walk, looks = proved(knowledge, "reseat-map-sensor", "high-idle", "engine-light")
    assert {"idle-speed", "engine-lamp"} <= {*looks}
    assert isinstance(walk.step, CloseCase)
    assert walk.step.proven


def test_no_screen_of_danger_signs_is_longer_and_none_is_left_out(knowledge):
    names = ("high-idle", "engine-light", "stalls")
    walk, asked = complained(knowledge, Audience.PHONE, "intake-cleaning", *names), []
    while isinstance(walk.step, DangerScreen):
        assert len(walk.step.checks) <= MOST_SIGNS
        asked += walk.step.checks
        walk = walk.imagine(walk.answers({c: knowledge.checks[c].expected for c in walk.step.checks}, "", ""))
    listed = {sign for name in names for sign in knowledge.complaints[name].red_flags}
    assert set(asked) == listed - {"stalls"}  # that it stalls was said


def test_dangers_to_people_are_asked_on_the_first_screen(knowledge):
    walk = complained(knowledge, Audience.PHONE, "intake-cleaning", "stalls", "high-idle")
    first = walk.step.checks
    assert {"hood-smoke", "raw-fuel", "brake-pedal", "revs-hang"} <= set(first)


@pytest.mark.parametrize(
    ("named", "main"),
    [
        (("engine-light", "fuel-smell"), "fuel-smell"),  # a danger before a light
        (("engine-light", "high-idle"), "high-idle"),  # of two that are none, what fewer cars do
        (("something-else", "rattle"), "rattle"),
    ],
)
def test_the_main_complaint_is_the_most_dangerous_else_the_most_telling(knowledge, named, main):
    assert main_first(knowledge, named)[0] == main


def test_of_two_that_say_different_things_of_one_check_the_graver_counts(knowledge):
    walk = complained(knowledge, Audience.PHONE, "intake-cleaning", "stalls", "stalls-driving")
    assert walk.view.stated["stalls"] == "while-driving"


def test_died_on_the_road_and_now_it_does_not_start(knowledge):
    """What one complaint needs does not rule out what the other one says."""
    walk = complained(knowledge, Audience.BAY, "battery", "no-crank", "stalls-driving")
    assert walk.view.evidence.sightings
    assert walk.view.makes_sense(knowledge.checks["crank-stop"])


def test_what_was_named_later_is_taken_back_alone(knowledge):
    walk = further(complained(knowledge, Audience.BAY, "intake-cleaning", "high-idle"), "hiss")
    last = walk.last_to_take_back()
    walk = walk.imagine(facts.TakenBack(number=last.number))
    assert walk.case.complaints == ("high-idle",)


def test_a_second_complaint_never_lowers_the_floor(knowledge):
    def floor(*names):
        return complained(knowledge, Audience.PHONE, "oil-service", *names).view.ruling.floor

    for one, other in (
        ("rough-idle", "oil-lamp"),
        ("oil-leak", "overheating"),
        ("hiss", "stalls"),
        ("stalls", "knocking"),
    ):
        assert floor(one, other) >= max(floor(one), floor(other))
