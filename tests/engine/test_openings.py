"""What every good technician looks at first; what a look and a call back cost. Common practice, no source."""

import pytest

from comeback.engine.case import facts
from comeback.engine.choosing.valuation import CALL_BACK, HANDLING, IN_BAY, own_minutes
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk, open_walk
from comeback.kb.vocabulary import Audience


def begin(knowledge, service, complaint) -> Walk:
    walk = open_walk(knowledge, Audience.BAY)
    walk = walk.imagine(facts.ServiceNamed(service=service))
    return walk.imagine(facts.ComplaintNamed(complaint=complaint))


def looks(walk, most=3):
    """The first checks and panels after the danger signs, all as expected, as they are asked."""
    out = []
    while len(out) < most:
        checks = walk.knowledge.checks
        match walk.step:
            case steps.DangerScreen(checks=asked):
                assert not out, "danger signs come first"
            case steps.MakeCheck(check=check):
                asked, out = (check,), [*out, check]
            case steps.ReadPanel(panel=panel, checks=asked):
                out = [*out, panel]
            case steps.LookRound(asked):
                out = [*out, *asked]
            case steps.ChooseCondition(feature=feature, values=values):
                walk = walk.imagine(facts.ConditionNamed(feature=feature, value=values[0]))
                continue
            case _:
                return out
        walk = walk.imagine(walk.answers({check: checks[check].expected for check in asked}, "", ""))
    return out[:most]


@pytest.mark.parametrize(
    ("service", "complaint", "first"),
    [
        ("coolant-change", "overheating", ["coolant-level"]),
        ("air-filter", "no-power", ["filter-box", "duct-fit"]),
        ("air-filter", "engine-light", ["codes", "filter-box"]),
        ("battery", "no-crank", ["battery-clamps", "bat-leads"]),
        ("plugs-coils", "rough-idle", ["coil-plugs"]),
        ("oil-service", "oil-leak", ["dipstick"]),
    ],
)
def test_the_obvious_is_looked_at_first(knowledge, service, complaint, first):
    assert looks(begin(knowledge, service, complaint), len(first)) == first


@pytest.fixture
def opened(small):
    """The small knowledge, with a complaint that opens with the voltage, which the chooser would leave for later."""
    dark = small.complaints["dark"].model_copy(update={"opening": ("volts",)})
    return small.model_copy(update={"complaints": {"dark": dark}, "version": "opened"})


def test_an_opening_look_comes_before_a_cheaper_one_and_after_the_danger_signs(small, opened):
    walk = begin(opened, "lamp-change", "dark")
    assert isinstance(walk.step, steps.DangerScreen)
    assert looks(walk, 1) == ["volts"]
    assert looks(begin(small, "lamp-change", "dark"), 1) == ["lamp-turns"]


def test_what_is_known_is_not_opened_with_again_and_the_first_that_finds_something_ends_it(opened):
    walk = begin(opened, "lamp-change", "dark")
    walk = walk.imagine(walk.answers({"spark": "no"}, "", ""))
    known = walk.imagine(walk.answers({"volts": "present"}, "", ""))
    assert known.step.check != "volts"
    found = walk.imagine(walk.answers({"volts": "none"}, "", ""))
    assert found.view.openings == ()
    assert walk.view.openings == ("volts",)


def test_the_customers_history_costs_the_bay_a_call_back_and_the_phone_nothing_more(small):
    check = small.checks["light"].model_copy(update={"asks_customer": True})
    asks = small.model_copy(update={"checks": {**small.checks, "light": check}})
    assert own_minutes(small, ("light",), Audience.BAY) == 0.5 + IN_BAY
    assert own_minutes(asks, ("light",), Audience.BAY) == 0.5 + IN_BAY + CALL_BACK
    assert own_minutes(asks, ("light",), Audience.PHONE) == 0.5 + HANDLING


def test_history_is_marked_on_what_only_the_customer_knows(knowledge):
    assert all(knowledge.checks[name].asks_customer for name in ("onset", "course", "before", "worst-when"))
    assert not knowledge.checks["intake-form"].asks_customer
