"""The marks of several drills together, and the rule to pass by.

Parts stay apart: a better efficiency never makes up for a safety miss or a hasty repair.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from comeback.engine.drill.score import Score

PASS_OVER = 10
"""Drills that the pass rule looks at, the latest ones."""
LEAST_RIGHT = 0.90
"""Share of right advice, and of causes found, to pass; judged, no source. The second, because giving every car away
would pass otherwise."""
MOST_TOO_SOON = 0.10
"""Share of repairs made too soon up to which drills pass; judged, no source."""
MOST_CHECKS = 1.5
"""Checks against the program's on the same cars; only those that were worked to their end count."""


@dataclass(frozen=True)
class Marks:
    """What some drills amount to; every figure by itself. `counted` drills were worked to their end: their checks."""

    drills: int
    safety: int
    advised: int
    right: int
    at_the_car: int
    found: int
    repairs: int
    too_soon: int
    counted: int
    checks: int
    program_checks: int
    hints: int
    calls: int
    promised: int
    read_back: int

    @property
    def rules(self) -> dict[str, bool | None]:
        """Each part of the pass rule with whether it is met; None: nothing of the kind was tried."""
        return {
            "safety": not self.safety,
            "advice": self.right >= LEAST_RIGHT * self.advised if self.advised else None,
            "found": self.found >= LEAST_RIGHT * self.at_the_car if self.at_the_car else None,
            "too soon": self.too_soon <= MOST_TOO_SOON * self.repairs if self.repairs else None,
            "checks": self.checks <= MOST_CHECKS * self.program_checks and not self.blind if self.counted else None,
        }

    @property
    def blind(self) -> bool:
        """True if no check was made where the program made some: nothing was shown of how they are chosen."""
        return bool(self.counted and self.program_checks and not self.checks)

    @property
    def passed(self) -> bool:
        """True if no part of the rule is missed, and something was worked to its end."""
        return bool(self.counted) and all(met is not False for met in self.rules.values())


def marks(scores: Iterable[Score]) -> Marks:
    """The marks of these drills together. Checks count where the work was done to its end."""
    every = list(scores)
    car = [score for score in every if score.found is not None]
    calls = [score for score in every if score.read_back is not None]
    whole = [score for score in every if score.to_the_end]
    return Marks(
        drills=len(every), safety=sum(len(score.safety) for score in every),
        advised=sum(score.told is not None for score in every), right=sum(bool(score.advice) for score in every),
        at_the_car=len(car), found=sum(bool(score.found) for score in car),
        repairs=sum(score.repairs for score in every), too_soon=sum(score.too_soon for score in every),
        counted=len(whole), checks=sum(score.checks for score in whole),
        program_checks=sum(score.program_checks for score in whole), hints=sum(len(score.hints) for score in every),
        calls=len(calls), promised=sum(bool(score.promised) for score in calls),
        read_back=sum(bool(score.read_back) for score in calls),
    )  # fmt: skip
