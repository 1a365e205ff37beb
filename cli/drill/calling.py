"""The loop of a drill at the phone: the trainee says the script, the caller's lines come back."""

from collections.abc import Callable
from dataclasses import dataclass

from comeback.cli.drill import call_screens as call
from comeback.cli.drill.loop import Drilling
from comeback.cli.drill.screens import MOST_LINES
from comeback.cli.look import Styled
from comeback.cli.words.numbers import number_in
from comeback.engine.drill import record
from comeback.engine.drill.phone import PhoneDrill


@dataclass
class Calling(Drilling):
    """One sitting at the phone. `telling`: the list of advice is on the screen."""

    telling: bool = False

    @property
    def phone(self) -> PhoneDrill:
        """The drill as what it is here."""
        assert isinstance(self.drill, PhoneDrill)
        return self.drill

    def start(self) -> list[Styled]:
        """The phone rings."""
        return call.start(self.phone, self.look, self.name)

    def review(self) -> list[Styled]:
        """What the caller said so far."""
        return call.review(self.phone, self.look)

    def pending(self) -> list[Styled]:
        """What was said, and what the caller waits for."""
        wants = self.phone.want()
        asked = call.want(self.phone, wants, self.look) if wants else self._keys()
        room = max(4, MOST_LINES - len(self.start()) - len(asked))
        return [*self.review()[-room:], *asked]

    def help(self) -> tuple[str, ...]:
        """What can be typed."""
        return call.HELP

    def result(self) -> list[Styled]:
        """The caller's answer to the last question."""
        return call.result(self.phone, self.phone.turns[-1], self.look)

    def _cautions(self, kind: str, name: str) -> list[str]:
        """A caller is asked only what he notices from the seat."""
        return []

    def _keys(self) -> list[Styled]:
        return call.keys(self.phone, self.look)

    def _untold(self) -> bool:
        return self.telling

    def _answered(self, lower: str) -> bool:
        wants = self.phone.want()
        if wants is not None:
            self._reply(wants, lower)
            return True
        if self.telling and lower.isdecimal():
            self._tell(lower)
            return True
        self.telling = False
        return False

    def _reply(self, wants: str, lower: str) -> None:
        offered = self.phone.offered(wants)
        number = number_in(lower, len(offered))
        if number is None:
            self._say("He waits for an answer. Type a number.")
            return
        self.do(record.REPLIED, want=wants, reply=offered[number - 1])
        if not self.drill.ended:
            self._after_advice()

    def _after_advice(self) -> None:
        self.telling = False
        wants = self.phone.want()
        self._show(call.want(self.phone, wants, self.look) if wants else self._keys())

    def _act(self, lower: str) -> None:
        word = lower.partition(" ")[0]
        simple: dict[str, Callable[[], object]] = {
            "driving": self._driving,
            "stop": self._stop,
            "open": self._open,
            "advice": self._advice,
            "read-back": self._read_back,
            "readback": self._read_back,
            "end": lambda: self.do(record.HANDED_OVER),
        }
        if lower in simple:
            simple[lower]()
        elif word == "repair":
            self._say("Nothing is repaired on the phone.")
        elif word in ("hand-over", "handover"):
            self._say("Type  end  to end the call.")
        else:
            super()._act(lower)

    def _driving(self) -> None:
        self._show([*call.driving(self.do(record.DRIVING), self.look), *self._keys()])

    def _stop(self) -> None:
        if not self.phone.asked_driving:
            self._say("Ask first whether he is driving.")
        else:
            self.do(record.TO_STOP)
            self._show([*call.stopped(self.look), *self._keys()])

    def _open(self) -> None:
        if self.do(record.ASKED):
            self._show([*call.said(self.phone, self.look), *self._keys()])

    def _signs(self) -> None:
        if self.phone.asked_driving and not self.phone.opened:
            self._say("What is wrong is not known yet. Ask the open question first.")
            return
        again = self.phone.signs_seen and (self.phone.asked_again or not self.phone.unsure())
        results = self.phone.look_at_signs() if again else self.do(record.SIGNS)
        if not self.drill.ended:
            self._show([*call.signs(self.phone, results, self.look), *self._keys()])

    def _advice(self) -> None:
        self.telling = True
        self._show(call.tell(self.phone, self.look))

    def _read_back(self) -> None:
        if self.phone.advice is None:
            self._say("There is nothing to read back yet: no advice was given.")
        else:
            self.do(record.READ_BACK)
            self._show([*call.read_back(self.phone, self.look), *self._keys()])

    def _look_for(self, words: str, kinds: tuple[str, ...]) -> None:
        super()._look_for(words, ("check",) if "repair" in kinds else kinds)
