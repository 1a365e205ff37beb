"""What paper says under a danger sign: which repairs have to do with it, which may be looked at with the engine off.

A sign may keep the engine off until all is looked at that can be, or until it is repaired
(`Check.engine_off`). Then an end names first what neither runs nor cranks it. What follows the engine may
run for, as short as may be, only with signs of the first kind, and never with a sign to people: after raw fuel,
smoke or fire nothing on paper runs the engine.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

import numpy as np

from comeback.engine.belief.network import Network
from comeback.engine.belief.presence import Flags
from comeback.engine.charts.ends import Outcomes, TryInOrder
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.steps import DoRepair, HandOver, MakeCheck, ReadPanel, Step
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import Audience, EngineOff, Tier

CUT = HandOver("rare from here: hand over")
FULL = HandOver("more from here: go on with the program")
DANGER = HandOver("danger sign: stop, keep people away, then go on with the program")
ROWS = HandOver("several of these: the repairs of each row in turn, the topmost row first; then hand over")
OFF = HandOver("danger sign: stop, the engine stays off, fetch the car and hand over")

POINTS = 3.0
"""A cause shows in a sign if it makes it so many times as likely as it is without any; judged."""
GRAVE = 0.01
"""A cause with which no car is driven comes first behind a sign if one such car of a hundred has it; judged."""

URGENT = 30.0
"""So many cars a grave one counts for where there is room for some repairs only; judged."""

Sign = tuple[str, int]
"""A check with the number of its abnormal result."""


@dataclass(frozen=True)
class Warned:
    """What stands against going on at a place: the danger signs that led straight to it, and how long it keeps off.

    `never`: a sign to people is among those that keep the engine off.
    """

    signs: tuple[Sign, ...] = ()
    engine_off: EngineOff | None = None
    never: bool = False

    def forbids(self, step: Step) -> bool:
        """True if paper must not ask this: it runs the engine against a sign to people."""
        return self.never and isinstance(step, MakeCheck | ReadPanel | DoRepair) and bool(step.despite)

    @property
    def bare(self) -> HandOver:
        """What paper says if no repair is named."""
        if self.engine_off and (self.signs or self.engine_off is EngineOff.REPAIRED):
            return OFF
        return DANGER if self.signs else CUT

    @property
    def stops(self) -> bool:
        """True if paper asks nothing more here."""
        return bool(self.signs) and self.engine_off is not None


def warned(view: CaseView, signs: Iterable[Sign] = ()) -> Warned:
    """What stands against going on after these signs, or without a new one."""
    led = tuple(signs)
    known = {**view.engine_off, **{sign[0]: off for sign in led if (off := _off(view.knowledge, sign))}}
    if view.audience is Audience.PHONE or not known:
        return Warned(led)
    never = any(view.knowledge.checks[name].tier is Tier.PEOPLE for name in known)
    return Warned(led, EngineOff.REPAIRED if EngineOff.REPAIRED in known.values() else EngineOff.LOOKED, never)


def kept_off(check: Check, result: str) -> EngineOff:
    """Until when paper keeps the engine off with this result, if it does so; a sign to people until repaired."""
    return EngineOff.REPAIRED if check.tier is Tier.PEOPLE else check.engine_off[result]


def _off(knowledge: KnowledgeBase, sign: Sign) -> EngineOff | None:
    check = knowledge.checks[sign[0]]
    return check.engine_off.get(check.names[sign[1]])


def red_signs(knowledge: KnowledgeBase, checks: Iterable[str]) -> list[Sign]:
    """Every result of the checks that is a danger sign; an abnormal one without `red_flag` is an ordinary answer."""
    entries = [knowledge.checks[name] for name in checks]
    return [(check.id, check.names.index(result)) for check in entries for result in check.red_flag]


def said(
    there: Outcomes, warned: Warned, most: int, among: Collection[str] | None = None
) -> tuple[TryInOrder | HandOver, dict[str, float]]:
    """The end of paper at a place, and the share of the cars there that each repair named adds.

    After a danger sign, only repairs of causes that show in it: the grave ones first, then the likeliest.
    """
    fitting = _pointed(there, warned.signs)
    ids = [action.id for action in there.actions]
    may = {name for k, name in enumerate(ids) if fitting[k] and (among is None or name in among)}
    if warned.engine_off is None:
        found = _named(there, warned, most, may)
        return TryInOrder(_ordered(there, warned, found), bool(warned.signs)) if found else warned.bare, found
    running = {name for k, name in enumerate(ids) if there.running[k]}
    first = _named(there, warned, most, may - running)
    left = most - len(first)
    later = warned.engine_off is EngineOff.LOOKED and not warned.never
    then = _named(there, warned, left, may & running, first) if later and left else {}
    if not first and not then:
        return warned.bare, {}
    repairs, last = _ordered(there, warned, first), _ordered(there, warned, then)
    return TryInOrder(repairs, bool(warned.signs), last, warned.engine_off), {**first, **then}


def _named(
    there: Outcomes, warned: Warned, most: int, may: Collection[str], given: Collection[str] = ()
) -> dict[str, float]:
    """At most `most` of the repairs that may be named: what is grave behind a sign, then what settles the most cars.

    With the share of the cars here that each adds, a grave one counted URGENT times.
    """
    shares = _grave_shares(there, warned, may)
    grave = sorted((name for name in shares if shares[name] >= GRAVE), key=lambda name: (-shares[name], name))[:most]
    others = there.named(most - len(grave), {*may} - {*grave}, [*given, *grave]) if most > len(grave) else {}
    return {name: URGENT * shares[name] for name in grave} | others


def _grave_shares(there: Outcomes, warned: Warned, names: Collection[str]) -> dict[str, float]:
    """Share of the cars here with a grave cause that shows in a sign and that the repair is meant for."""
    listed = [action.id for action in there.actions if action.id in names]
    if not warned.signs:
        return dict.fromkeys(listed, 0.0)
    return dict(zip(listed, there.share(listed, _showing(there, warned.signs) & there.grave), strict=True))


def _ordered(there: Outcomes, warned: Warned, names: Collection[str]) -> tuple[str, ...]:
    """In the chooser's order; after a danger sign, by how likely what shows in it is there, a specialist's last."""
    if not warned.signs:
        return tuple(names)
    grave = _grave_shares(there, warned, names)
    shares = dict(zip(names, there.share(tuple(names), _showing(there, warned.signs)), strict=True))
    return tuple(sorted(names, key=lambda n: (n in there.specialist, grave[n] < GRAVE, -grave[n], -shares[n])))


def _pointed(there: Outcomes, signs: Collection[Sign]) -> Flags:
    """(A,): repairs meant for a cause that shows in one of the signs; all, if there are none."""
    if not signs:
        return np.ones(len(there.actions), bool)
    return np.asarray((there.meant & _showing(there, signs)).any(axis=1))


def _showing(there: Outcomes, signs: Collection[Sign]) -> Flags:
    """(L,): live causes that make one of the signs clearly likelier than it is without them."""
    network = there.sets.belief.network
    return np.array([any(_shows(network, cause, sign) for sign in signs) for cause in there.sets.live], bool)


def _shows(network: Network, cause: int, sign: Sign) -> bool:
    observable = network.observables[sign[0]]
    chances = observable.links.get(cause)
    return chances is not None and float(chances[sign[1]]) > POINTS * float(observable.leak[sign[1]])
