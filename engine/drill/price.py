"""What is in the minutes of a check or a repair, before it is chosen: the same sums as those charged afterwards."""

from dataclasses import dataclass

from comeback.engine.choosing.valuation import HANDLING, set_up_minutes
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Level


@dataclass(frozen=True)
class Price:
    """Minutes of the work itself, its parts at the shop's rate, set-ups not yet there, proof, and handling.

    `money` is what the parts cost, in the shop's currency. `set_ups` are the ids of those that are new.
    `proof` holds the look at the complaint and the set-ups of both.
    """

    work: float
    parts: float = 0.0
    set_up: float = 0.0
    proof: float = 0.0
    handling: float = 0.0
    money: float = 0.0
    set_ups: tuple[str, ...] = ()

    @property
    def total(self) -> float:
        """All of it."""
        return self.work + self.parts + self.set_up + self.proof + self.handling


def check_price(walk: Walk, checks: tuple[str, ...]) -> Price:
    """A check, or those that are read at one go."""
    known = walk.knowledge
    panel = known.checks[checks[0]].panel
    work = known.panels[panel].minutes if panel else known.checks[checks[0]].minutes
    standing = walk.situation.standing_set_ups()
    needed = dict.fromkeys(name for check in checks for name in known.checks[check].set_up)
    new = tuple(name for name in needed if name not in standing)
    return Price(work, set_up=set_up_minutes(known, new, standing), handling=HANDLING, set_ups=new)


def repair_price(walk: Walk, repair: str) -> Price:
    """A repair with its proof and the look at the complaint; nothing for what is given to a specialist."""
    known = walk.knowledge
    entry = known.repairs[repair]
    if entry.level is Level.SPECIALIST:
        return Price(0.0)
    standing = set(walk.situation.standing_set_ups())
    new = tuple(name for name in entry.set_up if name not in standing)
    set_up = set_up_minutes(known, entry.set_up, standing)
    _stand(walk, standing, entry.set_up)
    complaint = known.complaints.get(walk.case.complaint or "")
    proof = 0.0
    for check in dict.fromkeys((entry.proof.check, *(complaint.reports if complaint else ()))):
        needed = known.checks[check].set_up
        proof += known.checks[check].minutes + set_up_minutes(known, needed, standing)
        _stand(walk, standing, needed)
    parts = entry.parts / known.settings.rate_per_hour * 60
    return Price(entry.minutes, parts, set_up, proof, money=entry.parts, set_ups=new)


def _stand(walk: Walk, standing: set[str], needed: tuple[str, ...]) -> None:
    for name in needed:
        standing -= set(walk.knowledge.set_ups[name].ends)
        standing.add(name)
