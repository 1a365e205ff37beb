"""Nobody is kept at a step: after paging, every step of the bay takes its answer, also beside a lit light's reminder.

The answers typed are those that the step's own keys name. All cases are invented.
"""

import os
import secrets
from dataclasses import replace

import pytest

from comeback.cli.look import Look
from comeback.cli.prompt.asides import more
from comeback.cli.prompt.loop import respond
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.prompt.side_questions import goes_on, hint
from comeback.cli.prompt.step_screen import show_screen
from comeback.cli.screens import wording
from comeback.engine.case.events import Draft
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

AT = "2026-01-01T00:00:00+00:00"
LIGHTS = {"lit": {"engine-lamp": "lit-on"}, "blinking": {"lamp-flashing": "flashes"}}
MOST_PAGES = 15
EVERY = os.environ.get("COMEBACK_EVERY_STEP")
REMINDER = wording.SAVE_CODES[0]


def answer_to(walk):
    """What a technician types at the walk's step when nothing is wrong."""
    match walk.step:
        case steps.DangerScreen() | steps.ReadPanel():
            return "n"
        case steps.MakeCheck(check=check):
            return walk.knowledge.checks[check].expected
        case steps.ProveRepair(result=result):
            return result
        case steps.DoRepair():
            return "done"
        case steps.HandOver() | steps.CloseCase():
            return "y"
        case steps.TakeOneBack():
            return "2"
        case _:
            return "d"


class Keyboard:
    """What is typed comes from the test itself."""

    interactive, scripted = True, False


def begun(knowledge, log, service, complaint, results):
    """A case in the bay: danger signs looked at, this light found."""
    first = log().open_case(Draft("opened", AT, "Ida", {"audience": "bay"}), knowledge.version, secrets.choice)
    checks = {c: knowledge.checks[c].expected for c in knowledge.complaints[complaint].red_flags}
    answered = {"results": {**checks, **results}, "readings": {}, "audience": "bay"}
    drafts = [
        Draft("service", AT, "Ida", {"service": service}),
        Draft("complaint", AT, "Ida", {"complaint": complaint, "words": "as it was told on the phone, at length"}),
        Draft("answered", AT, "Ida", answered),
    ]
    return Walk(knowledge, (first, *log().append(first.case, 1, drafts, knowledge.version)), Audience.BAY)


def answer_steps(knowledge, log, start, count):
    """The state after `count` steps: what is not taken is followed by the word of the stop screen, else by `m`."""
    session = PromptSession(Keyboard(), Look(), log, "Ida")
    state = show_screen(session, ScreenState(begun(knowledge, log, *start)))
    for _ in range(count):
        last, tries = state.walk.case.last, 0
        while state.walk.case.last == last and goes_on(session, state):
            typed = answer_to(state.walk) if tries % 2 == 0 else "m"
            state = respond(session, state, state.stop.word if state.stop is not None else typed)
            state = show_screen(session, state) if state.due else state
            last = state.walk.case.last if state.walk.events[-1].kind == "warned" else last
            tries += 1
            assert tries < 2 * MOST_PAGES, f"never answered: {state.walk.step}"
    return state


def sample(knowledge):
    """Each service with one complaint in eight, each complaint with one service; COMEBACK_EVERY_STEP=1: all."""
    for i, service in enumerate(knowledge.services):
        for j, complaint in enumerate(knowledge.complaints):
            if EVERY or (i + j) % 8 == 0 or (service, complaint) == ("plugs-coils", "rough-idle"):
                yield service, complaint


@pytest.mark.parametrize("light", LIGHTS)
def test_the_first_step_beside_the_reminder_is_answered_after_a_service_with_a_complaint(knowledge, log, capsys, light):
    reminded = 0
    for service, complaint in sample(knowledge):
        state = answer_steps(knowledge, log, (service, complaint, LIGHTS[light]), 1)
        reminded += REMINDER in capsys.readouterr().out
        assert state.walk.case.last > 4
    assert reminded > len(knowledge.services)


def test_pages_that_are_cut_anew_are_read_to_their_end(knowledge, log):
    """The light's codes are saved meanwhile: its reminder goes, and a line moves to the page that was left behind."""
    walk = begun(knowledge, log, "plugs-coils", "rough-idle", LIGHTS["lit"])
    session = PromptSession(Keyboard(), Look(), log, "Ida")
    state = show_screen(session, ScreenState(walk.with_step(steps.MakeCheck("coil-swap", 7.0, 5.0, ()))))
    state = replace(state, reminded_at=steps.HandOver("now", None))
    for still in (True, False):
        state = show_screen(session, more(session, state, ""))
        assert state.unread is still


@pytest.mark.parametrize(("service", "complaint"), [("plugs-coils", "rough-idle"), ("coolant-change", "overheating")])
def test_a_walk_with_a_lit_light_ends_without_a_step_that_keeps_somebody(knowledge, log, service, complaint):
    state = answer_steps(knowledge, log, (service, complaint, LIGHTS["lit"]), 80)
    assert isinstance(state.walk.step, steps.Finished)


def test_a_round_stops_at_a_row_that_was_read_without_the_rest_of_its_pages(knowledge, log):
    """ "Stop at the first that is not right": what comes after it is not looked at, so it need not be read."""
    walk = begun(knowledge, log, "plugs-coils", "rough-idle", {})
    rows = ("coil-plugs", "coil-boots", "coil-bolts", "coil-order", "intake-form", "battery-clamps")
    rows = tuple(row for row in rows if row in knowledge.checks)
    session = PromptSession(Keyboard(), Look(), log, "Ida")
    state = show_screen(session, ScreenState(walk.with_step(steps.LookRound(rows, 5.0, 5.0))))
    assert state.unread
    assert wording.PAGE_HINT_ROUND in hint(session, state)
    assert respond(session, state, "y").walk.case.answer(rows[0]) is None
    assert respond(session, state, f"{len(rows)}a").walk.case.answer(rows[0]) is None  # on a page that was not read
    stopped = respond(session, state, "1a").walk.case
    assert stopped.answer(rows[0]).result != knowledge.checks[rows[0]].expected
    assert stopped.answer(rows[1]) is None
