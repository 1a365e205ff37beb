"""The customers of the comebacks in tests/data/own_comebacks*.yaml are understood in their own words."""

import pytest

from comeback.cli.words.passed import parts_said
from comeback.cli.words.search import find_parts
from comeback.engine.case import facts
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience
from support.own_comebacks import read_own_comebacks

COMEBACKS = read_own_comebacks()
LISTED = 9
LEAST_UNDERSTOOD = 39


def listed(knowledge, comeback):
    """The complaints listed for the customer's words, best first."""
    walk = open_walk(knowledge, Audience.PHONE, car="gasoline")
    walk = walk.imagine(facts.ServiceNamed(service=comeback.mapped["service"]))
    found = find_parts(knowledge, parts_said(comeback.words), walk.step.complaints)
    return (found.near or found.complaints)[:LISTED]


def understood(knowledge, comeback):
    """True if a listed complaint says only what the facts of this car bear out."""
    facts, checks = comeback.mapped["facts"], knowledge.checks
    reports = [knowledge.complaints[name].reports for name in listed(knowledge, comeback)]
    return any(
        one and all(facts.get(check, checks[check].expected) == result for check, result in one.items())
        for one in reports
    )


def test_nearly_all_customers_find_their_complaint(knowledge):
    lost = [name for name, comeback in COMEBACKS.items() if not understood(knowledge, comeback)]
    assert len(COMEBACKS) - len(lost) >= LEAST_UNDERSTOOD, lost


@pytest.mark.parametrize("name", [name for name, comeback in COMEBACKS.items() if comeback.dangerous])
def test_a_dangerous_complaint_is_always_listed(knowledge, name):
    assert COMEBACKS[name].mapped["complaint"] in listed(knowledge, COMEBACKS[name])
