"""A drill at the phone: the learner says the script, the caller's lines come back."""

from collections.abc import Iterator, Mapping
from typing import Any

from comeback.cli.drill import words
from comeback.cli.drill.at_car import HINTS, SIGN_WORDS, advice_lines, hint_lines, told
from comeback.cli.drill.place import Place, Reply, View
from comeback.cli.drill.words import put
from comeback.cli.look import Styled
from comeback.cli.numbers import number_in
from comeback.cli.prompt.reply import Command, Record, Remark
from comeback.cli.screens import wording
from comeback.cli.screens.endings import confirm_back
from comeback.engine.drill import record
from comeback.engine.drill.phone import NOTHING, PhoneDrill

KEYS = "words: a question   advice   read-back   end   hint   w why   q stop   ? help"
OPENING = "driving   stop   open   signs   "
HELP = (
    "You are at the phone. Say the script; type what you ask; hear the caller.",
    "  driving     ask whether they drive  stop   have them stop in a safe place",
    "  open        ask what the car is doing now",
    "  signs       read the danger signs; again: those that they could not tell",
    "  any words   find a question; then type the number",
    "  advice      the advice on driving; then answer what they want promised",
    "  read-back   read back what they said and what you advised",
    "  end         end the call",
    "  r           what they said so far      b   back from a list",
    "  q           stop; go on later with: comeback drill --resume",
    *HINTS[:1],
    "  w           what the program would ask now, and why; counted as a hint",
    "What ends the drill at once: anything before you know whether they drive, a",
    "driver kept talking, other questions or advice before the danger signs,",
    "advice below them or none, a short trip promised to a car not to be driven.",
)
SPOKEN: Mapping[str, tuple[str, ...]] = {
    record.DRIVING: ("driving", "are you driving", "you driving", "on the road"),
    record.TO_STOP: ("stop", "stopped", "please stop", "pull over", "stop in a safe place", "stop somewhere safe"),
    record.ASKED: ("open", "what is the car doing", "what's the car doing", "what is wrong", "what's wrong"),
    record.SIGNS: SIGN_WORDS,
    record.READ_BACK: ("read-back", "readback", "read back"),
    record.HANDED_OVER: ("end", "end the call", "hang up", "goodbye"),
}
"""The keys of the script, and the same in spoken words."""
WANTS = {
    "cost": "What will that cost me?",
    "time": "Will it be ready tonight?",
    "cause": "So what is it?",
    "trip": "Can't I just drive around the corner?",
}
"""What a caller wants promised (our own words, common practice)."""
REPLIES = {
    "cost": {
        "nothing": "First we look at it. Then we call you before we do anything.",
        "roughly": "Probably not much, it is a small thing.",
        "surely": "Nothing, it is on us.",
    },
    "time": {
        "nothing": "I do not know yet. We call you when we have seen it.",
        "roughly": "I think so, it should be.",
        "surely": "Yes, by tonight.",
    },
    "cause": {
        "nothing": "I cannot tell from here. We check it and tell you.",
        "roughly": "It sounds like a loose part from the service.",
        "surely": "We know this one, it is quickly fixed.",
    },
    "trip": {
        "nothing": "No. Please do not drive it at all.",
        "roughly": "If it is only a minute, take it slowly.",
        "surely": "Yes, a short trip is fine.",
    },
}
ADVICE = "What is your advice on driving? Type a number."
DRIVES, PARKED, STANDS = "Yes, I am on the road right now.", "No, the car is parked.", "All right. I have stopped."
DONT_KNOW = "I don't know."


