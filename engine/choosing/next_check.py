"""Which check to make, if any pays: the lowest hazard tier first, and in it what looking further shows."""

from collections.abc import Collection

from comeback.engine.choosing.lookahead import Budget, by_saving, try_first
from comeback.engine.choosing.repair_sequence import Action
from comeback.engine.choosing.valuation import CheckOption, Valuation
from comeback.kb.vocabulary import Tier

WORTH_ASKING = 0.25
"""Minutes that a check must save beyond its own cost; judged, no source."""
MOST_DELAYING = 4.0
"""Minutes that are asked for at most: before a costly repair even a small doubt is worth a check; judged."""
WORTH_DELAYING = 0.15
"""Share of the leading repair, weighted by its chance, that a check must save to come before it; judged."""
CANDIDATES = 2
"""Checks with the best rates compared by looking further ahead, beside the best net gain; judged, for speed."""
FOLLOWERS = 8
"""Other checks that may follow in the look-ahead; judged, for speed."""
BELIEFS = 12
"""Beliefs looked into for one decision; judged, for speed."""
NOTHING = 1e-6
"""Minutes: a saving that is no more than rounding leaves."""
CLEAR_LEAD = 2.0
"""A check with so many times the rate of the next is taken without looking further; judged, for speed."""


def best_check(valuation: Valuation, first: Collection[str] = ()) -> CheckOption | None:
    """The check to make: lowest hazard tier with one that pays, and in it the best after looking further.

    Those in `first` come before all tiers: what would show why a danger sign stands.
    If none pays by itself, those that tell most per minute are tried with what could follow them.
    """
    least = WORTH_ASKING + min(MOST_DELAYING, WORTH_DELAYING * _ready_minutes(valuation))
    paying = [option for option in valuation.options if option.net > least]
    if paying:
        ranks = {option.checks: _rank(option, first) for option in paying}
        lowest = [option for option in paying if ranks[option.checks] == min(ranks.values())]
        rates = sorted(lowest, key=lambda o: (-o.gain / o.minutes, o.checks))
        most = max(rates, key=lambda o: (o.net, o.checks))  # dear, but may spare many small questions
        if len(rates) == 1 or (most is rates[0] and _clear(rates[0], rates[1])):
            return rates[0]
        candidates = rates[:CANDIDATES] + ([most] if most not in rates[:CANDIDATES] else [])
        return _looked_further(valuation, candidates, least) or rates[0]
    telling = sorted(valuation.options, key=lambda o: (-_bits(valuation, o) / o.minutes, o.checks))
    return _looked_further(valuation, telling[:CANDIDATES], least, margin=least)


def _clear(best: CheckOption, next_: CheckOption) -> bool:
    """True if the best rate is so many times the next that there is nothing to compare."""
    return best.gain / best.minutes > CLEAR_LEAD * next_.gain / next_.minutes


def _looked_further(
    valuation: Valuation, candidates: list[CheckOption], least: float, margin: float = 0.0
) -> CheckOption | None:
    """The candidate with the least expected minutes if the saving rule is followed after it.

    None if even that is not less, by `margin`, than repairing at once.
    """
    if not candidates:
        return None
    others = lookahead_candidates(valuation)
    node = valuation.restricted(list(dict.fromkeys(option.checks for option in (*candidates, *others))))
    rule, share = by_saving(least), BELIEFS // len(candidates)
    minutes = [try_first(node, k, rule, Budget(share)) for k in range(len(candidates))]
    best = min(range(len(candidates)), key=lambda k: round(minutes[k], 6))  # alike: the better rate
    return candidates[best] if minutes[best] < node.end - margin else None


def _rank(option: CheckOption, first: Collection[str]) -> Tier:
    """The hazard tier; the complaint's danger signs were asked on one screen, any other is a look like others."""
    return Tier.PEOPLE if any(check in first for check in option.checks) else max(option.tier, Tier.LOOK)


def lookahead_candidates(valuation: Valuation) -> list[CheckOption]:
    """Those that save most per minute; then those that save nothing yet but tell most per minute."""
    saving = [option for option in valuation.options if option.gain > NOTHING]
    first = sorted(saving, key=lambda o: (-o.gain / o.minutes, o.checks))[:FOLLOWERS]
    if len(first) == FOLLOWERS:
        return first
    others = [option for option in valuation.options if option.gain <= NOTHING]
    return (first + sorted(others, key=lambda o: (-_bits(valuation, o) / o.minutes, o.checks)))[:FOLLOWERS]


def _bits(valuation: Valuation, option: CheckOption) -> float:
    """Information of the option's result on the set, in bits; no more than rounding would leave is none."""
    return round(valuation.node.information(valuation.numbers[option.checks]), 9)


def _ready_minutes(valuation: Valuation) -> float:
    """Minutes of the leading repair times its chance: a repair that is nearly sure should not wait."""
    leading = next((a for a in valuation.actions if a.id in valuation.plan.order[:1]), None)
    return leading.minutes * chance_of_cure(valuation, leading) if leading else 0.0


def chance_of_cure(valuation: Valuation, action: Action) -> float:
    """Chance that this repair alone removes a cause that the findings need."""
    cured = (valuation.sets.now * action.cures[None]).max(axis=1, initial=0.0)
    return float(valuation.sets.weights @ cured)
