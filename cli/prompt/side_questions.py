"""Questions of a call that stand beside the steps of the walk: driving, what has changed, where to reach the caller."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from comeback.cli.look import Styled
from comeback.cli.prompt import corrections
from comeback.cli.prompt.replies import UNKNOWN_WORDS
from comeback.cli.prompt.reply import NO, YES
from comeback.cli.screens import wording
from comeback.cli.screens.cautions import aloud
from comeback.cli.words.search import will_not_slow
from comeback.engine.case.case import AGREED, standing
from comeback.engine.case.events import Kind
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Disposition

if TYPE_CHECKING:
    from comeback.cli.prompt.conversation import Conversation

NOBODY = "x"


@dataclass(frozen=True)
class SideQuestion:
    """One question: when it is due, what is read aloud, how it is answered; `take` returns a remark or None."""

    due: Callable[["Conversation"], bool]
    say: Callable[["Conversation"], str]
    hint: Callable[["Conversation"], str]
    take: Callable[["Conversation", str], str | None]
    before: Callable[["Conversation"], str] = lambda talk: ""
    dangers: bool = True
    """Words of danger in the answer lead to that danger; a place or a number may hold such words."""


def side_question(talk: "Conversation") -> SideQuestion | None:
    """The question that goes before the step now, if any."""
    if talk.walk.audience is not Audience.PHONE or talk.reader.scripted:
        return None
    return next((question for question in QUESTIONS if question.due(talk)), None)


def lines(talk: "Conversation", question: SideQuestion) -> list[Styled]:
    """The question, read aloud; before it whatever must be seen first."""
    first = question.before(talk)
    out: list[Styled] = [("title", line) for line in talk.look.wrap(first)] if first else []
    out += [("say", line) for line in aloud(question.say(talk), talk.look)]
    return [*out, ("plain", "")]


def _driving_due(talk: "Conversation") -> bool:
    """Once in each sitting, and again when the caller calls again; on a pipe only where a call begins."""
    asked = [event.number for event in standing(talk.walk.events) if event.kind == Kind.DRIVING]
    case = talk.walk.case
    if not talk.reader.interactive or not talk.sat_down:
        ending = isinstance(talk.walk.step, steps.Advise | steps.Finished)
        if ending or isinstance(talk.walk.asked, steps.ChooseComplaint):
            return False  # a danger was named at once; who must get clear is told so, whether driving or not
        return case.driving is None and case.service is None and not asked
    if case.closed is not None or case.handed_over is not None:
        return False
    return talk.nobody < max(talk.sat_down, case.again) and not any(number > talk.sat_down for number in asked)


def _driving_hint(talk: "Conversation") -> str:
    return wording.DRIVING_AGAIN_HINT if talk.sat_down else wording.DRIVING_HINT


def _take_driving(talk: "Conversation", text: str) -> str | None:
    lower = text.lower()
    if lower == NOBODY and talk.sat_down:  # nothing was asked, so nothing is recorded
        talk.nobody = max(talk.sat_down, talk.walk.case.again)
        talk.passed.add("driving")
        return None
    if lower not in YES | NO | UNKNOWN_WORDS:
        if will_not_slow(talk.walk.knowledge, text):
            talk.show([("say", line) for line in aloud(wording.WILL_NOT_SLOW, talk.look)])
        return _no_answer(talk, text)
    talk.passed.discard("driving")
    talk.commit(Kind.DRIVING, {"driving": True if lower in YES else False if lower in NO else None})
    return None


def _no_answer(talk: "Conversation", text: str) -> str:
    shown = wording.NOT_AN_ANSWER if text else wording.EMPTY
    return shown.format(text=text[:40], hint=talk.hint())


def _before_driving(talk: "Conversation") -> str:
    if not isinstance(talk.walk.step, steps.Finished):
        return ""
    return f"{wording.FINISHED['advised']} Is the caller on the line again? Then ask:"


def _changed_due(talk: "Conversation") -> bool:
    """After the danger signs of another call; whoever must be towed or get clear hears that first."""
    walk = talk.walk
    if not walk.case.again or walk.asked is not None or walk.case.complaint is None:
        return False
    if isinstance(walk.step, steps.DangerScreen | steps.TakeOneBack | steps.Finished):
        return False
    said = any(event.kind == Kind.SAID and event.number > walk.case.again for event in walk.events)
    return not said and (walk.due or Disposition.WATCH) < Disposition.TOW


def _take_changed(talk: "Conversation", text: str) -> str | None:
    if not text:
        return _no_answer(talk, text)
    nothing = text.lower() in NO | UNKNOWN_WORDS | {"nothing"}
    talk.commit(Kind.SAID, {"words": "" if nothing else text})
    if nothing:
        return wording.NOTED
    number = next((n for n, item in enumerate(corrections.items(talk.walk), 1) if item.asked == "Complaint"), 0)
    name = talk.walk.knowledge.complaints[talk.walk.case.complaint or ""].name
    from comeback.cli.screens.told_to_bay import standing_signs

    return " ".join([wording.CHANGED_NOTED.format(complaint=name, number=number), *standing_signs(talk.walk, text)])


def _fetched(walk: Walk) -> bool:
    """The car is to be fetched, and the caller agreed."""
    last = walk.case.last_told
    agreed = last is not None and last.how == AGREED and Disposition.of(last.disposition) >= Disposition.TOW
    return agreed and isinstance(walk.step, steps.Finished)


def _contact_due(field: str) -> Callable[["Conversation"], bool]:
    def due(talk: "Conversation") -> bool:
        if not (talk.reader.interactive and talk.just_told) or field in talk.left:
            return False
        return not getattr(talk.walk.case, field) and _fetched(talk.walk)

    return due


def _take_contact(field: str) -> Callable[["Conversation", str], str | None]:
    def take(talk: "Conversation", text: str) -> str | None:
        if not text or text.lower() in NO | UNKNOWN_WORDS:
            talk.left.add(field)
            return None
        talk.commit(Kind.CONTACT, {field: text})
        return wording.CONTACT_NOTED.format(text=text)

    return take


def _before_contact(talk: "Conversation") -> str:
    last = talk.walk.case.last_told
    clear = last is not None and Disposition.of(last.disposition) is Disposition.GET_CLEAR
    return wording.CONTACT_CLEAR if clear else ""


QUESTIONS = (
    SideQuestion(_driving_due, lambda talk: wording.DRIVING, _driving_hint, _take_driving, _before_driving),
    SideQuestion(_changed_due, lambda talk: wording.CHANGED, lambda talk: wording.CHANGED_HINT, _take_changed),
    SideQuestion(
        _contact_due("place"), lambda talk: wording.PLACE, lambda talk: wording.CONTACT_HINT,
        _take_contact("place"), _before_contact, dangers=False,
    ),
    SideQuestion(
        _contact_due("phone"), lambda talk: wording.CALLBACK, lambda talk: wording.CONTACT_HINT,
        _take_contact("phone"), _before_contact, dangers=False,
    ),
)  # fmt: skip
