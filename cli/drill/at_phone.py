"""A drill at the phone: the learner says the script, the caller's lines come back."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from comeback.cli.drill.at_car import SIGN_WORDS, AtCar, View, advice_lines, told
from comeback.cli.look import Styled
from comeback.cli.numbers import number_in
from comeback.cli.prompt.reply import Command, Remark
from comeback.cli.screens import wording
from comeback.cli.screens.spoken import confirm_back
from comeback.engine.drill import record
from comeback.engine.drill.phone import PhoneDrill

KEYS = "words: a question   advice   read-back   end   hint   q stop   ? help"
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
    "  q           stop; continue later with: comeback drill --resume",
    "  hint        what the program would ask now, and why; counted",
    "What ends the drill at once: anything before you know whether they are driving,",
    "a driver kept talking, other questions or advice before the danger signs,",
    "advice milder than they allow or none, a short trip promised to a car not to be",
    "driven.",
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
PROMISES = (
    ("cost", "What will that cost me?", "We'll look at it first, then call you before we do anything.",
     "Probably not much, it's a small thing.", "Nothing, it's on us."),
    ("time", "Will it be ready tonight?", "I don't know yet. We'll call you when we've looked at it.",
     "I think so, it should be.", "Yes, by tonight."),
    ("cause", "So what is it?", "I can't tell from here. We'll check it and let you know.",
     "It sounds like a loose part from the service.", "We know this one, it's a quick fix."),
    ("trip", "Can't I just drive around the corner?", "No. Please don't drive it at all.",
     "If it's only a minute, take it slow.", "Yes, a short trip is fine."),
)  # fmt: skip
"""What a caller wants promised, and what can be said to it, from nothing to all (our own words, common practice)."""
WANTS = {want: asked for want, asked, *_ in PROMISES}
REPLIES = {want: dict(zip(("nothing", "roughly", "surely"), said, strict=True)) for want, _, *said in PROMISES}
ADVICE = "What is your advice on driving? Type a number."
DRIVES, PARKED, STANDS = "Yes, I'm on the road right now.", "No, the car is parked.", "All right. I've stopped."
DONT_KNOW = "I don't know."


@dataclass
class AtPhone(AtCar):
    """The learner talks to the caller."""

    drill: PhoneDrill

    kinds = ("check",)
    told, first = 1, "The phone rings. You speak first."
    keys = HELP

    def asks(self, view: View) -> list[Styled]:
        """What the caller wants promised, or the list of advice, else the keys."""
        wants = self.drill.want()
        if wants is not None:
            rows = self.look.numbered(REPLIES[wants][reply] for reply in self.drill.offered(wants))
            return [*self._caller(WANTS[wants]), *rows, ("faint", "What do you say? Type a number.")]
        if view.telling:
            return advice_lines(self.drill, ADVICE, self.look)
        return self.look.styled("faint", KEYS if self.drill.signs_seen else OPENING + KEYS)

    def script(self, view: View, lower: str) -> Command | Remark | record.Act | None:
        """Answers to the caller's wish or to the list of advice; else what the script says."""
        wants = self.drill.want()
        if wants is not None:
            offered = self.drill.offered(wants)
            number = number_in(lower, len(offered))
            if number is None:
                return Remark("The caller waits for an answer. Type a number.")
            return record.Act(record.REPLIED, {"want": wants, "reply": offered[number - 1]})
        if view.telling and lower.isdecimal():
            return told(lower)
        if lower in ("advice", "advise"):
            return Command("advice")
        if lower.partition(" ")[0] in ("repair", "hand-over", "handover"):
            return Remark("Nothing is repaired on the phone. Type  end  to end the call.")
        spoken = f" {lower.rstrip('?!. ')} "  # a key alone, or some words said among others
        phrases = ((kind, f" {phrase} ") for kind, said in SPOKEN.items() for phrase in said)
        fitting = (k for k, phrase in phrases if phrase == spoken or (" " in phrase.strip() and phrase in spoken))
        kind, drill = next(fitting, None), self.drill
        if kind == record.TO_STOP and not drill.asked_driving:
            return Remark("Ask first: are they driving?")
        if kind == record.SIGNS and drill.asked_driving and not drill.opened:
            return Remark("You do not know what is wrong yet. Ask the open question first.")
        if kind == record.READ_BACK and drill.advice is None:
            return Remark("There is nothing to read back yet: no advice was given.")
        return record.Act(kind) if kind else None

    def came(self, done: record.Act, came: Any, view: View) -> list[Styled]:
        """The question as it is said, and the caller's line."""
        known = self.drill.knowledge
        match done.kind:
            case record.DRIVING:
                return [*self._you(wording.DRIVING), *self._caller(DRIVES if came else PARKED)]
            case record.TO_STOP:
                return [*self._you(" ".join(wording.STOP_SAFELY)), *self._caller(STANDS)]
            case record.ASKED if came:
                named = known.complaints[self.drill.car.comeback.complaint].name
                return [*self._you(wording.OPEN_QUESTION), *self._caller(caller_words(self.drill)),
                        ("plain", f"That is: {named}")]  # fmt: skip
            case record.SIGNS if not self.drill.ended:
                return self._signs(came)
            case record.CHECKED if came is not None:
                asked = [(self._you(known.checks[c].aloud), c, got) for c, got in came.results.items()]
                return [x for you, c, got in asked for x in (*you, *self._caller(said(self.drill, c, got)))]
            case record.READ_BACK:
                return [*self._you(self._confirmed()), *self._caller("Yes, that's right.")]
            case record.HINTED:
                return self._hint(str(came), view)
        return []

    def _signs(self, results: Mapping[str, str | None]) -> list[Styled]:
        """What the caller says to the danger signs; those that are as they should be in one line."""
        known = self.drill.knowledge.checks
        if not results:
            return [("plain", "This complaint has no danger signs on the phone.")]
        lines = self._you(wording.DANGER_PHONE)
        calm = [check for check, got in results.items() if got == known[check].expected]
        for check, got in results.items():
            if check not in calm:
                mark = self.look.alert if got is None or got in known[check].red_flag else " "
                text = f'{known[check].name}: "{said(self.drill, check, got)}"'
                lines += self.look.styled("say", text, 14, f"Caller    {mark} ")
        none = "; ".join(known[check].name for check in calm)
        return [*lines, *self.look.styled("plain", none and f"No to: {none}", 12, " " * 12)]

    def _confirmed(self) -> str:
        """The read-back with the advice that this learner gave, not the program's."""
        assert self.drill.advice is not None
        names, step = self.drill.knowledge.dispositions, self.drill.walk.advice()
        ruled, given = names[step.disposition], names[self.drill.advice]
        text = confirm_back(self.drill.walk, step).replace(f" {ruled.within}.", "", 1)
        return text.replace(f"My advice: {ruled.name}.", f"My advice: {given.name}.", 1)

    def review(self) -> list[Styled]:
        """What the caller said so far."""
        drill, known = self.drill, self.drill.knowledge
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
        return self.look.styled("plain", f'"{text}"', 12, "You say")

    def _caller(self, text: str) -> list[Styled]:
        return self.look.styled("say", f'"{text}"', 12, "Caller")


def caller_words(drill: PhoneDrill) -> str:
    """How the caller puts what is wrong."""
    return drill.knowledge.complaints[drill.car.comeback.complaint].words[0]


def said(drill: PhoneDrill, check: str, got: str | None) -> str:
    """The caller's answer in words."""
    return DONT_KNOW if got is None else drill.knowledge.checks[check].results[got]
