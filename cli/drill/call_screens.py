"""What shows during a drill at the phone: the caller's lines, to be read aloud by a trainer or by oneself."""

from collections.abc import Mapping

from comeback.cli.drill.screens import story
from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.endings import confirm_back
from comeback.engine.drill.drill import Turn
from comeback.engine.drill.phone import NOTHING, PhoneDrill
from comeback.kb.vocabulary import Disposition

KEYS = "WORDS ask  advice  read-back  end  hint  q  ? help"
OPENING = "driving  stop  open  signs  "
HELP = (
    "You are at the phone. Say the script; type what you asked; hear the caller.",
    "  driving     ask whether he drives    stop   have him stop in a safe place",
    "  open        ask what the car is doing now",
    "  signs       read him the danger signs; again: those that he could not tell",
    "  any words   find a question; then type the number",
    "  advice      tell him about driving; then answer what he wants promised",
    "  read-back   read back what he said and what you advised",
    "  end         end the call",
    "  suspect WORDS   name a suspect     cause WORDS   tell him what it is",
    "  hint        a hint in three levels (counted)      r   what he said so far",
    "  q           stop; go on later with: comeback drill --resume",
    "What ends the drill at once: anything before you know whether he drives, a",
    "driver kept talking, other questions or advice before the danger signs,",
    "advice below them or none, a short trip promised to a car not to be driven.",
)
WANTS = {
    "cost": "What will that cost me?",
    "time": "Will it be ready tonight?",
    "cause": "So what is it?",
    "trip": "Can I not just drive round the corner?",
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
        "surely": "We know this one, it is quickly put right.",
    },
    "trip": {
        "nothing": "No. Please do not drive it at all.",
        "roughly": "If it is only a minute, take it slowly.",
        "surely": "Yes, a short trip is fine.",
    },
}
DONT_KNOW = "I don't know."


def caller(text: str, look: Look) -> list[Styled]:
    """A line of the caller."""
    return [("say", line) for line in look.wrap(f'"{text}"', 12, "Caller")]


def start(drill: PhoneDrill, look: Look, name: str) -> list[Styled]:
    """The phone rings; what the shop's own order says is known, what is wrong is not."""
    lines: list[Styled] = [("faint", look.rule), ("title", f"Drill: {name or f'phone, seed {drill.car.seed}'}")]
    lines += [("plain", line) for line in look.wrap(story(drill)[0][1], 14, "  Service")]
    lines += [("plain", ""), ("say", "The phone rings. You speak first.")]
    return [*lines, *keys(drill, look)]


def keys(drill: PhoneDrill, look: Look) -> list[Styled]:
    """The line of keys under every screen."""
    return [("faint", line) for line in look.wrap(KEYS if drill.signs_seen else OPENING + KEYS)]


def driving(drives: bool, look: Look) -> list[Styled]:
    """His answer to whether he is driving."""
    text = "Yes, I am on the road right now." if drives else "No, the car is parked."
    return [*_asked(wording.DRIVING, look), *caller(text, look)]


def stopped(look: Look) -> list[Styled]:
    """He was told to stop."""
    return [*_asked(" ".join(wording.STOP_SAFELY), look), *caller("All right. I stand now.", look)]


def said(drill: PhoneDrill, look: Look) -> list[Styled]:
    """His answer to the open question."""
    complaint = drill.knowledge.complaints[drill.car.comeback.complaint]
    lines = [*_asked(wording.OPEN_QUESTION, look), *caller(words(drill), look)]
    return [*lines, ("plain", f"That is: {complaint.name}")]


def words(drill: PhoneDrill) -> str:
    """How the caller puts it."""
    return drill.knowledge.complaints[drill.car.comeback.complaint].words[0]


def signs(drill: PhoneDrill, results: Mapping[str, str | None], look: Look) -> list[Styled]:
    """His answers to the danger signs: those that fit and those that he does not know, then the others."""
    known = drill.knowledge.checks
    if not results:
        return [("plain", "This complaint has no danger signs on the phone.")]
    lines: list[Styled] = [*_asked(wording.DANGER_PHONE, look)]
    for check, result in results.items():
        if result is None or result in known[check].red_flag:
            text = DONT_KNOW if result is None else known[check].results[result]
            lines += [("say", x) for x in look.wrap(f'{known[check].name}: "{text}"', 14, f"Caller    {look.alert} ")]
    calm = [known[c].name for c, r in results.items() if r is not None and r not in known[c].red_flag]
    return [*lines, *(("plain", x) for x in look.wrap(f"No to: {'; '.join(calm)}", 12, " " * 12) if calm)]


def result(drill: PhoneDrill, turn: Turn, look: Look) -> list[Styled]:
    """His answer to a question."""
    lines: list[Styled] = []
    for check, got in turn.results.items():
        entry = drill.knowledge.checks[check]
        lines += _asked(str(entry.say), look)
        lines += caller(DONT_KNOW if got is None else entry.results[got], look)
    return lines


def want(drill: PhoneDrill, asked: str, look: Look) -> list[Styled]:
    """What he wants promised, and the replies to choose from."""
    lines = caller(WANTS[asked], look)
    for number, reply in enumerate(drill.offered(asked), 1):
        lines += [("plain", x) for x in look.wrap(REPLIES[asked][reply], 7, f"   {number}   ")]
    return [*lines, ("faint", "What do you say? Type a number.")]


def read_back(drill: PhoneDrill, look: Look) -> list[Styled]:
    """The read-back with the advice that was given."""
    assert drill.advice is not None
    step, known = drill.walk.advice(), drill.knowledge
    text = confirm_back(drill.walk, step)
    # What is read back is what this trainee advised, not what the program would have.
    ruled, told = known.dispositions[step.disposition], known.dispositions[drill.advice]
    text = text.replace(f"My advice: {ruled.name}.", f"My advice: {told.name}.", 1).replace(f" {ruled.within}.", "", 1)
    return [*_asked(text, look), *caller("Yes, that is right.", look)]


def review(drill: PhoneDrill, look: Look) -> list[Styled]:
    """What he said so far."""
    rows: list[Styled] = []
    if drill.asked_driving:
        rows.append(("plain", "  He stands." if drill.told_to_stop or not drill.driving else "  He is driving."))
    if drill.opened:
        rows += [("plain", x) for x in look.wrap(f'"{words(drill)}"', 4, "  ")]
    for turn in drill.turns:
        for check, got in turn.results.items():
            entry = drill.knowledge.checks[check]
            text = DONT_KNOW if got is None else entry.results[got]
            rows += [("plain", x) for x in look.wrap(f"{entry.name}: {text}", 4, "  ")]
    signs_told = "Danger signs: read to him." if drill.signs_seen else "Danger signs: not asked yet."
    advised = f"Advised: {drill.knowledge.dispositions[drill.advice].name}" if drill.advice is not None else ""
    tail: list[Styled] = [("plain", f"  {text}") for text in (signs_told, advised) if text]
    return [("title", "Said so far"), *rows[-14:], *tail]


def tell(drill: PhoneDrill, look: Look) -> list[Styled]:
    """The choice of advice."""
    lines: list[Styled] = [("title", "What do you tell him about driving? Type a number.")]
    for level in Disposition:
        text = drill.knowledge.dispositions[level].name
        lines += [("plain", x) for x in look.wrap(text, 7, f"   {level + 1}   ")]
    return lines


def good_reply(asked: str) -> str:
    """What promises nothing."""
    return REPLIES[asked][NOTHING]


def _asked(text: str, look: Look) -> list[Styled]:
    return [("plain", line) for line in look.wrap(f'"{text}"', 12, "You ask")]
