"""The first questions of a call, as a hurried service writer answers them: dangers first, exits everywhere.

All words typed are invented phrases; no source.
"""

import pytest

from comeback.cli import exit_codes
from comeback.cli.screens import wording
from comeback.engine.belief.network import build_network
from comeback.engine.case import facts
from comeback.engine.case_log.outcomes import outcome_of
from comeback.engine.walk import steps
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience, Disposition

LEAVE = "q\r"


@pytest.mark.parametrize("before", ["", "n\r"], ids=["while asked about driving", "while asked about the service"])
@pytest.mark.parametrize(
    ("said", "complaint"),
    [("its on fire", "hood-smoke"), ("petrol everywhere", "fuel-drip"), ("fumes in the car", "fumes-in-cabin")],
)
def test_beside_a_fire_nothing_more_is_asked(press, before, said, complaint):
    _, _, walk = press("phone", f"{before}{said}\r1\r{LEAVE}")
    assert (walk.case.complaint, walk.case.service) == (complaint, None)
    assert isinstance(walk.step, steps.Advise)
    assert walk.step.disposition is Disposition.GET_CLEAR


def test_after_another_danger_its_signs_are_asked_first_and_then_the_service(press):
    keys = "n\rbrakes dont work, pedal goes to the floor\r1\r"
    _, _, walk = press("phone", keys + LEAVE)
    assert isinstance(walk.step, steps.DangerScreen)
    _, _, walk = press("phone", keys + "n\r" + LEAVE)
    assert isinstance(walk.step, steps.ChooseService)
    _, _, walk = press("phone", keys + "n\roil\r" + LEAVE)
    assert walk.effective_advice(walk.step.disposition) >= Disposition.TOW


def test_a_danger_named_while_driving_is_asked_about_is_followed_by_that_question(press):
    _, screen, walk = press("phone", "brakes gone\r1\rn\r" + LEAVE)
    assert screen.count(wording.DRIVING) == 2
    assert walk.case.driving is False
    assert isinstance(walk.step, steps.DangerScreen)


def test_where_the_car_stands_may_hold_words_of_danger(press):
    _, _, walk = press("phone", "n\rbrakes gone\r1\rn\roil\rtold\ry\rbeside the fire station\r\r" + LEAVE)
    assert walk.case.place == "beside the fire station"


def test_a_danger_that_comes_up_later_is_asked_about_at_once(press):
    keys = f"n\roil\ridles rough\r1\rn\rnow there is smoke\r1\r{LEAVE}"
    _, _, walk = press("phone", keys)
    assert walk.case.answer("hood-smoke").result == "smoke"
    assert isinstance(walk.step, steps.Advise)
    assert walk.step.disposition is Disposition.GET_CLEAR


def test_a_danger_typed_at_the_list_of_danger_signs_is_told_its_number(press):
    _, screen, walk = press("phone", f"n\roil\ridles rough\r1\rthere is fire\r{LEAVE}")
    assert wording.DANGER_HERE.format(number=1) in screen
    assert isinstance(walk.step, steps.DangerScreen)


@pytest.mark.parametrize("said", ["1 7", "1,7", "oil and air filter"])
def test_several_services_are_one_answer_and_their_slips_are_all_kept_in_mind(press, knowledge, said):
    _, screen, walk = press("phone", f"n\r{said}\r{LEAVE}")
    assert set(walk.case.services) == {"air-filter", "oil-service"}
    assert "Noted: " in screen
    causes = set(walk.view.network.causes)
    for service in walk.case.services:
        assert causes >= {c.id for c in knowledge.causes.values() if c.service == service}


@pytest.mark.parametrize("said", ["d", "no idea", "full service", "yearly service", "engine"])
def test_not_knowing_the_service_goes_on_and_the_bay_is_asked_again(press, said):
    _, screen, walk = press("phone", f"n\r{said}\rit shakes at idle\r1\rn\r{LEAVE}")
    assert wording.SERVICE_UNKNOWN.split(".")[0] in " ".join(screen.split())
    assert walk.case.service_unknown == "phone"
    assert isinstance(walk.step, steps.ChooseCondition)  # any service is done on a diesel too, for all that is known
    _, _, bay = press("bay", LEAVE, case=walk.case.id)
    assert isinstance(bay.step, steps.DangerScreen | steps.ChooseService)
    while isinstance(bay.step, steps.DangerScreen):
        bay = bay.imagine(bay.answers({c: bay.knowledge.checks[c].expected for c in bay.step.checks}, "", ""))
    assert isinstance(bay.step, steps.ChooseService)


def test_a_service_that_two_names_fit_is_asked_about_by_number(press):
    _, screen, walk = press("phone", f"n\rthrottle cleaning\r{LEAVE}")
    assert "6 engine cleaning service" in screen
    assert "11 throttle cleaning" in screen
    assert isinstance(walk.step, steps.ChooseService)


@pytest.mark.parametrize("said", ["purple elephant", "none of these", "d"])
def test_what_fits_no_complaint_is_said_and_still_asks_the_danger_signs(press, said):
    keys = f"n\roil\r{said}\r{LEAVE}" if said != "purple elephant" else f"n\roil\r{said}\rnone\r{LEAVE}"
    _, screen, walk = press("phone", keys)
    assert walk.case.complaint == "something-else"
    assert isinstance(walk.step, steps.DangerScreen)
    assert said != "purple elephant" or "Nothing here matches 'purple elephant'" in screen
    assert walk.case.words in ("", said)


