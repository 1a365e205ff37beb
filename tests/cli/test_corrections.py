"""Going back, editing by number, catching up on what is open, and finding things, by the keys that people press."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.cli.look import Look
from comeback.cli.prompt.asides import review_lines
from comeback.cli.screens import earlier_answers, wording
from comeback.cli.words.search import rank, search
from comeback.engine.case import facts
from comeback.engine.case.case import standing
from comeback.engine.case.events import Draft
from comeback.engine.walk import steps
from comeback.engine.walk.walk import begin_walk, open_walk
from comeback.kb.vocabulary import Audience

CALL = "n\r1\rno light\r1\r"  # not driving, the lamp service, the complaint
BAY = "1\rno light\r1\rn\r"  # the service, the complaint, no danger sign
LEAVE = "q\r"


def test_an_edited_answer_takes_the_place_of_the_old_one_and_the_rest_is_kept(press, small):
    _, screen, walk = press("bay", BAY + "1\r" + "edit 3\ry\rsafe\r" + LEAVE, known=small)
    assert "It was: No sparks" in screen
    assert walk.case.answer("spark").result == "yes"
    assert walk.case.answer("lamp-turns").result == "tight"
    kinds = [event.kind for event in walk.events]
    assert kinds[:7] == ["opened", "service", "complaint", "answered", "answered", "taken-back", "answered"]
    assert [a.check for a in walk.case.answers] == ["spark", "lamp-turns"]  # in the order they were asked
    assert walk.events[5].payload["number"] == 4
    assert walk.events[3].payload["results"] == {"spark": "no"}  # the old value stays in the record


def test_editing_one_answer_of_a_screen_keeps_the_time_and_person_of_the_others(press, knowledge):
    _, _, walk = press("phone", "n\r1\rit shakes at idle\r1\rn\redit 3\r2\r" + LEAVE, by="Ben")
    flags = knowledge.complaints["rough-idle"].red_flags
    answers = {a.check: a for a in walk.case.answers}
    first = next(event for event in walk.events if event.kind == "answered")
    assert answers[flags[0]].result == knowledge.checks[flags[0]].names[1]
    assert all(answers[flag].result == knowledge.checks[flag].expected for flag in flags[1:])
    assert {answers[flag].at for flag in flags[1:]} == {first.at}
    assert set(walk.events[-1].payload["since"]) == set(flags[1:])


def test_after_an_edit_only_what_became_necessary_is_asked(press, knowledge):
    """Another complaint: its own danger signs are asked, those that are known are not asked again."""
    _, _, walk = press("phone", "n\rintake\rit idles too fast\r1\rn\redit 2\rit shakes at idle\r1\r" + LEAVE)
    before = set(knowledge.complaints["high-idle"].red_flags)
    now = set(knowledge.complaints["rough-idle"].red_flags)
    reported = set(knowledge.complaints["rough-idle"].reports) | set(knowledge.complaints["high-idle"].reports)
    assert walk.case.complaint == "rough-idle"
    asked = set(walk.step.checks) if isinstance(walk.step, steps.DangerScreen) else set()
    assert asked == now - before - reported
    assert {a.check for a in walk.case.answers} == before


def test_leaving_an_edit_with_back_changes_nothing(press, small):
    _, screen, walk = press("bay", BAY + "edit 3\rb\r" + LEAVE, known=small)
    assert wording.LEFT_FOCUS in screen
    assert [event.kind for event in walk.events] == ["opened", "service", "complaint", "answered"]
    assert isinstance(walk.step, steps.MakeCheck)


@pytest.mark.parametrize("keys", ["edit 9\r", "edit\r", "edit 0\r", "e 99999999999\r"])
def test_an_answer_that_is_not_there_cannot_be_edited(press, small, keys):
    _, screen, walk = press("bay", BAY + keys + LEAVE, known=small)
    assert "There is no answer" in screen
    assert len(walk.events) == 4


def test_review_numbers_the_answers_by_which_they_are_edited(press, small):
    _, screen, walk = press("bay", BAY + "r\r" + LEAVE, known=small)
    for number, item in enumerate(earlier_answers.earlier_answers(walk), 1):
        assert f"{number}  {item.asked}: {item.said}" in screen


def test_many_answers_as_they_should_be_are_one_line_of_the_review_with_their_numbers(knowledge):
    walk = begin_walk(knowledge, "intake-cleaning", "high-idle", Audience.PHONE)
    signs = {check: knowledge.checks[check].expected for check in walk.step.checks}
    assert len(signs) > 4
    clean = [line for _, line in review_lines(walk.imagine(walk.answers(signs, "", "")), Look(width=500))]
    assert any(line.lstrip().startswith(f"3 to {2 + len(signs)}  OK: ") for line in clean)
    signs[next(iter(signs))] = None
    lines = [line for _, line in review_lines(walk.imagine(walk.answers(signs, "", "")), Look(width=500))]
    assert any(line.startswith("    3  ") and "don't know" in line for line in lines)


def test_what_is_not_known_stays_on_a_list_and_can_be_answered_later(press, small):
    keys = BAY + "d\ropen\ropen 1\r2\r" + LEAVE
    _, screen, walk = press("bay", keys, known=small)
    assert "Not known yet" in screen
    assert walk.case.answer("lamp-turns").result == "turns"
    assert [a.result for a in walk.case.answers if a.check == "lamp-turns"] == [None, "turns"]
    assert earlier_answers.open_answers(walk) == []
    assert isinstance(walk.step, steps.DoRepair)


def test_a_jump_does_not_lose_the_place(press, small):
    _, _, before = press("bay", BAY + "d\r" + LEAVE, known=small)
    _, _, after = press("bay", BAY + "d\ropen 1\rb\r" + LEAVE, known=small)
    assert after.step == before.step
    assert len(after.events) == len(before.events)


def test_an_answer_taken_back_is_shown_and_kept_with_one_key(press, small):
    _, screen, walk = press("bay", BAY + "1\rb\rk\r" + LEAVE, known=small)
    assert "Your answer before: Lamp seat: The lamp is tight   (k keeps it)" in screen
    assert walk.case.answer("lamp-turns").result == "tight"


def answers(walk):
    return [event.payload for event in standing(walk.events) if event.kind != "taken-back"]


@settings(max_examples=15, deadline=None)
@given(choices=st.lists(st.sampled_from(["y", "d", "first"]), min_size=1, max_size=3))
def test_as_many_backs_as_answers_lead_to_the_beginning_and_keeps_lead_forward_again(small_knowledge, choices):
    walk = open_walk(small_knowledge, Audience.BAY)
    walk = walk.imagine(Draft("service", "", "", {"service": "lamp-change"}))
    walk = walk.imagine(Draft("complaint", "", "", {"complaint": "dark", "words": ""}))
    for choice in choices:
        match walk.step:
            case steps.DangerScreen(checks):
                walk = walk.imagine(walk.answers(dict.fromkeys(checks, None if choice == "d" else "no"), "", ""))
            case steps.MakeCheck(check=check):
                names = small_knowledge.checks[check].names
                result = None if choice == "d" else names[0 if choice == "first" else 1]
                walk = walk.imagine(walk.answers({check: result}, "", ""))
    there, gone = walk, 0
    while (last := walk.last_to_take_back()) is not None:
        walk = walk.imagine(Draft("taken-back", "", "", {"number": last.number, "kind": last.kind}))
        gone += 1
    assert isinstance(walk.step, steps.ChooseService)
    for _ in range(gone):
        earlier = earlier_answers.answer_before(walk)
        walk = walk.imagine(Draft(earlier.kind, "", "", dict(earlier.payload)))
    assert walk.step == there.step
    assert answers(walk) == answers(there)


@pytest.fixture(scope="module")
def small_knowledge(small):
    return small


def test_dont_know_is_never_a_dead_end(small):
    for audience in Audience:
        walk = open_walk(small, audience)
        walk = walk.imagine(Draft("service", "", "", {"service": "lamp-change"}))
        walk = walk.imagine(Draft("complaint", "", "", {"complaint": "dark", "words": ""}))
        for _ in range(20):
            match walk.step:
                case steps.DangerScreen(checks) | steps.ReadPanel(checks=checks):
                    walk = walk.imagine(walk.answers(dict.fromkeys(checks), "", ""))
                case steps.MakeCheck(check=check):
                    walk = walk.imagine(walk.answers({check: None}, "", ""))
                case steps.ChooseCondition(feature, _):
                    walk = walk.imagine(facts.ConditionNamed(feature=feature, value=None))
                case _:
                    break
        assert isinstance(walk.step, steps.Advise | steps.DoRepair | steps.HandOver)


@pytest.mark.parametrize(
    ("typed", "name"),
    [  # misspellings made up for this test
        ("idles to fast", "high-idle"), ("shaks at idel", "rough-idle"), ("no powr", "no-power"),
        ("dosnt start but cranks", "no-start-cranks"), ("hisss", "hiss"), ("oil leek", "oil-leak"),
        ("hesitats pulling away", "hesitation"), ("stals", "stalls"), ("engine lite is on", "engine-light"),
    ],
)  # fmt: skip
def test_misspelt_words_find_the_complaint_among_the_first_three(knowledge, typed, name):
    phrases = {c.id: (c.name, *c.words) for c in knowledge.complaints.values()}
    assert name in rank(typed, phrases)[:3]


def test_find_names_complaints_causes_and_checks_with_what_is_known_of_them(press, small):
    _, screen, _ = press("bay", BAY + "1\rfind lampp\r" + LEAVE, known=small)
    assert "cause      Lamp not screwed in [lamp-loose]" in screen
    assert "Lamp seat [lamp-turns] - answered: The lamp is tight" in screen
    assert search(small, "fuze")[0] == ("cause", "fuse-out")
    assert search(small, "xyzzy") == []


def test_a_customers_words_are_not_taken_for_a_command(press, small):
    _, _, walk = press("phone", "n\r1\ropen hood rattles\r1\r" + LEAVE, known=small)
    assert walk.case.words == "open hood rattles"


def test_a_question_that_was_asked_again_is_listed_once(press, knowledge):
    _, screen, walk = press("phone", "n\rintake cleaning\rit shakes at idle\r1\r2?\r1\rr\rq\r")
    listed = screen[screen.index("Answers so far") :]
    name = knowledge.checks[walk.case.answers[1].check].name
    assert sum(answer.check == walk.case.answers[1].check for answer in walk.case.answers) == 2
    assert listed.count(name) == 1
    assert "don't know" not in listed[: listed.index("Changed or taken back")]
