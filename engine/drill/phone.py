"""A drill at the phone: the caller's lines come from the hidden car, the trainee asks the script.

The order is the script's: is the caller driving, what is the car doing, the danger signs, questions, advice,
nothing promised, read back. Leaving the caller in danger ends the drill at once.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import ClassVar

from comeback.engine.drill.drill import Drill
from comeback.engine.drill.hidden_car import Played, play
from comeback.engine.drill.safety import MissKind
from comeback.engine.rehearsal.simulation import Chance, Person, Slack, car_of
from comeback.engine.walk.walk import Walk, begin_walk
from comeback.kb.vocabulary import Audience, Disposition

CALLER = Slack(unknown=0.1)
"""A caller does not know one thing in ten (our judgement)."""
DRIVING = 0.25
"""Share of callers who are still driving (our judgement; high, so that it is met in training)."""
WANTS = ("cost", "time", "cause", "trip")
"""What a caller wants to be promised: a price, a time, what it is, that a short trip will be fine."""
NOTHING = "nothing"
REPLIES = (NOTHING, "roughly", "surely")
"""Ways to answer: promise nothing, promise with a "probably", promise."""
ENDED = "call ended"


@dataclass
class PhoneDrill(Drill):
    """A call under way. `told_to_stop`: a driving caller was told to stop; `replies`: want -> reply.

    `asked_again`: the danger signs that the caller could not tell were read once more.
    """

    asked_driving: bool = False
    told_to_stop: bool = False
    opened: bool = False
    asked_again: bool = False
    replies: dict[str, str] = field(default_factory=dict)
    read_back: bool = False

    audience: ClassVar[Audience] = Audience.PHONE

    def _person(self) -> Person:
        return Person(car_of(self.knowledge, self.car.comeback), "caller", CALLER)

    @cached_property
    def start(self) -> Walk:
        """Service and complaint; how the car is built a caller does not say."""
        comeback = self.car.comeback
        return begin_walk(self.knowledge, comeback.service, comeback.complaint, Audience.PHONE)

    @cached_property
    def call(self) -> tuple[Walk, tuple[Played, ...]]:
        """The program's own call with this caller: the walk at its end, and its steps."""
        path, gone = play(self.start, self._person())
        return gone.walk, path

    @property
    def program(self) -> tuple[Played, ...]:
        """The steps of the program's own call."""
        return self.call[1]

    @property
    def _chance(self) -> Chance:
        return Chance(self.car.comeback.seed)

    @property
    def driving(self) -> bool:
        """True if the caller is driving when the call begins."""
        return self._chance.of("driving") < DRIVING

    def ask_driving(self) -> bool:
        """Ask whether the caller is driving; the answer."""
        self.asked_driving = True
        return self.driving and not self.told_to_stop

    def tell_to_stop(self) -> None:
        """Have the caller stop in a safe place."""
        self.told_to_stop = True

    def open_question(self) -> bool:
        """Let the caller say what the car is doing; False if that was a safety miss."""
        self.opened = self._caller_safe()
        return self.opened

    def _caller_safe(self) -> bool:
        if not self.asked_driving:
            self.stop("the caller was not asked first: are you driving?", MissKind.DRIVING)
        elif self.driving and not self.told_to_stop:
            self.stop("the caller was kept talking while driving", MissKind.TALKED)
        return not self.ended

    def look_at_signs(self) -> Mapping[str, str | None]:
        """Read the danger signs to the caller; the answers. Once more: those that were "don't know" before."""
        if not self._caller_safe():
            return {}
        known = self.walk.view.results
        unsure = tuple(sign for sign in self.danger_checks() if self.signs_seen and known.get(sign) is None)
        if unsure and not self.asked_again:
            self.asked_again = True
            for sign in unsure:
                self.work.person.try_again(sign)
            self._look(unsure)
        return super().look_at_signs()

    def _signs_first(self) -> bool:
        return self._caller_safe() and super()._signs_first()

    def tell(self, advice: Disposition) -> None:
        """The advice on driving, asked for only after the danger signs."""
        if self._signs_first():
            super().tell(advice)

    def best_advice(self) -> Disposition:
        """The advice from all that the program's own call brings out, and what the trainee found beyond."""
        known = {check for check, result in self.walk.view.results.items() if result is not None}
        answers = {a.check: a.result for a in self.call[0].case.answers if a.check not in known}
        walk = self.walk.imagine(self.walk.answers(answers)) if answers else self.walk
        return walk.advice().disposition

    @property
    def wants(self) -> tuple[str, ...]:
        """The two things that this caller wants promised after the advice."""
        drawn, *others = sorted(WANTS[:3], key=lambda want: self._chance.of("wants", want))
        return ("trip", drawn) if (self.advice or Disposition.WATCH) >= Disposition.TOW else tuple(others)

    def want(self) -> str | None:
        """What the caller asks for now; None before the advice, and once all is answered."""
        if self.advice is None:
            return None
        return next((want for want in self.wants if want not in self.replies), None)

    def offered(self, want: str) -> tuple[str, ...]:
        """The replies in the order in which they are offered, which differs from car to car."""
        return tuple(sorted(REPLIES, key=lambda reply: self._chance.of("reply", want, reply)))

    def reply(self, want: str, reply: str) -> None:
        """Answer what the caller wants; a short trip promised to a car that must not be driven is a safety miss.

        Raises ValueError if it is none of REPLIES.
        """
        if reply not in REPLIES:
            raise ValueError(f"'{reply}' is no reply")
        self.replies[want] = reply
        if want == "trip" and reply != NOTHING:
            self.stop("a short trip was promised to a car that must not be driven", MissKind.TRIP)

    @property
    def promised(self) -> tuple[str, ...]:
        """What was promised and should not have been."""
        return tuple(want for want, reply in self.replies.items() if reply != NOTHING)

    def confirm(self) -> None:
        """Read back what was said and advised."""
        self.read_back = True

    def hand_over(self) -> None:
        """The call ends; without advice on driving that is a safety miss."""
        if self.advice is None:
            self.stop("the call ended without advice on driving", MissKind.SILENT)
        else:
            self.ended = ENDED

    def due(self) -> str:
        """What the script asks for now; empty if it is the walk's own next step."""
        if not self.asked_driving:
            return "Ask whether the caller is driving."
        if self.driving and not self.told_to_stop:
            return "Have the caller stop in a safe place."
        if not self.opened:
            return "Ask what the car is doing now."
        return "Read back, then end the call." if self.advice is not None else super().due()
