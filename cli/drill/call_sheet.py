"""The trainer's sheet of a drill at the phone: the caller's lines to read aloud, the key, the marks to give."""

from collections.abc import Iterable

from comeback.cli.drill import words
from comeback.cli.drill.at_phone import DRIVES, PARKED, STANDS, WANTS, caller_words, good_reply, said
from comeback.cli.drill.words import put
from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.engine.drill.phone import PhoneDrill
from comeback.kb.vocabulary import Audience

MARKS = (
    "[ ] asked first whether you drive   [ ] had a driver stop",
    "[ ] danger signs before other questions   [ ] advice not below them",
    "[ ] no short trip promised    A miss of one of these ends the drill.",
    "[ ] right advice   [ ] promised nothing   [ ] read back   questions ____",
)


def lines(drill: PhoneDrill, look: Look) -> list[Styled]:
    """All that the caller says, in the order of the script."""
    parts = (
        ("You are the caller. Your lines", _lines(drill)),
        ("Danger signs, when asked", _said(drill, drill.danger_checks(), every=True)),
        ("Other questions (all else: OK)", _answers(drill)),
        ("Key", _key(drill)),
        ("After the advice, ask", _wants(drill)),
    )
    return [*put(look, words.story(drill)[:1]), *words.parts_of_sheet(parts, MARKS, look)]


def _lines(drill: PhoneDrill) -> list[str]:
    rows = [(wording.DRIVING, DRIVES if drill.driving else PARKED)]
    rows += [("Asked to stop", STANDS)] if drill.driving else []
    return [f'{asked}  "{text}"' for asked, text in (*rows, (wording.OPEN_QUESTION, caller_words(drill)))]


def _answers(drill: PhoneDrill) -> list[str]:
    """Questions of the phone beside the danger signs whose answer is not as it should be."""
    known = drill.knowledge.checks
    apart = {*drill.danger_checks(), *drill.start.view.results}
    there = drill.walk.view.network.observables
    names = (c for c in known if c in there and Audience.PHONE in known[c].audience and c not in apart)
    return _said(drill, names, every=False)


def _said(drill: PhoneDrill, checks: Iterable[str], every: bool) -> list[str]:
    """What the caller says to these questions; `every`: also where nothing is wrong."""
    known = drill.knowledge.checks
    told = {check: drill.work.person.answer(check) for check in checks}
    return [f'{known[c].name}: "{said(drill, c, got)}"' for c, got in told.items() if every or got != known[c].expected]


def _key(drill: PhoneDrill) -> list[str]:
    """The right advice, what was wrong, the program's own call."""
    drill.ask_driving()
    drill.tell_to_stop()
    drill.look_at_signs()
    names, causes = drill.knowledge.dispositions, drill.knowledge.causes
    text = f"Right advice: {names[drill.best_advice()].name}. The least by the signs: {names[drill.floor()].name}."
    path = [f"{n}  {words.title(drill.knowledge, step.step)}" for n, step in enumerate(drill.program, 1)]
    behind = [f"Behind it: {causes[cause].name}" for cause in sorted(drill.car.behind)]
    return [text, *behind, "The program's call:", *path]


def _wants(drill: PhoneDrill) -> list[str]:
    drill.tell(drill.best_advice())
    return [f'"{WANTS[want]}"  Good: "{good_reply(want)}"' for want in drill.wants]
