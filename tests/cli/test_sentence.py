"""Sentences taken apart: the work done, when and where, and what the car does. The sentences are made up."""

import pytest

from comeback.cli.words.passed import parts_said
from comeback.cli.words.search import find_complaints
from comeback.cli.words.sentence import find_parts, lights_named, without_work, work_said


@pytest.mark.parametrize(
    ("said", "services", "rest"),
    [
        ("it shakes since you changed my oil", {"oil-service"}, ["it shakes"]),
        ("the garage stinks of gasoline since the fuel filter", {"fuel"}, ["the garage stinks of gasoline"]),
        ("you put a new battery in and now it dies at lights", {"battery"}, ["now it dies at lights"]),
        ("after I had my spark plugs done it misses", {"plugs-coils"}, ["it misses"]),
        ("you just changed my oil this morning", {"oil-service"}, []),
        ("new belt and it squeals", set(), ["it squeals"]),  # two services renew a belt: asked, not guessed
    ],
)
def test_work_named_in_a_sentence_is_told_from_what_the_car_does(knowledge, said, services, rest):
    assert {*work_said(knowledge, said).services} == services
    assert without_work(knowledge, parts_said(said)) == rest


@pytest.mark.parametrize(
    "said",
    ["since the oil light came on it knocks", "after the battery died it would not start", "the battery is dead",
     "you said it was fixed", "it won't start", "I have to crank it a long time",
     "no power since you cleaned that thing", "since yesterday", "before the air filter light"],
)  # fmt: skip
@pytest.mark.parametrize("asked", [False, True])
def test_trouble_named_after_since_is_no_work(knowledge, said, asked):
    assert work_said(knowledge, said, asked).services == ()


def test_only_a_light_is_recorded_as_a_light(knowledge):
    """A dry dipstick fits the complaint of the oil level light."""
    assert lights_named(knowledge, "the dipstick is dry") == {}


@pytest.mark.parametrize(
    ("said", "complaint"),
    [
        ("I barely made it home", None),
        ("it idles like garbage", "rough-idle"),
        ("it runs like crap", "rough-idle"),
        ("it is a real dog", "no-power"),
        ("it falls on its face", "hesitation"),
        ("sounds like popcorn", "pop-noise"),
        ("I have to keep my foot on it", "stalls"),
        ("when I go up a hill it stumbles and shudders", "misses-uphill"),
        ("when I step on it, it stutters", "hesitation"),
        ("first thing in the morning, the idle is rough", "rough-idle"),
    ],
)
def test_what_only_shares_a_common_word_means_nothing_and_slang_means_the_complaint(knowledge, said, complaint):
    found = find_parts(knowledge, parts_said(said), tuple(knowledge.complaints))
    assert found.danger == frozenset()
    assert found.near[:1] == ((complaint,) if complaint else ()), found.near[:3]


@pytest.mark.parametrize("said", ["garbage", "kettle", "spits"])
def test_an_everyday_word_is_no_slip_of_the_fingers(knowledge, said):
    """They were "garage", "settle" and "spins"."""
    assert find_complaints(knowledge, said, knowledge.complaints).near == ()


def test_away_and_run_far_apart_are_no_runaway_engine(knowledge):
    said = "the light came on right away and it will not run"
    assert not find_parts(knowledge, parts_said(said), tuple(knowledge.complaints)).danger


@pytest.mark.parametrize("said", ["it runs away", "no smoke but it smells of gas since the fuel filter"])
def test_a_danger_beside_the_work_is_still_heard(knowledge, said):
    assert find_parts(knowledge, parts_said(said), tuple(knowledge.complaints)).danger
