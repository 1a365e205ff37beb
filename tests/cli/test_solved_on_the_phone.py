"""What the caller does alone: said, recorded, shown; what the bay wants to know is asked after the advice.

The lamp of the small knowledge may be screwed in by the caller; chances as in `small/`, nothing needs a tow.
"""

import pytest

from comeback.cli import exit_codes
from comeback.cli.look import Look
from comeback.cli.records.case_list import unfinished
from comeback.cli.records.formats import record_data, rendered
from comeback.cli.records.record import Record
from comeback.cli.reports.explain_entries import check as explained
from comeback.cli.screens.advice_now import advice_now, state_of
from comeback.cli.screens.summary import result_lines
from comeback.engine.walk import phone_step, steps
from comeback.kb.schema import Remedy
from comeback.kb.vocabulary import Audience, Disposition

CALL = "n\r1\rno light\r1\rn\r"  # parked; the service; the complaint; no sparks


@pytest.fixture
def turned(small):
    remedy = Remedy(
        do="Please turn the lamp to the right.", not_if="It is hot.", result="turns", repair="screw-in-lamp",
        then="It stays lit.", again="Call us if it goes out.",
    )  # fmt: skip
    by_phone = {"audience": (Audience.PHONE, Audience.BAY), "say": "How tight was it?", "sense": "feel"}
    lamp = small.checks["lamp-turns"].model_copy(update=by_phone | {"remedy": remedy})
    fuse = small.causes["fuse-out"].model_copy(update={"drive": Disposition.BOOK})
    changed = {"checks": {**small.checks, "lamp-turns": lamp}, "causes": {**small.causes, "fuse-out": fuse}}
    return small.model_copy(update=changed | {"version": "turned"})


def test_the_caller_is_told_what_to_do_and_who_must_not(press, turned):
    _, screen, _ = press("phone", CALL + "q\r", known=turned)
    assert '"Please turn the lamp to the right. How tight was it?"' in screen
    assert "Not if      it is hot." in screen


def test_a_call_that_is_solved_needs_no_visit(press, turned, log):
    code, screen, walk = press("phone", CALL + "2\ry\r", known=turned)
    assert code == exit_codes.DONE
    assert "Solved on the phone" in screen
    assert '"It stays lit. Call us if it goes out."' in screen
    told = " ".join(text for _, text in result_lines(walk, Look(), "cases.db"))
    assert "none, unless the customer calls again" in told
    assert "the bay goes on" not in told
    assert (walk.case.solved.check, walk.case.solved.causes) == ("lamp-turns", ("lamp-loose",))
    now = advice_now(turned, walk.events)
    assert state_of(walk.case, now, "2026").startswith("solved on the phone; told watch")
    for audience in (Audience.PHONE, Audience.BAY):
        assert not unfinished(log(), turned, audience, "Ida", walk.events[-1].at), "nothing is left to do"


def test_the_record_says_whose_word_it_is(press, turned):
    _, _, walk = press("phone", CALL + "2\ry\r", known=turned)
    text = rendered(turned, walk.events, "text")
    assert "solved on the phone, for: Screw the lamp in" in text
    assert "Lamp not screwed in (the caller's word)" in text
    data = record_data(Record(turned, walk.events))
    assert data["solved"]["repair"] == "screw-in-lamp"
    assert data["status"] == "final"


def test_a_remedy_that_does_not_help_goes_on_to_the_advice(press, turned):
    _, screen, walk = press("phone", CALL + "1\r", known=turned)
    assert isinstance(walk.step, steps.Advise)
    assert not walk.step.solved
    assert "Solved" not in screen


def test_why_and_explain_tell_of_the_remedy(press, turned):
    _, screen, _ = press("phone", CALL + "w\rq\r", known=turned)
    assert "The caller can do this alone. In 45 % of such calls it helps" in " ".join(screen.split())
    lines = [line for field in explained(turned, turned.checks["lamp-turns"]) for line in field.lines]
    assert "Not if: It is hot." in lines


def test_what_the_bay_wants_to_know_is_asked_after_the_advice_and_enter_skips_it(press, turned, monkeypatch):
    monkeypatch.setattr(phone_step, "PHONE_QUESTIONS", 0)
    history = turned.checks["lamp-turns"].model_copy(update={"asks_customer": True, "remedy": None, "minutes": 0.1})
    known = turned.model_copy(update={"checks": {**turned.checks, "lamp-turns": history}, "version": "asked"})
    code, screen, walk = press("phone", CALL + "y\r2\r", known=known)
    assert code == exit_codes.DONE
    assert "the bay wants to know" in screen
    assert walk.case.answer("lamp-turns").result == "turns"
    assert walk.case.answer("lamp-turns").number > walk.case.last_told.number
    code, screen, walk = press("phone", CALL + "y\r\r", known=known)
    assert code == exit_codes.DONE
    assert walk.case.answer("lamp-turns") is None
