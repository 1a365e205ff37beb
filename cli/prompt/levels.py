"""What a person's level changes at the keyboard."""

from typing import TYPE_CHECKING

from comeback.engine.walk import steps
from comeback.kb.vocabulary import Level

if TYPE_CHECKING:
    from comeback.cli.prompt.conversation import Conversation


def act_on_level(talk: "Conversation") -> None:
    """A specialist at the keyboard does the repairs that others hand over."""
    step = talk.walk.step
    if talk.level is Level.SPECIALIST and isinstance(step, steps.HandOver) and step.repair:
        entry = talk.walk.knowledge.repairs[step.repair]
        now = talk.walk.situation.belief
        cures = max((p * now.probability(c) for c, p in entry.removes.items()
                     if c in talk.walk.situation.network.causes), default=0.0)  # fmt: skip
        talk.walk = talk.walk.at(steps.DoRepair(step.repair, entry.minutes, cures, entry.minutes, ()))
