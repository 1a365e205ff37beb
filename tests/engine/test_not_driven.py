"""While a danger sign to people stands, the car is not driven: neither for a check nor as a repair.

Common practice, no source: nobody takes a car on the road whose brake pedal is hard or whose throttle hangs.
"""

import pytest

from comeback.engine.case import facts
from comeback.engine.charts.planner import ladder_of
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.steps import DangerScreen
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience, Disposition, Tier


def screened(knowledge, complaint, told):
    """A bay walk with its danger screens answered, as expected but for what is told."""
    walk = begin_walk(knowledge, "intake-cleaning", complaint, Audience.BAY)
    while isinstance(walk.step, DangerScreen):
        results = {check: told.get(check, knowledge.checks[check].expected) for check in walk.step.checks}
        walk = walk.imagine(walk.answers(results, "", ""))
    return walk


def driving(knowledge, names):
    return {name for name in names if knowledge.checks.get(name, knowledge.repairs.get(name)).drives}


def test_the_shipped_knowledge_says_what_drives_the_car(knowledge):
    """Read from the words: what begins with Drive on the road is marked, and what is marked runs the engine."""
    marked = [e for e in (*knowledge.checks.values(), *knowledge.repairs.values()) if e.drives]
    assert all(entry.runs_engine for entry in marked)
    for check in knowledge.checks.values():
        if Audience.BAY in check.audience and str(check.do).startswith("Drive "):
            assert check.drives, check.id


def test_without_a_sign_the_road_is_open(knowledge):
    view: CaseView = screened(knowledge, "rough-idle", {}).view
    assert not view.not_driven
    assert driving(knowledge, view.askable())
    assert driving(knowledge, view.repairs())


@pytest.mark.parametrize(
    ("complaint", "told"),
    [("hard-brake", {}), ("rough-idle", {"brake-pedal": "hard"}), ("keeps-racing", {})],
)
def test_with_a_hard_pedal_or_a_hanging_throttle_nothing_drives(knowledge, complaint, told):
    view = screened(knowledge, complaint, told).view
    assert view.not_driven
    for name in view.not_driven:
        check = knowledge.checks[name]
        assert check.tier is Tier.PEOPLE
        assert check.red_flag[view.results[name]] >= Disposition.TOW
    assert not driving(knowledge, view.askable())
    assert not driving(knowledge, view.repairs())
    assert not view.can_make(knowledge.checks["loaded-misfire"])


def test_the_repair_of_what_shows_in_the_sign_opens_the_road_again(knowledge):
    walk = screened(knowledge, "hard-brake", {})
    walk = walk.imagine(facts.Repaired(repair="refit-booster-hose"))
    assert not walk.view.not_driven


def test_on_the_phone_nothing_is_barred(knowledge):
    """A caller is told what to do with the car by the danger signs themselves."""
    walk = begin_walk(knowledge, "intake-cleaning", "hard-brake", Audience.PHONE)
    assert not walk.view.not_driven


def test_a_chart_of_a_hard_pedal_names_no_drive(knowledge):
    ladder = ladder_of(knowledge, "intake-cleaning", "hard-brake", Audience.BAY)
    assert ladder.stations
    for station in ladder.stations:
        names = {*station.checks, *(name for row in station.rows for name in row.repairs)}
        assert not driving(knowledge, names)
