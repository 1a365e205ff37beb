"""What a technician asks of the bay's screens: procedures, findings of one's own, the cause that was seen, lists.

The expected texts are the knowledge's own; the keys are those that `?` and the screens name.

All cases are invented.
"""

import pytest

from comeback.cli.look import Look
from comeback.cli.prompt.recording import step_again
from comeback.cli.prompt.replies import read_answer
from comeback.cli.records.formats import rendered
from comeback.cli.screens import screens
from comeback.cli.screens import stop_screens as stops
from comeback.cli.screens.earlier_answers import earlier_answers
from comeback.cli.screens.pages import pages
from comeback.cli.screens.summary import result_lines
from comeback.engine.case import facts
from comeback.engine.case.events import Draft
from comeback.engine.walk import steps
from comeback.engine.walk.explanation import result_effects
from comeback.engine.walk.walk import begin_walk, open_walk
from comeback.kb.vocabulary import Audience

START = "8\rit shakes at idle\r1\rn\rn\r"
MENDED = START + "P0303\rP0353\r2\rm\rdone\ry\r"
LEAVE = "q\r"


def in_the_bay(knowledge):
    walk = open_walk(knowledge, Audience.BAY)
    walk = walk.imagine(Draft("service", "", "", {"service": "plugs-coils"}))
    return walk.imagine(Draft("complaint", "", "", {"complaint": "rough-idle", "words": ""}))


def test_every_procedure_of_a_repair_stands_on_its_screen_behind_its_own_cautions(knowledge):
    walk, look = in_the_bay(knowledge), Look(200)
    followed = [repair for repair in knowledge.repairs.values() if repair.procedures]
    assert followed
    for repair in followed:
        at = walk.with_step(steps.DoRepair(repair.id, 20.0, 0.9, 30.0, ()))
        text = " ".join(look.paint(screens.body(at, look)).split())
        for name in repair.procedures:
            entry = knowledge.procedures[name]
            began = text.index(f"Then: {entry.name}")
            for told in (entry.when, *entry.steps, entry.done_when):
                assert told in text[began:], (repair.id, told)
            first = text.index(entry.steps[0], began)
            for caution in entry.cautions:
                assert knowledge.cautions[caution].avoid in text[began:first]
                assert caution in screens.step_cautions(at)  # so it is on the stop screens too


def test_no_page_of_a_procedure_begins_without_its_gravest_hazard(knowledge):
    look = Look()
    at = in_the_bay(knowledge).with_step(
        steps.DoRepair(next(r.id for r in knowledge.repairs.values() if "prime-fuel" in r.procedures), 20, 0.9, 30, ())
    )
    assert stops.step_stops(at, look)
    for page in pages(at, screens.body(at, look, warned=True), look, 17):
        assert "DANGER" in look.paint(page)


def test_all_answers_of_a_second_look_stand_on_one_page(knowledge):
    look, walk = Look(), in_the_bay(knowledge)
    for check in knowledge.checks.values():
        if Audience.BAY in check.audience:
            at = walk.with_step(steps.MakeCheck(check.id, 3, 0, (), again=check.names[-1]))
            parts = pages(at, screens.body(at, look, warned=True), look, 17)
            results = set(screens.result_lines(check, look))
            assert any(results <= set(part) for part in parts), check.id


def test_a_code_typed_at_any_prompt_of_the_bay_is_a_finding(press):
    _, screen, walk = press("bay", START + "P0303\r" + LEAVE)
    assert walk.case.answer("codes-misfire").result == "one"
    assert "Misfire codes: One cylinder" in screen
    _, _, walk = press("bay", START + "P0303\rP0301\r" + LEAVE)
    assert walk.case.answer("codes-misfire").result != "one"  # two cylinders by now


def test_something_seen_is_searched_and_answered_on_its_own_screen(press):
    _, screen, walk = press("bay", START + "saw engine lamp\r1\r2\r" + LEAVE)
    assert "Which of these did you look at?" in screen
    assert walk.case.answer("engine-lamp").result == "lit-on"
    assert "Save its codes before anything clears them" not in screen.split("Which of these")[0]


def test_on_the_phone_these_words_stay_the_caller_s(press):
    _, _, walk = press("phone", "n\r8\rsaw it shake at idle\r" + LEAVE)
    assert walk.case.complaint is None
    assert not walk.case.answers


