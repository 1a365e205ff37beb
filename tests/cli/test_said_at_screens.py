"""Codes and readings said at the screens of a walk, and a readout recorded beside one that is open.

All cases are invented.
"""

import pytest

from comeback.cli.command_line import run
from comeback.cli.prompt.replies import Doubt, Record, Remark, read_answer
from comeback.engine.case import facts
from comeback.engine.walk import steps
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience


@pytest.fixture(scope="module")
def at_codes(knowledge):
    checks = tuple(check.id for check in knowledge.checks.values() if check.codes)
    return open_walk(knowledge, Audience.BAY).with_step(steps.ReadPanel("codes", checks, 1, 1))


@pytest.mark.parametrize(
    ("typed", "codes"),
    [("P0303, P0353", ["P0303", "P0353"]), ("P0303 and P0353", ["P0303", "P0353"]), ("p0507, pending", ["P0507"]),
     ("p0303 p0353", ["P0303", "P0353"]), ("p303", ["P0303"]), ("no codes", []), ("codes-lean:lean P0303", ["P0303"])],
)  # fmt: skip
def test_codes_are_taken_at_once_for_the_whole_panel(at_codes, typed, codes):
    reply = read_answer(at_codes, typed)
    assert isinstance(reply, Record), reply
    assert list(reply.fact.codes) == codes


def test_two_single_cylinder_misfire_codes_mean_several_as_in_a_readout(at_codes):
    # Two above 10 % each give the multiple code: 13 CCR 1968.2(e)(3.1.3).
    assert read_answer(at_codes, "P0301 P0304").fact.results["codes-misfire"] == "several"


@pytest.mark.parametrize("typed", ["P0303 cleared", "not P0303", "P0303?"])
def test_code_that_is_denied_is_asked_back(at_codes, typed):
    reply = read_answer(at_codes, typed)
    assert isinstance(reply, Remark)
    assert "there now" in reply.text


@pytest.mark.parametrize(
    ("check", "typed", "kind"),
    [("trim-idle", "3", Doubt), ("trim-idle", "3 %", Record), ("trim-idle", "+ 6,5 %", Record),
     ("idle-error", "780", Doubt), ("idle-map", "1", Remark)],
)  # fmt: skip
def test_number_in_doubt_is_asked_back(knowledge, check, typed, kind):
    walk = open_walk(knowledge, Audience.BAY).with_step(steps.MakeCheck(check, 3, 5, ()))
    assert isinstance(read_answer(walk, typed), kind)


class Script:
    """Answers one after the other; a function among them is called before the next."""

    interactive = scripted = False

    def __init__(self, *said):
        self.said = list(said)

    def ask(self, walk):
        while self.said and callable(self.said[0]):
            self.said.pop(0)(walk)
        if not self.said:
            raise EOFError
        return self.said.pop(0)


def test_readout_in_a_second_terminal_is_taken_in_by_the_open_walk(press):
    beside = []

    def read(walk):
        beside.append(walk.case.id)
        assert run(["readout", "P0171", "idle", "MAP=52", "--case", walk.case.id, "--by", "Ida"]) == 0

    reader = Script("intake", "it idles too fast", "1", "n", "n", read, "note waits outside", "d")
    _, screen, walk = press("bay", "", reader=reader)
    assert "New since then from a readout (Ida)" in screen
    assert "Somebody else" not in screen
    assert walk.case.answer("codes-lean").result == "lean"
    assert [event.payload["text"] for event in walk.events if event.kind == "noted"] == ["waits outside"]


@pytest.mark.parametrize(
    ("audience", "complaint", "expected"),
    [("bay", "no-start-cranks", False), ("bay", "rough-idle", True), ("phone", "no-start-cranks", True)],
)
def test_what_only_a_running_engine_shows_is_not_known_of_one_in_the_bay_that_does_not_start(
    knowledge, audience, complaint, expected
):
    walk = open_walk(knowledge, Audience(audience))
    walk = walk.imagine(facts.ServiceNamed(service="plugs-coils"))
    walk = walk.imagine(facts.ComplaintNamed(complaint=complaint))
    walk = walk.with_step(steps.DangerScreen(("raw-fuel", "metal-knock")))
    found = read_answer(walk, "n").fact.results
    assert found["raw-fuel"] == knowledge.checks["raw-fuel"].expected
    assert found["metal-knock"] == (knowledge.checks["metal-knock"].expected if expected else None)
