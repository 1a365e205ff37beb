"""Danger signs of a case: which to ask, which stand, and what must not be done while they do."""

from functools import cached_property

from comeback.engine.walk.known_so_far import KnownSoFar
from comeback.kb.schema import Complaint, Service
from comeback.kb.vocabulary import Audience, Disposition, EngineOff, Tier


class DangerSigns(KnownSoFar):
    """What is known of a case, with its danger signs."""

    @cached_property
    def listed_signs(self) -> tuple[str, ...]:
        """Danger signs asked first: those of the services known to be done, then those of the complaints."""
        done = (self.knowledge.services[name] for name in self.case.services if name in self.knowledge.services)
        entries: list[Service | Complaint] = [*done, *self.complaints]
        return tuple(dict.fromkeys(sign for entry in entries for sign in entry.red_flags))

    @cached_property
    def signs(self) -> tuple[str, ...]:
        """Danger signs to ask: those listed, and on the phone those that a seen one leads to."""
        further = self.knowledge.follow_ups(self.results) if self.audience is Audience.PHONE else ()
        return tuple(dict.fromkeys((*self.listed_signs, *further)))

    @cached_property
    def raised(self) -> dict[str, Disposition]:
        """Danger signs that were seen, by check, with the least advice that each allows."""
        checks = self.knowledge.checks
        flags = ((name, checks[name].red_flag.get(result or "")) for name, result in self.results.items())
        return {name: floor for name, floor in flags if floor is not None}

    @cached_property
    def engine_off(self) -> dict[str, EngineOff]:
        """Danger signs that stand and with which the engine stays off, and until when.

        One is lifted by a repair, done after it was seen, of something that shows in it.
        """
        out: dict[str, EngineOff] = {}
        for check, result in self.results.items():
            until = self.knowledge.checks[check].engine_off.get(result or "")
            if until is not None and not self._lifted(check):
                out[check] = until
        return out

    @cached_property
    def burning(self) -> bool:
        """True if a sign of fuel or fire stands: nothing is switched on before something that shows in it is fixed."""
        checks = self.knowledge.checks
        return any(result in checks[name].fire and not self._lifted(name) for name, result in self.results.items())

    @cached_property
    def not_driven(self) -> tuple[str, ...]:
        """Danger signs to people that stand and with which the car is not driven, as a hard brake pedal.

        One is lifted by a repair of something that shows in it, as above.
        """
        if self.audience is not Audience.BAY:
            return ()
        standing = (name for name, floor in self.raised.items() if floor >= Disposition.TOW and not self._lifted(name))
        return tuple(name for name in standing if self.knowledge.checks[name].tier is Tier.PEOPLE)

    def _lifted(self, check: str) -> bool:
        """True if something that shows in the check was repaired after it was last seen."""
        seen = max((answer.epoch for answer in self._answers.get(check, ()) if answer.result is not None), default=0)
        later = (done.repair for done in self.case.repairs if done.epoch > seen)
        causes = self.knowledge.causes
        return any(check in causes[cause].shows for repair in later for cause in self.knowledge.repairs[repair].removes)

    def runs_engine(self, repair: str) -> bool:
        """True if the repair runs the engine before what the danger signs point at is repaired.

        What follows its own steps runs it too, but by then a repair of what shows in a sign is done.
        """
        entry, known = self.knowledge.repairs[repair], self.knowledge
        if entry.runs_engine or not any(known.procedures[name].runs_engine for name in entry.procedures):
            return entry.runs_engine
        return all(self.engine_off.keys().isdisjoint(known.causes[cause].shows) for cause in entry.removes)

    def despite(self, runs_engine: bool) -> tuple[str, ...]:
        """The signs against which something is done that runs the engine, if it does."""
        return tuple(self.engine_off) if runs_engine and self.audience is Audience.BAY else ()

    @cached_property
    def before_driving(self) -> tuple[str, ...]:
        """What the caller does first if the car may be driven, by the results seen; read aloud."""
        checks = self.knowledge.checks
        lines = (checks[check].before_driving.get(result or "", ()) for check, result in self.results.items())
        return tuple(dict.fromkeys(line for told in lines for line in told))
