"""Does the advice hang on the exact numbers? The first advice of each complaint, over noisy copies of the knowledge.

Most numbers of the knowledge are judgement, so what matters is not that they are right but that advice
survives their being wrong. The first advice is taken with all danger signs absent and the car's
conditions unknown: the first step in the bay, and what a caller would be told.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from comeback.engine.analysis.perturbed import Number, numbers_of, perturb
from comeback.engine.case.case import Answer, Case
from comeback.engine.walk.disposition import rule
from comeback.engine.walk.policy import next_step
from comeback.engine.walk.situation import Situation
from comeback.engine.walk.steps import DoRepair, HandOver, MakeCheck, ReadPanel, Step
from comeback.kb.rules.bearing import bears_on
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURES, Audience, Disposition

Flags = npt.NDArray[np.bool_]
SHUFFLES = 200
"""Shuffles that say how well a number correlates by chance alone."""
FEWEST_RUNS = 10
"""With fewer runs no number is named."""


@dataclass(frozen=True)
class FirstAdvice:
    """First step in the bay as (kind, id), and the disposition on the phone."""

    step: tuple[str, str]
    disposition: Disposition


@dataclass(frozen=True)
class Sensitivity:
    """First advice of (service, complaint) pairs: `usual` without noise, `noisy[run][pair]` with it.

    `shifts` has shape (runs, numbers); `relevant` (pairs, numbers): the number may bear on the pair.
    """

    pairs: tuple[tuple[str, str], ...]
    usual: tuple[FirstAdvice, ...]
    noisy: tuple[tuple[FirstAdvice, ...], ...]
    numbers: tuple[Number, ...]
    shifts: npt.NDArray[np.float64]
    relevant: Flags

    @cached_property
    def step_changed(self) -> Flags:
        """(pairs, runs): the first step in the bay was another."""
        return self._compared(lambda now, usual: now.step != usual.step)

    @cached_property
    def disposition_changed(self) -> Flags:
        """(pairs, runs): the caller was told another thing."""
        return self._compared(lambda now, usual: now.disposition != usual.disposition)

    @cached_property
    def disposition_lower(self) -> Flags:
        """(pairs, runs): the caller was told a less urgent thing."""
        return self._compared(lambda now, usual: now.disposition < usual.disposition)

    def _compared(self, differs: Callable[[FirstAdvice, FirstAdvice], bool]) -> Flags:
        rows = [[differs(run[k], usual) for run in self.noisy] for k, usual in enumerate(self.usual)]
        return np.array(rows, bool).reshape(len(self.usual), len(self.noisy))

    def commonest_other(self, complaint: str) -> tuple[tuple[str, str], tuple[str, str]] | None:
        """The change of first step seen most often for the complaint, over services; None if there is none."""
        own = [k for k, pair in enumerate(self.pairs) if pair[1] == complaint]
        changes = Counter(
            (self.usual[k].step, run[k].step) for run in self.noisy for k in own if run[k].step != self.usual[k].step
        )
        return changes.most_common(1)[0][0] if changes else None

    @cached_property
    def changed(self) -> Flags:
        """(pairs, runs): step or disposition was another."""
        return self.step_changed | self.disposition_changed

    def by_complaint(self) -> list[tuple[str, float, float]]:
        """(complaint, share of steps changed, share of dispositions changed), what flips most first."""
        names = list(dict.fromkeys(complaint for _, complaint in self.pairs))
        rows = []
        for name in names:
            own = np.array([complaint == name for _, complaint in self.pairs])
            rows.append((name, float(self.step_changed[own].mean()), float(self.disposition_changed[own].mean())))
        return sorted(rows, key=lambda row: (-(row[1] + row[2]), row[0]))

    def leading_numbers(self, chance: np.random.Generator) -> list[tuple[Number, float]]:
        """Numbers that go with changed advice more than any would by chance, with their mean correlation.

        Score: correlation of a number's shift with "changed", squared, summed over the pairs that it bears
        on, less its mean when the runs are shuffled, over its spread then. The bar is the 95 % point of the
        largest score of a shuffle, so that looking at thousands of numbers does not make one stand out
        (the max-T idea of Westfall & Young 1993, from memory).
        """
        telling = self._telling()
        if len(self.noisy) < FEWEST_RUNS or not telling.any():
            return []
        order = np.arange(len(self.noisy))
        raw = self._scores(order)
        by_chance = np.array([self._scores(chance.permutation(order)) for _ in range(SHUFFLES)])
        mean, spread = by_chance.mean(axis=0), np.maximum(by_chance.std(axis=0), 1e-12)
        bar = float(np.quantile(((by_chance - mean) / spread).max(axis=1), 0.95))
        scores = (raw - mean) / spread
        correlation = np.sqrt(raw / np.maximum(self.relevant[telling].sum(axis=0), 1))
        best = [int(k) for k in np.argsort(-scores, kind="stable") if scores[k] > bar]
        return [(self.numbers[k], float(correlation[k])) for k in best]

    def _telling(self) -> Flags:
        share = self.changed.mean(axis=1)
        return np.asarray((share > 0) & (share < 1))

    def _scores(self, order: npt.NDArray[np.intp]) -> npt.NDArray[np.float64]:
        telling = self._telling()
        flips = _standard(self.changed[telling].astype(float), 1)
        shifts = _standard(self.shifts[order], 0)
        squared = (flips @ shifts / self.changed.shape[1]) ** 2
        return np.asarray((squared * self.relevant[telling]).sum(axis=0))


def _standard(values: npt.NDArray[np.float64], axis: int) -> npt.NDArray[np.float64]:
    spread = values.std(axis=axis, keepdims=True)
    return np.asarray((values - values.mean(axis=axis, keepdims=True)) / np.where(spread > 0, spread, 1.0))


def first_advice(knowledge: KnowledgeBase, service: str, complaint: str) -> FirstAdvice:
    """The first step in the bay and the disposition on the phone, no danger sign seen."""
    flags = knowledge.complaints[complaint].red_flags
    answers = tuple(Answer(flag, knowledge.checks[flag].expected, 0, 0, "", "", "bay") for flag in flags)
    case = Case(service=service, complaint=complaint, answers=answers, unknown_conditions=frozenset(FEATURES))
    phone = Situation(knowledge, case, Audience.PHONE)
    ruling = rule(knowledge, phone.network, phone.evidence, phone.results)
    return FirstAdvice(_named(next_step(knowledge, case, Audience.BAY)), ruling.advice)


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


def sensitivity(
    knowledge: KnowledgeBase,
    services: Sequence[str],
    chance: np.random.Generator,
    runs: int = 20,
    noise: float = 0.5,
    tick: Callable[[int], None] = lambda run: None,
) -> Sensitivity:
    """First advice under `runs` draws of normal noise with standard deviation `noise` in natural log-odds.

    `tick` is called after each run with its number.
    """
    pairs = tuple(
        (service, complaint.id)
        for service in services
        for complaint in knowledge.complaints.values()
        if not complaint.services or service in complaint.services
    )
    numbers = numbers_of(knowledge)
    usual = tuple(first_advice(knowledge, *pair) for pair in pairs)
    shifts = chance.normal(0.0, noise, (runs, len(numbers)))
    noisy = []
    for run in range(runs):
        copy = perturb(knowledge, numbers, shifts[run].tolist())
        noisy.append(tuple(first_advice(copy, *pair) for pair in pairs))
        tick(run + 1)
    return Sensitivity(pairs, usual, tuple(noisy), numbers, shifts, _relevant(knowledge, pairs, numbers))


def _relevant(
    knowledge: KnowledgeBase, pairs: Sequence[tuple[str, str]], numbers: Sequence[Number]
) -> npt.NDArray[np.bool_]:
    """(pairs, numbers): the number belongs to a cause that bears on the complaint, or to what such a cause shows."""
    rows = []
    for service, complaint in pairs:
        causes = {
            name
            for name in bears_on(knowledge, knowledge.complaints[complaint])
            if not knowledge.causes[name].kind.needs_service or knowledge.causes[name].service == service
        }
        checks = {check for cause in causes for check in knowledge.causes[cause].shows}
        rows.append([_belongs(number, causes, checks) for number in numbers])
    return np.array(rows, bool)


def _belongs(number: Number, causes: set[str], checks: set[str]) -> bool:
    section, name = number[:2]
    if section == "repairs":
        return number[3] in causes
    return name in (causes if section == "causes" else checks)
