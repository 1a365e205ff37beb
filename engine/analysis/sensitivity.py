"""Does the advice hang on the exact numbers? The first advice of each complaint while the numbers are shaken.

Most numbers of the knowledge are judgement, so what matters is not that they are right but that advice
survives their being wrong. All numbers are shaken together, to see how often the first advice changes; then
the frequency of each leading cause is moved alone, to name those that the advice hangs on. The first advice
is taken with all danger signs absent and the car's conditions unknown: the first step in the bay, and what a
caller would be told.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from comeback.engine.analysis.perturbed import numbers_of, perturb
from comeback.engine.case.case import Answer, Case
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.policy import next_step
from comeback.engine.walk.steps import DoRepair, HandOver, MakeCheck, ReadPanel, Step
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURES, Audience, Disposition

LEADING = 3
"""Most probable causes of a complaint whose frequencies are moved alone."""
Pair = tuple[str, str]
"""A service and a complaint."""


@dataclass(frozen=True)
class FirstAdvice:
    """First step in the bay as (kind, id), and the disposition on the phone."""

    step: tuple[str, str]
    disposition: Disposition


Change = Callable[[FirstAdvice, FirstAdvice], bool]
"""Whether the advice now differs from the usual one in what is counted."""


def step_changed(now: FirstAdvice, usual: FirstAdvice) -> bool:
    """Another first step in the bay."""
    return now.step != usual.step


def disposition_changed(now: FirstAdvice, usual: FirstAdvice) -> bool:
    """The caller would be told another thing."""
    return now.disposition != usual.disposition


def disposition_lower(now: FirstAdvice, usual: FirstAdvice) -> bool:
    """The caller would be told a less urgent thing."""
    return now.disposition < usual.disposition


@dataclass(frozen=True)
class Sensitivity:
    """First advice of (service, complaint) pairs: `usual` as it stands, `noisy[run][pair]` with all numbers shaken.

    `hinges`: cause -> pairs whose first advice changes when the frequency of this cause alone is moved.
    """

    pairs: tuple[Pair, ...]
    usual: tuple[FirstAdvice, ...]
    noisy: tuple[tuple[FirstAdvice, ...], ...]
    hinges: dict[str, tuple[Pair, ...]]

    @property
    def complaints(self) -> list[str]:
        """Complaints, those whose advice changes most first."""
        names = dict.fromkeys(complaint for _, complaint in self.pairs)
        return sorted(names, key=lambda c: (-self.share(step_changed, c) - self.share(disposition_changed, c), c))

    def share(self, change: Change, complaint: str | None = None) -> float:
        """Share of first advices that changed, 0 to 1; of one complaint or of all."""
        changes = [change(now, usual) for usual, now in self._shaken(complaint)]
        return sum(changes) / len(changes) if changes else 0.0

    def commonest_other(self, complaint: str) -> tuple[tuple[str, str], tuple[str, str]] | None:
        """The change of first step seen most often for the complaint, over services; None if there is none."""
        changes = Counter((usual.step, now.step) for usual, now in self._shaken(complaint) if usual.step != now.step)
        return changes.most_common(1)[0][0] if changes else None

    def _shaken(self, complaint: str | None) -> Iterator[tuple[FirstAdvice, FirstAdvice]]:
        """Usual advice and that of a run, for each run and pair."""
        for run in self.noisy:
            for (_, name), usual, now in zip(self.pairs, self.usual, run, strict=True):
                if complaint in (None, name):
                    yield usual, now


def sensitivity(
    knowledge: KnowledgeBase,
    services: Sequence[str],
    chance: np.random.Generator,
    runs: int = 20,
    noise: float = 0.5,
    tick: Callable[[int, int], None] = lambda done, whole: None,
) -> Sensitivity:
    """First advice under `runs` draws of normal noise with standard deviation `noise` in natural log-odds.

    Each frequency moved alone is moved by `noise`, up and down. `tick` is called with the copies of the
    knowledge that were looked at so far, and how many there will be.
    """
    pairs = tuple(
        (service, complaint.id)
        for service in services
        for complaint in knowledge.complaints.values()
        if not complaint.services or service in complaint.services
    )
    usual = tuple(first_advice(knowledge, *pair) for pair in pairs)
    numbers, leading = numbers_of(knowledge), _leading(knowledge, pairs)
    whole, noisy, hinges = runs + len(leading), [], {}
    for run in range(runs):
        copy = perturb(knowledge, dict(zip(numbers, chance.normal(0.0, noise, len(numbers)).tolist(), strict=True)))
        noisy.append(tuple(first_advice(copy, *pair) for pair in pairs))
        tick(run + 1, whole)
    for done, (cause, own) in enumerate(leading.items(), runs + 1):
        copies = [perturb(knowledge, {("causes", cause, "frequency"): by}) for by in (noise, -noise)]
        hinges[cause] = tuple(pairs[k] for k in own if any(first_advice(c, *pairs[k]) != usual[k] for c in copies))
        tick(done, whole)
    return Sensitivity(pairs, usual, tuple(noisy), {cause: own for cause, own in hinges.items() if own})


def first_advice(knowledge: KnowledgeBase, service: str, complaint: str) -> FirstAdvice:
    """The first step in the bay and the disposition on the phone, no danger sign seen."""
    case = _unflagged(knowledge, service, complaint)
    phone = CaseView(knowledge, case, Audience.PHONE)
    return FirstAdvice(_named(next_step(knowledge, case, Audience.BAY)), phone.ruling.advice)


def _unflagged(knowledge: KnowledgeBase, service: str, complaint: str) -> Case:
    """The case with every danger sign of the complaint absent."""
    entry = knowledge.complaints[complaint]
    flags = (*entry.red_flags, *knowledge.follow_ups(entry.reports))
    answers = tuple(Answer(flag, knowledge.checks[flag].expected, 0, 0, "", "", Audience.BAY) for flag in flags)
    return Case(service=service, complaint=complaint, answers=answers, unknown_conditions=frozenset(FEATURES))


def _leading(knowledge: KnowledgeBase, pairs: Sequence[Pair]) -> dict[str, list[int]]:
    """Cause -> positions of the pairs in which it is among the LEADING most probable ones."""
    out: dict[str, list[int]] = {}
    for k, pair in enumerate(pairs):
        candidates = CaseView(knowledge, _unflagged(knowledge, *pair), Audience.BAY).repair_candidates()
        for cause, _ in candidates[:LEADING]:
            out.setdefault(cause, []).append(k)
    return out


def _named(step: Step) -> tuple[str, str]:
    match step:
        case MakeCheck(check=name):
            return "check", name
        case ReadPanel(panel=name):
            return "panel", name
        case DoRepair(repair=name):
            return "repair", name
        case HandOver():
            return "hand over", ""
    return type(step).__name__, ""