@pytest.mark.parametrize(
    ("keys", "how", "causes"),
    [("y\r", "confirmed", 1), ("1\r", "chosen", 1), ("d\r", "not seen", 0), ("other loose clip\r", "in words", 0)],
)
def test_the_recorded_cause_is_the_one_that_somebody_named(press, knowledge, keys, how, causes):
    _, _, walk = press("bay", MENDED + keys)
    closed = walk.case.closed
    assert closed.cause_named == how
    assert len(closed.causes) == causes
    record = rendered(knowledge, walk.events, "text")
    assert ("loose clip" in record) == (how == "in words")


def test_a_repair_passed_over_stands_in_the_record_as_not_done(press, knowledge):
    _, _, walk = press("bay", START + "P0303\rP0353\r2\rskip\r" + LEAVE)
    assert walk.case.skipped
    assert "not done: " in rendered(knowledge, walk.events, "text")


def test_a_reopened_hand_over_says_what_can_be_done_and_can_be_taken_back(press):
    _, _, walk = press("bay", START + "P0303\rP0353\r2\rhand-over\r")
    _, screen, after = press("bay", "b\r" + LEAVE, case=walk.case.id)
    assert "take the hand-over back" in screen
    assert after.case.handed_over is None
    assert isinstance(after.step, steps.DoRepair)


def test_codes_read_at_one_go_are_one_line_of_the_record(knowledge):
    walk = in_the_bay(knowledge)
    checks = [check for check in knowledge.checks.values() if check.panel == knowledge.checks["codes-misfire"].panel]
    results = {check.id: check.expected for check in checks} | {"codes-misfire": "one"}
    told = {"results": results, "readings": {}, "audience": "bay", "codes": ["P0303"]}
    record = rendered(knowledge, walk.imagine(Draft("answered", "2026-01-01T10:00", "Ida", told)).events, "text")
    found = " ".join(record.split("FINDINGS")[1].split("CAUSES")[0].split())
    assert f"P0303; Misfire codes: One cylinder; none in {len(checks) - 1} other families" in found
    assert found.count("10:00") == 1


def test_what_why_promises_of_an_answer_is_what_holds_after_it(knowledge):
    walk = in_the_bay(knowledge)
    while not isinstance(walk.step, steps.MakeCheck):
        step = walk.step
        if isinstance(step, steps.ChooseCondition):
            walk = walk.imagine(facts.ConditionNamed(feature=step.feature, value=step.values[0]))
        else:
            walk = walk.imagine(walk.answers({c: knowledge.checks[c].expected for c in step.checks}, "", ""))
    check = walk.step.check
    for effect in result_effects(walk.view, check):
        after = walk.imagine(walk.answers({check: effect.result}, "", "")).view.belief
        for cause, _, promised in effect.moves:
            assert after.probability(cause) == pytest.approx(promised)


def test_what_was_found_before_a_repair_is_asked_again_with_the_reason(knowledge):
    walk = in_the_bay(knowledge)
    walk = walk.imagine(walk.answers({"noise": "hiss"}, "", ""))
    walk = walk.imagine(Draft("repaired", "", "", {"repair": "fit-port-cap"}))
    walk, look = walk.with_step(steps.MakeCheck("noise", 1.0, 1.0, ())), Look(200)
    text = " ".join(look.paint(screens.body(walk, look)).split())
    assert "Before the repair you found: Hiss or whistle. Look again." in text


@pytest.mark.parametrize(("waits", "told"), [(True, "drive it with the customer"), (False, "to the specialist")])
def test_a_case_that_waits_for_the_trouble_to_show_says_so_whatever_its_reason(knowledge, waits, told):
    walk = in_the_bay(knowledge).imagine(facts.HandedOver("it runs fine today", waits=waits))
    assert told in Look().paint(result_lines(walk, Look(), "a log"))


def test_of_an_engine_that_does_not_start_no_running_sign_is_noted_as_absent(knowledge):
    """What nobody could see is not known: an engine that only cranks can neither knock nor be heard not to."""
    walk = in_the_bay(knowledge).imagine(facts.Answered({"start": "cranks-only"}, audience=Audience.BAY))
    assert walk.view.dead
    assert not in_the_bay(knowledge).imagine(facts.Answered({"start": "starts"}, audience=Audience.BAY)).view.dead
    signs = ("metal-knock", "raw-fuel")
    reply = read_answer(walk.with_step(steps.DangerScreen(signs)), "n")
    assert reply.fact.results == {"metal-knock": None, "raw-fuel": knowledge.checks["raw-fuel"].expected}


