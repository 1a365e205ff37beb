"""The trainer's sheet of a drill at the phone: the caller's lines to read aloud, the key, the marks to give."""

from collections.abc import Iterable

from comeback.cli.drill import call_screens as call
from comeback.cli.drill.screens import story, title
from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.rehearsal.simulation import Person
from comeback.kb.vocabulary import Audience


def lines(drill: PhoneDrill, command: str, look: Look) -> list[Styled]:
    """All that the caller says, in the order of the script."""
    out: list[Styled] = [("title", f"Trainer's sheet: a call, seed {drill.car.seed}. You are the caller.")]
    out += [("faint", f"The same call: {command}   knowledge {drill.knowledge.version}")]
    out += [("plain", line) for line in look.wrap(story(drill)[0][1], 14, "  Service")]
    out += [("plain", ""), ("title", "Your lines"), *_lines(drill, look)]
    out += [("plain", ""), ("title", "Danger signs, when asked"), *_signs(drill, look)]
    out += [("plain", ""), ("title", "Other questions (all else: as it should be)"), *_answers(drill, look)]
    out += [("plain", ""), ("title", "Key"), *_key(drill, look)]
    out += [("plain", ""), ("title", "When you were advised, ask"), *_wants(drill, look)]
    out += [("plain", ""), ("title", "Marks"), *(("plain", f"  {row}") for row in MARKS)]
    return [*out, *(("faint", line) for line in look.wrap(wording.LIMITS))]


MARKS = (
    "[ ] asked first whether you drive   [ ] had a driver stop",
    "[ ] danger signs before other questions   [ ] advice not below them",
    "[ ] no short trip promised    A miss of one of these ends the drill.",
    "[ ] right advice   [ ] promised nothing   [ ] read back   questions ____",
)


def _lines(drill: PhoneDrill, look: Look) -> list[Styled]:
    drives = "Yes, I am on the road right now." if drill.driving else "No, the car is parked."
    rows = [(wording.DRIVING, drives)]
    if drill.driving:
        rows.append(("Told to stop", "All right. I stand now."))
    rows.append((wording.OPEN_QUESTION, call.words(drill)))
    return [("plain", line) for asked, text in rows for line in look.wrap(f'{asked}  "{text}"', 4, "  ")]


def _signs(drill: PhoneDrill, look: Look) -> list[Styled]:
    return _said(drill, drill.danger_checks(), look, every=True)


def _answers(drill: PhoneDrill, look: Look) -> list[Styled]:
    known = drill.knowledge.checks
    signs, reported = drill.danger_checks(), drill.start.situation.results
    there = drill.walk.situation.network.observables
    names = (c for c in known if c in there and Audience.PHONE in known[c].audience and c not in (*signs, *reported))
    return _said(drill, names, look, every=False)


def _said(drill: PhoneDrill, checks: Iterable[str], look: Look, every: bool) -> list[Styled]:
    """What the caller says to these questions; `every`: also where nothing is wrong."""
    person: Person = drill.work.person
    out: list[Styled] = []
    for name in checks:
        check, got = drill.knowledge.checks[name], person.answer(name)
        if got == check.expected and not every:
            continue
        text = call.DONT_KNOW if got is None else check.results[got]
        style = "say" if got is None or got in check.red_flag else "plain"
        out += [(style, line) for line in look.wrap(f'{check.name}: "{text}"', 4, "  ")]
    return out or [("plain", "  none")]


def _key(drill: PhoneDrill, look: Look) -> list[Styled]:
    known = drill.knowledge
    drill.ask_driving()
    drill.tell_to_stop()
    drill.look_at_signs()
    names = known.dispositions
    text = f"Right advice: {names[drill.best_advice()].name}. The least by the signs: {names[drill.floor()].name}."
    out: list[Styled] = [("say", line) for line in look.wrap(text, 4, "  ")]
    for cause in sorted(drill.car.behind):
        out += [("plain", x) for x in look.wrap(f"Behind it: {known.causes[cause].name}", 4, "  ")]
    out.append(("plain", "  The program's call:"))
    for number, step in enumerate(drill.program, 1):
        out += [("plain", x) for x in look.wrap(title(drill, step.step), 8, f"  {number:3d}   ")]
    return out


def _wants(drill: PhoneDrill, look: Look) -> list[Styled]:
    drill.tell(drill.best_advice())
    out: list[Styled] = []
    for want in drill.wants:
        text = f'"{call.WANTS[want]}"  Good: "{call.good_reply(want)}"'
        out += [("plain", line) for line in look.wrap(text, 4, "  ")]
    return out
