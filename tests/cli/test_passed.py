"""It is gone now: typed in any words, at the complaint question or later. Own phrases."""

import pytest

from comeback.cli.words.passed import parts_said, says_passed
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Disposition

LEAVE = "q\r"


@pytest.mark.parametrize(
    "text",
    [
        "it's gone", "It is gone now", "gone", "it stopped doing it", "fine now", "it went away", "now it is fine",
        "idled fast for two days but it's fine now", "the oil light was on but it went out", "it\u2019s fine again now",
        "it doesn't do it any more", "it no longer does it", "back to normal", "all good now", "the light is off now",
        "it has stopped doing that", "smelled of gas yesterday, gone today", "it cleared up", "the light went off",
    ],
)  # fmt: skip
def test_it_has_passed(text):
    assert says_passed(text)


@pytest.mark.parametrize(
    "text",
    [
        "the brakes are gone", "power is gone", "it stopped", "drives fine", "light is on but it runs fine", "no heat",
        "all the coolant is gone", "it goes away when it is warm", "the light comes and goes", "the pedal went out",
        "the light went out but it still shakes", "I was driving and it went off",
        "the light went out and now it stalls", "the oil light was on but it's fine now",
    ],
)  # fmt: skip
def test_it_has_not(text):
    assert not says_passed(text)


def test_what_was_said_beside_it_is_what_is_looked_for():
    assert parts_said("idled fast for two days but it's fine now") == ["idled fast for two days"]


@pytest.mark.parametrize(
    "keys",
    [
        "it idled fast for two days but it's fine now\r1\r",
        "idles fast\r1 gone\r",
        "idles fast\r1\rit stopped doing it\r",
        "idles fast\rit's gone now\r1\r",
        "it's gone now\ridles fast\r1\r",
    ],
)
def test_a_caller_who_says_so_is_told_to_watch(press, keys):
    _, screen, walk = press("phone", f"n\rintake cleaning\r{keys}n\r{LEAVE}")
    assert walk.view.results["still-there"] == "gone"
    assert isinstance(walk.step, steps.Advise)
    assert walk.step.disposition is Disposition.WATCH
    told = " ".join(screen.split())
    assert "There is nothing to do now" in told
    assert "high idle" in told[told.index("nothing to do now") :].lower()  # what to watch for
    assert "This often passes" not in told


def test_a_danger_that_has_passed_is_told_as_the_danger_that_it_was(press):
    _, screen, walk = press("phone", f"n\rfuel filter\rsmells of gas\r1 gone\rn\r{LEAVE}")
    assert walk.step.disposition >= Disposition.TOW
    assert "nothing to do" not in screen


def test_the_bay_closes_the_case_without_a_repair(press):
    _, screen, walk = press("bay", "intake cleaning\ridles fast\r1\rgone\rn\rn\ry\r")
    assert walk.case.closed is not None
    assert walk.case.closed.repairs == ()
    assert walk.case.closed.cause_named == "passed"
    told = " ".join(screen.split())
    assert "nothing to repair" in told
    assert "come back" in told


def test_taken_back_it_is_there_again(press):
    _, _, walk = press("phone", f"n\rintake cleaning\ridles fast\r1\rgone\rb\r{LEAVE}")
    assert not walk.view.gone


def test_a_light_stays_a_complaint_until_the_caller_says_that_it_is_out(press):
    call = "n\rintake cleaning\rthe check engine light is on but it's fine now\r1\r"
    _, screen, walk = press("phone", f"{call}it runs fine now\r{LEAVE}")
    assert not walk.view.gone
    assert "type: the light is out" in " ".join(screen.split())
    _, _, walk = press("phone", f"{call}the light is out now\r{LEAVE}")
    assert walk.view.gone
