"""Nobody is kept at a step: after paging, every step of the bay takes its answer, also beside a lit light's reminder.

The answers typed are those that the step's own keys name. All cases are invented.
"""

import os
import secrets

import pytest

from comeback.cli.look import Look
from comeback.cli.prompt.commands import ASIDES
from comeback.cli.prompt.conversation import Conversation
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


class Technician:
    """Answers `count` steps; what is not taken is followed by the word of the stop screen, else by `m`."""

    interactive, scripted = True, False

    def __init__(self, count):
        self.count, self.at, self.tries, self.talk = count, None, 0, None

    def ask(self, walk):
        if self.talk.stop is not None:
            return self.talk.stop.word
        if self.at != walk.case.last:
            self.at, self.tries, self.count = walk.case.last, 0, self.count - 1
        if self.count < 0:
            raise EOFError
        self.tries += 1
        assert self.tries < 2 * MOST_PAGES, f"never answered: {walk.step}"
        return answer_to(walk) if self.tries % 2 else "m"


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
    """The conversation after `count` steps were answered."""
    hands = Technician(count)
    hands.talk = Conversation(begun(knowledge, log, *start), hands, Look(), log, "Ida")
    hands.talk.run()
    return hands.talk


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
        talk = answer_steps(knowledge, log, (service, complaint, LIGHTS[light]), 1)
        reminded += REMINDER in capsys.readouterr().out
        assert talk.walk.case.last > 4
    assert reminded > len(knowledge.services)


def test_pages_that_are_cut_anew_are_read_to_their_end(knowledge, log):
    """The light's codes are saved meanwhile: its reminder goes, and a line moves to the page that was left behind."""
    walk = begun(knowledge, log, "plugs-coils", "rough-idle", LIGHTS["lit"])
    talk = Conversation(walk.at(steps.MakeCheck("well-puff", 7.0, 5.0, ())), Technician(1), Look(), log, "Ida")
    talk.show_screen()
    talk.reminded_at = steps.HandOver("now", None)
    for still in (True, False):
        ASIDES["more"](talk, "")
        assert talk.unread is still


@pytest.mark.parametrize(("service", "complaint"), [("plugs-coils", "rough-idle"), ("coolant-change", "overheating")])
def test_a_walk_with_a_lit_light_ends_without_a_step_that_keeps_somebody(knowledge, log, service, complaint):
    talk = answer_steps(knowledge, log, (service, complaint, LIGHTS["lit"]), 80)
    assert isinstance(talk.walk.step, steps.Finished)
