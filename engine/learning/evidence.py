"""One learned number with what speaks for it, and how counts make it.

A number that an overlay already revises is left alone: the same case must not count twice.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from comeback.engine.learning.beta import Beta, beta_cdf, converged_gamma, judged, pooled

Counts = dict[str, list[float]]
"""Shop -> [hits, trials]."""
LEAST_PERCENT, MOST_PERCENT = 0.1, 99.9
"""Nothing counted is certain: a learned chance never becomes 0 or 100 %."""


@dataclass(frozen=True)
class Weights:
    """How much the judgment weighs, in services (`frequency`) and in cars with the cause (`chance`).

    A number is revised from `at_least` cases on, if it moves by more than `worth` of itself and if what was
    judged lies outside the middle `sure` of what is believed now: a file that people can review holds what
    the cases contradict, not what they only jostle.
    """

    frequency: float = 1000.0
    chance: float = 20.0
    at_least: int = 5
    worth: float = 0.1
    sure: float = 0.95


WEIGHTS = Weights()
"""Those that are used unless others are given."""


@dataclass(frozen=True)
class Learned:
    """One number: as judged and as revised (in its file's unit), what was counted, what is believed.

    `scale` turns a chance into the unit: 1000 or 100. `cases` are the hits and `seen` the trials of all
    shops; `own` those of the one shop that was asked for. `kappa`: what all shops weigh against one.
    `held` says why the number is left as it was, empty if it is not. `counted`: the trials were given, not
    worked out.
    """

    path: str
    was: float
    value: float
    scale: float
    cases: float
    seen: float
    shops: int
    kappa: float
    belief: Beta
    own: tuple[float, float] | None = None
    held: str = ""
    counted: bool = True

    @property
    def expected(self) -> float:
        """Hits that what was judged makes likely in so many trials."""
        return self.was / self.scale * self.seen

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval of what is believed, in the number's unit."""
        low, high = self.belief.interval()
        return self.scale * low, self.scale * high


@dataclass
class Lessons:
    """Everything learned: `numbers` looked at; ids in the log that the knowledge does not have; cases per shop."""

    numbers: list[Learned] = field(default_factory=list)
    unknown: set[str] = field(default_factory=set)
    shops: dict[str, int] = field(default_factory=dict)
    services: dict[str, tuple[float, bool]] = field(default_factory=dict)

    @property
    def revised(self) -> list[Learned]:
        """The numbers to be changed."""
        return [one for one in self.numbers if not one.held]


def kappa_of(tables: Mapping[str, Counts], priors: Mapping[str, Beta]) -> float:
    """How much all shops weigh against one, from how much their shares differ; one figure for all numbers."""
    groups = []
    for name, table in tables.items():
        hits, trials = map(sum, zip(*table.values(), strict=True))
        groups.append(([*table.values()], priors[name].after(hits, trials).mean))
    return 1 / converged_gamma(groups) - 1


def revised_number(
    path: str, was: float, scale: float, table: Counts, kappa: float, weights: Weights, shop: str | None
) -> Learned:
    """The number with its evidence, for one shop or all together; `scale` 1000 for frequencies, 100 for chances.

    All shops together never weigh less against one than the judgment would: how much few shops differ
    is itself known too badly. A chance is revised if the check was made often enough; a frequency also
    if the cause was found less often than was judged. A chance judged 0 % stays so until it was seen, and
    then counts as judged LEAST_PERCENT: a number that was left out does not mean impossible.
    """
    weight = weights.frequency if scale == 1000 else weights.chance
    low, high = (LEAST_PERCENT, MOST_PERCENT) if scale == 100 else (0.001, 999.0)
    base = max(was, low)
    prior = judged(min(base, scale * 0.999999) / scale, weight)
    hits, trials = sum(h for h, _ in table.values()), sum(n for _, n in table.values())
    own = None if shop is None else (table[shop][0], table[shop][1]) if shop in table else (0.0, 0.0)
    kappa = max(kappa, weight)
    belief = pooled(prior, hits, trials, kappa, own)
    value = float(f"{min(max(scale * belief.mean, low), high):.3g}")
    value = was if was < value <= low else value
    held = ""
    if (trials if scale == 100 else max(hits, prior.mean * trials)) < weights.at_least:
        held = f"fewer than {weights.at_least} cases"
    elif value == was or abs(value - base) <= weights.worth * base:
        held = "near what was judged"
    elif abs(2 * beta_cdf(prior.mean, belief.a, belief.b) - 1) < weights.sure:
        held = "the cases allow what was judged"
    return Learned(path, was, value, scale, hits, trials, len(table), kappa, belief, own, held)