@pytest.mark.parametrize(("drive", "warned"), [("hybrid", True), (None, True), ("gasoline", False)])
def test_a_hybrid_and_a_car_that_may_be_one_have_the_cautions_of_high_voltage(knowledge, drive, warned):
    walk = in_the_bay(knowledge).imagine(facts.ConditionNamed("drive", drive))
    assert bool(walk.view.high_voltage) is warned
    assert set(walk.view.high_voltage) <= set(knowledge.not_covered["electric"].cautions)


def test_a_danger_sign_that_nobody_could_tell_says_why_it_is_asked_again(knowledge):
    walk = begin_walk(knowledge, "battery", "no-crank", Audience.BAY)
    walk = walk.imagine(walk.answers(dict.fromkeys(walk.step.checks), "", ""))
    assert walk.step.retry
    assert "Nobody could tell before" in Look().paint(screens.body(walk, Look()))


def test_an_answer_that_is_edited_is_asked_again_under_the_danger_signs_that_stand_now(knowledge):
    walk = in_the_bay(knowledge).imagine(facts.Answered({"idle-speed": "fast"}, audience=Audience.BAY))
    walk = walk.imagine(facts.Answered({"raw-fuel": "smell"}, audience=Audience.BAY))
    (item,) = [item for item in earlier_answers(walk) if item.check == "idle-speed"]
    assert step_again(walk, item).despite == ("raw-fuel",)


def test_a_gasoline_car_has_no_caution_for_high_voltage(knowledge):
    walk = begin_walk(knowledge, "belt", "belt-noise", Audience.BAY)
    at = walk.with_step(steps.DoRepair("mend-charging", 20.0, 0.9, 30.0, ()))
    assert "high-voltage" in knowledge.repairs["mend-charging"].cautions
    assert "high-voltage" not in screens.step_cautions(at)
    unknown = open_walk(knowledge, Audience.BAY).imagine(facts.ServiceNamed("belt"))
    assert "high-voltage" in screens.step_cautions(unknown.with_step(at.step))


def test_a_later_page_names_every_caution_that_an_earlier_page_had(knowledge):
    look = Look()
    at = in_the_bay(knowledge)
    long = 0
    for repair in knowledge.repairs.values():
        here = at.with_step(steps.DoRepair(repair.id, 20, 0.9, 30, (), set_up=tuple(repair.set_up)))
        _, *later = pages(here, screens.body(here, look, room=16), look, 16)
        for page in later:
            text = " ".join(look.paint(page).split()).replace("- ", "-")
            if "Then: " in text:  # a procedure has cautions of its own
                break
            long += 1
            for caution in (knowledge.cautions[name] for name in screens.repair_cautions(here, here.step)):
                assert caution.reminder in text or caution.avoid in text, (repair.id, caution.id)
    assert long


def test_a_hand_over_repeats_what_was_read_on_a_stop_screen_in_its_short_form(knowledge):
    walk = in_the_bay(knowledge).imagine(facts.Warned("danger signs", "safe", cautions=("swapped-leads",)))
    at = walk.with_step(steps.HandOver("this repair needs a specialist", "polarity-handover"))
    text = " ".join(Look().paint(screens.body(at, Look())).split())
    assert "swapped-leads" in screens.step_cautions(at)
    told = knowledge.cautions["swapped-leads"]
    assert told.reminder in text
    assert told.hazard not in text
    unread = in_the_bay(knowledge).with_step(at.step)
    assert told.hazard in " ".join(Look().paint(screens.body(unread, Look())).split())


def test_a_second_look_says_how_doubtful_the_finding_is_and_what_hangs_on_it(knowledge):
    found = knowledge.checks["bat-poles"].names[-1]
    walk = in_the_bay(knowledge).imagine(facts.Answered({"bat-poles": found}, audience=Audience.BAY))
    again = walk.with_step(steps.MakeCheck("bat-poles", 1, 0, (), again=found))
    text = " ".join(Look(200).paint(screens.body(again, Look(200))).split())
    assert "You found: " in text
    assert "of 100 such cars" in text
    assert "Look once more before " in text
