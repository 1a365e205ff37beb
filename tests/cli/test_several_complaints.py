"""Several complaints at the prompt: words that match two, numbers, ids, and one more later."""

import pytest

from comeback.cli.prompt.replies import read_answer
from comeback.cli.words.sentence import find_parts
from comeback.engine.case import facts
from comeback.engine.walk import steps
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience

LEAVE = "q\r"


@pytest.mark.parametrize(
    ("parts", "first"),
    [
        (["the light came on", "it idles fast"], {"engine-light", "high-idle"}),
        (["no heat", "a puddle under the car"], {"no-heat", "fluid-leak"}),
        (["it stalls", "smells of gas"], {"stalls", "fuel-smell"}),
    ],
)
def test_what_each_part_of_a_sentence_means_is_listed_first(knowledge, parts, first):
    found = find_parts(knowledge, parts, tuple(knowledge.complaints))
    assert set(found.near[:2]) == first
    if found.danger:
        assert found.near[0] == "fuel-smell"


def test_both_numbers_of_the_list_are_one_case_with_two_findings(press):
    _, screen, walk = press("phone", f"n\rintake cleaning\rthe light came on and it idles fast\r1 2\r{LEAVE}")
    assert walk.case.complaints == ("high-idle", "engine-light")
    assert walk.view.stated == {"idle-speed": "high", "engine-lamp": "lit-on"}
    assert isinstance(walk.step, steps.DangerScreen)
    assert "2 complaints: high idle" in screen


@pytest.mark.parametrize("typed", ["1, 3", "1 and 3", "3 1"])
def test_numbers_however_they_are_written(knowledge, typed):
    walk = open_walk(knowledge, Audience.PHONE).with_step(steps.ChooseComplaint(tuple(knowledge.complaints)))
    reply = read_answer(walk, typed, found=("high-idle", "hiss", "fuel-smell", "something-else"))
    assert reply.fact == facts.ComplaintNamed("fuel-smell", also=("high-idle",))


def test_none_of_these_beside_one_of_them_is_that_one(knowledge):
    walk = open_walk(knowledge, Audience.PHONE).with_step(steps.ChooseComplaint(tuple(knowledge.complaints)))
    reply = read_answer(walk, "1 4", found=("high-idle", "hiss", "fuel-smell", "something-else"))
    assert reply.fact == facts.ComplaintNamed("high-idle")
    assert not hasattr(read_answer(walk, "1 9", found=("high-idle", "hiss")), "fact")


@pytest.mark.parametrize("audience", ["phone", "bay"])
def test_one_more_is_named_later_and_its_own_danger_signs_are_asked(press, audience):
    first = "n\r" if audience == "phone" else ""
    keys = f"{first}intake cleaning\rit whistles\r1\rn\ralso the light came on\r1\r{LEAVE}"
    _, _, walk = press(audience, keys, car="gasoline")
    assert walk.case.complaints == ("hiss", "engine-light")
    assert "it whistles / the light came on" in walk.case.words
    assert isinstance(walk.step, steps.DangerScreen)
    assert "lamp-flashing" in walk.step.checks


def test_back_takes_only_the_one_named_later(press):
    _, _, walk = press("phone", f"n\rintake cleaning\rit whistles\r1\rn\ralso the light came on\r1\rb\r{LEAVE}")
    assert walk.case.complaints == ("hiss",)


def test_also_before_anything_is_named_is_the_complaint(press):
    _, _, walk = press("phone", f"n\rintake cleaning\ralso it whistles\r1\r{LEAVE}")
    assert walk.case.complaints == ("hiss",)
