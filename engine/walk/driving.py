"""May the car be driven: the advice, also for trouble that has passed and for cars that are not covered."""

from dataclasses import replace
from functools import cached_property

from comeback.engine.walk.danger_signs import DangerSigns
from comeback.engine.walk.disposition import Ruling, floor_alone, ruling_for
from comeback.kb.schema import NotCovered
from comeback.kb.vocabulary import Audience, Disposition, Sense, Tier


class Driving(DangerSigns):
    """What is known of a case, with its danger signs and the advice on driving."""

    @cached_property
    def not_covered(self) -> NotCovered | None:
        """The kind of car that the knowledge says nothing about, if it is one."""
        return self.knowledge.not_covered.get(dict(self.case.vehicle).get("drive", ""))

    @property
    def high_voltage(self) -> tuple[str, ...]:
        """Cautions for a hybrid, or a car of which nobody knows whether it is one."""
        drive, electric = dict(self.case.vehicle).get("drive"), self.knowledge.not_covered.get("electric")
        there = drive == "hybrid" or "drive" in self.case.unknown_conditions
        return electric.cautions if there and electric is not None else ()

    @property
    def spared(self) -> tuple[str, ...]:
        """Cautions for high voltage, if somebody has said that the car has none."""
        electric = self.knowledge.not_covered.get("electric")
        return electric.cautions if electric and dict(self.case.vehicle).get("drive") == "gasoline" else ()

    @cached_property
    def gone(self) -> bool:
        """True if the trouble has passed by itself, and nothing wrong was found here.

        It counts for what was named before, until the customer calls again.
        """
        case, checks = self.case, self.knowledge.checks
        since = max(case.named, case.again)
        new = {answer.check for answer in case.answers if answer.number > since and checks[answer.check].passed}
        passed = {name for name in new if self.results[name] in checks[name].passed}
        here = (answer.check for answer in case.answers if answer.audience is Audience.BAY)
        found = any(name not in passed and self._found(checks[name]) for name in here)
        return bool(passed) and not found and not case.repairs

    @cached_property
    def passed(self) -> bool:
        """True if the trouble has passed by itself, and none of it was a danger with which nobody drives."""
        return self.gone and all(self.raised.get(name, Disposition.WATCH) < Disposition.TOW for name in self.here)

    @property
    def lit(self) -> bool:
        """True if a light is part of the complaint: it runs fine with it, so only "the light is out" ends that."""
        return any(self.knowledge.checks[name].sense is Sense.LAMP for name in self.stated)

    @cached_property
    def here(self) -> dict[str, str | None]:
        """What is known of the car as it is now: of trouble that has passed only the dangers to people and car."""
        checks = self.knowledge.checks
        told = {name for name in self.stated if self.gone and checks[name].tier > Tier.CAR}
        return {name: result for name, result in self.results.items() if name not in told}

    @property
    def advice(self) -> Disposition:
        """What the caller is told: the ruling's advice, but a car that does not start comes in by tow truck."""
        stays = self.dead and not self.gone
        return max(self.ruling.advice, Disposition.TOW) if stays else self.ruling.advice

    @cached_property
    def ruling(self) -> Ruling:
        """Advice on driving; by the danger signs alone once it has passed, or on a car that is not covered."""
        if self.not_covered:
            return floor_alone(self.knowledge, self.here, Disposition.COME_IN)
        if self.gone:
            look = any(complaint.once_gone for complaint in self.complaints)
            return floor_alone(self.knowledge, self.here, Disposition.BOOK if look else Disposition.WATCH)
        ruling = ruling_for(self.knowledge, self.network, self.evidence, self.results, self.belief, self.stated)
        unsure = "drive" in self.case.unknown_conditions and ruling.advice < Disposition.BOOK
        return replace(ruling, advice=Disposition.BOOK) if unsure else ruling