def test_one_of_all_services_makes_each_slip_as_much_less_likely_and_wear_as_likely_as_ever(knowledge):
    every = tuple(knowledge.services)
    one, all_of = build_network(knowledge, every, one_of=True), build_network(knowledge, every)
    shares = dict(zip(one.causes, one.prior, strict=True))
    for cause, whole in zip(all_of.causes, all_of.prior, strict=True):
        of = len(every) if knowledge.causes[cause].kind.needs_service else 1
        assert shares[cause] == pytest.approx(whole / of)
    left_out = set(one.causes) - set(all_of.causes)  # worn parts that one of them has just renewed
    assert all(knowledge.causes[cause].not_after for cause in left_out)


def test_services_can_be_corrected_and_taken_back(press):
    _, _, walk = press("phone", f"n\r1 7\redit 1\r7\r{LEAVE}")
    assert walk.case.services == ("oil-service",)
    _, _, walk = press("phone", f"n\r1 7\rb\r{LEAVE}")
    assert walk.case.services == ()


def test_nothing_is_learned_of_frequencies_from_a_case_of_several_services(knowledge):
    walk = open_walk(knowledge, Audience.BAY)
    for fact in (
        facts.ServiceNamed("oil-service", ("air-filter",)),
        facts.ComplaintNamed("oil-leak"),
        facts.Closed("oil-leak", causes=("drain-plug-loose",), proven=True),
    ):
        walk = walk.imagine(fact)
    assert outcome_of(walk.events) is None


def test_a_call_about_a_fire_ends_with_its_advice_and_asks_nothing_beside_it(press):
    code, out, walk = press("phone", "its on fire\r1\rtold\ry\rn\rn\r")
    assert code == exit_codes.DONE
    assert walk.case.disposition == "get-clear"
    assert "back on the line" not in out


@pytest.mark.parametrize("said", ["brakes are soft", "car wont slow down"])
def test_words_of_danger_count_though_no_complaint_on_the_list_was_the_right_one(press, said):
    """A caller was told to drive as usual who had said that the brakes are soft, and then: none of these."""
    _, screen, walk = press("phone", f"n\rintake\r{said}\rn\rn\r{LEAVE}")
    assert walk.case.complaint == "something-else"
    assert "own words name a danger" in screen
    assert walk.effective_advice(walk.advice().disposition) >= Disposition.TOW


def test_who_says_on_the_road_that_the_brakes_fail_hears_what_to_do(press):
    _, screen, _ = press("phone", f"my brakes do not work\r{LEAVE}")
    assert "pump the brake pedal fast" in " ".join(screen.split())


@pytest.mark.parametrize(
    ("said", "taken"),
    [
        ("battery is dead in a parking lot", False),
        ("they replaced the battery and now it is dead", True),
        ("battery", True),
    ],
)
def test_trouble_is_not_taken_for_the_service_that_was_done(press, said, taken):
    _, screen, walk = press("phone", f"n\r{said}\r")
    assert bool(walk.case.services) is taken
    assert taken or "Which of these is it?" in screen


@pytest.mark.parametrize(
    ("said", "service", "complaint"),
    [
        ("you just changed my oil and now it idles rough", "oil-service", "rough-idle"),
        ("it whistles since the air filter", "air-filter", "hiss"),
        ("spark plugs, it misses uphill", "plugs-coils", "misses-uphill"),
    ],
)
def test_service_and_complaint_of_one_sentence_are_both_taken(press, said, service, complaint):
    _, screen, walk = press("phone", f"n\r{said}\r1\r{LEAVE}")
    assert (walk.case.service, walk.case.complaint) == (service, complaint)
    assert "Noted: " in screen
    assert wording.OPEN_QUESTION not in screen


@pytest.mark.parametrize("before", ["", "n\r"], ids=["while asked about driving", "while asked about the service"])
def test_the_service_named_beside_a_danger_is_kept_for_the_bay(press, before):
    _, screen, walk = press("phone", f"{before}the garage reeks of gasoline since the fuel filter\r1\r{LEAVE}")
    assert walk.case.service == "fuel"
    assert "Noted: fuel filter service" in screen


@pytest.mark.parametrize(
    ("said", "lights"),
    [
        ("it idles rough and the check engine light came on", {"engine-lamp": "lit-on"}),
        ("it idles rough and the engine light is flashing", {"engine-lamp": "lit-on", "lamp-flashing": "flashes"}),
        (
            "it idles rough, the check engine light is on and it's flashing",
            {"engine-lamp": "lit-on", "lamp-flashing": "flashes"},
        ),
        ("it idles rough, no check engine light", {}),
        ("it idles rough, the engine light was on before", {}),
    ],
)
def test_a_light_named_beside_the_complaint_is_recorded_as_said(press, said, lights):
    keys = f"n\rair filter\r{said}\r1\r"
    _, _, walk = press("phone", keys + LEAVE)
    assert walk.case.complaint == "rough-idle"
    told = {a.check: a.result for a in walk.case.answers}
    assert {check: told.get(check) for check in ("engine-lamp", "lamp-flashing") if check in told} == lights