class AtPhone(Place):
    """The learner talks to the caller."""

    kinds = ("check",)

    @property
    def phone(self) -> PhoneDrill:
        """The drill as what it is here."""
        assert isinstance(self.drill, PhoneDrill)
        return self.drill

    def help(self) -> tuple[str, ...]:
        """What can be typed."""
        return HELP

    def start(self, name: str) -> list[Styled]:
        """The phone rings; what the shop's own order says is known, what is wrong is not."""
        order = put(self.look, words.story(self.drill)[:1])
        return [("faint", self.look.rule), ("title", f"Drill: {name}"), *order, ("plain", ""),
                ("say", "The phone rings. You speak first.")]  # fmt: skip

    def asks(self, view: View) -> list[Styled]:
        """What the caller wants promised, or the list of advice, else the keys."""
        wants = self.phone.want()
        if wants is not None:
            replies = [REPLIES[wants][reply] for reply in self.phone.offered(wants)]
            rows = [("plain", x) for n, text in enumerate(replies, 1) for x in self.look.wrap(text, 7, f"   {n}   ")]
            return [*self._caller(WANTS[wants]), *rows, ("faint", "What do you say? Type a number.")]
        if view.telling:
            return advice_lines(self.drill, ADVICE, self.look)
        return [("faint", line) for line in self.look.wrap(KEYS if self.drill.signs_seen else OPENING + KEYS)]

    def script(self, view: View, lower: str) -> Reply | None:
        """Answers to the caller's wish or to the list of advice; else what the script says."""
        wants = self.phone.want()
        if wants is not None:
            offered = self.phone.offered(wants)
            number = number_in(lower, len(offered))
            if number is None:
                return Remark("The caller waits for an answer. Type a number.")
            return Record(record.REPLIED, {"want": wants, "reply": offered[number - 1]})
        if view.telling and lower.isdecimal():
            return told(lower)
        if lower in ("advice", "advise"):
            return Command("advice")
        if lower.partition(" ")[0] in ("repair", "hand-over", "handover"):
            return Remark("Nothing is repaired on the phone. Type  end  to end the call.")
        spoken = lower.rstrip("?!. ")
        return next((self._said(kind) for kind, phrases in SPOKEN.items() if _means(spoken, phrases)), None)

    def _said(self, kind: str) -> Reply:
        """A line of the script, unless it makes no sense yet."""
        if kind == record.TO_STOP and not self.phone.asked_driving:
            return Remark("Ask first: are they driving?")
        if kind == record.SIGNS and self.phone.asked_driving and not self.phone.opened:
            return Remark("What is wrong is not known yet. Ask the open question first.")
        if kind == record.READ_BACK and self.phone.advice is None:
            return Remark("There is nothing to read back yet: no advice was given.")
        return Record(kind)

    def came(self, done: Record, came: Any, view: View) -> list[Styled]:
        """The question as it is said, and the caller's line."""
        match done.kind:
            case record.DRIVING:
                return [*self._you(wording.DRIVING), *self._caller(DRIVES if came else PARKED)]
            case record.TO_STOP:
                return [*self._you(" ".join(wording.STOP_SAFELY)), *self._caller(STANDS)]
            case record.ASKED if came:
                return [*self._you(wording.OPEN_QUESTION), *self._caller(caller_words(self.phone)), self._complaint()]
            case record.SIGNS if not self.drill.ended:
                return self._signs(came)
            case record.CHECKED if came is not None:
                return [line for check, got in came.results.items() for line in self._answer(check, got)]
            case record.READ_BACK:
                return [*self._you(self._confirmed()), *self._caller("Yes, that is right.")]
            case record.HINTED:
                return hint_lines(self, str(came), done, view)
        return []

    def _complaint(self) -> Styled:
        return "plain", f"That is: {self.drill.knowledge.complaints[self.drill.car.comeback.complaint].name}"

    def _answer(self, check: str, got: str | None) -> Iterator[Styled]:
        yield from self._you(str(self.drill.knowledge.checks[check].say))
        yield from self._caller(said(self.phone, check, got))

    def _signs(self, results: Mapping[str, str | None]) -> list[Styled]:
        """What the caller says to the danger signs; those that are as they should be in one line."""
        known = self.drill.knowledge.checks
        if not results:
            return [("plain", "This complaint has no danger signs on the phone.")]
        lines = self._you(wording.DANGER_PHONE)
        for check, got in results.items():
            if got is None or got != known[check].expected:
                mark = self.look.alert if got is None or got in known[check].red_flag else " "
                text = f'{known[check].name}: "{said(self.phone, check, got)}"'
                lines += [("say", x) for x in self.look.wrap(text, 14, f"Caller    {mark} ")]
        calm = [known[check].name for check, got in results.items() if got == known[check].expected]
        return [*lines, *(("plain", x) for x in self.look.wrap(f"No to: {'; '.join(calm)}", 12, " " * 12) if calm)]

    def _confirmed(self) -> str:
        """The read-back with the advice that this learner gave, not the program's."""
        assert self.drill.advice is not None
        names, step = self.drill.knowledge.dispositions, self.drill.walk.advice()
        ruled, given = names[step.disposition], names[self.drill.advice]
        text = confirm_back(self.drill.walk, step)
        return text.replace(f"My advice: {ruled.name}.", f"My advice: {given.name}.", 1).replace(
            f" {ruled.within}.", "", 1
        )

    def review(self) -> list[Styled]:
        """What the caller said so far."""
        drill, known = self.phone, self.drill.knowledge
        rows = []
        if drill.asked_driving:
            rows.append("They are driving." if drill.driving and not drill.told_to_stop else "The car is parked.")
        if drill.opened:
            rows.append(f'"{caller_words(drill)}"')
        rows += [f"{known.checks[check].name}: {said(drill, check, got)}"
                 for turn in drill.turns for check, got in turn.results.items()]  # fmt: skip
        tail = ["Danger signs: read to the caller." if drill.signs_seen else "Danger signs: not asked yet."]
        tail += [f"Advice given: {known.dispositions[drill.advice].name}"] if drill.advice is not None else []
        lines: list[Styled] = [("plain", x) for text in rows for x in self.look.wrap(text, 4, "  ")]
        return [("title", "Said so far"), *lines[-14:], *(("plain", f"  {text}") for text in tail)]

    def _you(self, text: str) -> list[Styled]:
        return [("plain", line) for line in self.look.wrap(f'"{text}"', 12, "You say")]

    def _caller(self, text: str) -> list[Styled]:
        return [("say", line) for line in self.look.wrap(f'"{text}"', 12, "Caller")]


def caller_words(drill: PhoneDrill) -> str:
    """How the caller puts what is wrong."""
    return drill.knowledge.complaints[drill.car.comeback.complaint].words[0]


def said(drill: PhoneDrill, check: str, got: str | None) -> str:
    """The caller's answer in words."""
    return DONT_KNOW if got is None else drill.knowledge.checks[check].results[got]


def good_reply(wants: str) -> str:
    """What promises nothing."""
    return REPLIES[wants][NOTHING]


def _means(lower: str, phrases: tuple[str, ...]) -> bool:
    """True if the line is a phrase, or holds one of several words."""
    return lower in phrases or any(f" {phrase} " in f" {lower} " for phrase in phrases if " " in phrase)
