"""At one step of a sitting, above the keys: a lit engine lamp has codes that may be lost."""

from typing import TYPE_CHECKING

from comeback.cli.look import Styled
from comeback.cli.screens import wording
from comeback.engine.readout.findings.evidence import has_evidence
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Audience

if TYPE_CHECKING:
    from comeback.cli.prompt.conversation import Conversation


def reminder(talk: "Conversation") -> list[Styled]:
    """At the bay's first step after the danger signs, on each of its pages: a lit lamp has codes to save."""
    if talk.reminded_at not in (None, talk.walk.step) or not lamp_lit(talk):
        return []
    told = (text.format(case=talk.walk.case.id) for text in wording.SAVE_CODES)
    return [("say", line) for text in told for line in talk.look.wrap(text)]


def lamp_lit(talk: "Conversation") -> bool:
    """In the bay, at a step with room for a line; nothing was saved from the car yet."""
    walk = talk.walk
    if walk.audience is not Audience.BAY or walk.case.complaint is None or walk.case.id in ("", "-"):
        return False
    told = steps.DangerScreen | steps.ReadPanel | steps.Finished  # a panel's own caution says how codes are saved
    if isinstance(walk.step, told) or has_evidence(walk.events):
        return False
    checks = walk.knowledge.checks
    return any(result in checks[check].stores_codes for check, result in walk.situation.results.items())
