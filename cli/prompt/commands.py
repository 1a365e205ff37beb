"""What people type that is no answer: look around, correct, name, hand over. Each is a function of the sitting."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from comeback.cli.look import Look, Styled
from comeback.cli.prompt import corrections, volunteering
from comeback.cli.prompt import resume as taking_up
from comeback.cli.prompt.pager import next_page, show_listing
from comeback.cli.prompt.replies import Record, Remark
from comeback.cli.screens import wording
from comeback.cli.screens.event_text import event_text
from comeback.cli.screens.heading import shortened
from comeback.cli.screens.panel_text import panel_of, panel_text
from comeback.cli.words import spelling
from comeback.cli.words.numbers import number_in
from comeback.engine.case.events import INSTEAD_OF, Kind
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

if TYPE_CHECKING:
    from comeback.cli.prompt.conversation import Conversation

MOST_FOUND = 8


def show_help(talk: "Conversation", _text: str) -> None:
    """Keys that work everywhere, and how this step is answered."""
    for line in wording.HELP:
        talk.show([("plain", part) for part in (talk.look.wrap(line, 4) if len(line) >= talk.look.width else [line])])
    talk.show([("faint", line) for line in talk.look.wrap(talk.hint())])


def show_why(talk: "Conversation", _text: str) -> None:
    """Why this is asked."""
    from comeback.cli.screens.why import why

    talk.show(why(talk.walk, talk.look))


def go_back(talk: "Conversation", _text: str) -> None:
    """One step back: out of a list or a jump, else the last answer is taken back and kept to be shown."""
    if talk.found or talk.seen or talk.walk.asked is not None:
        talk.seen = []
        left = talk.walk.asked is not None
        talk.found, talk.editing, talk.walk, talk.page = [], None, talk.walk.at(None), 0
        if left:
            talk.say(wording.LEFT_FOCUS)
        talk.show_screen()
        return
    last = talk.walk.last_to_take_back()
    if last is None:
        talk.say(wording.NOTHING_TO_TAKE_BACK)
        return
    what = event_text(talk.walk.knowledge, last)
    talk.commit(Kind.TAKEN_BACK, {"number": last.number, "kind": last.kind})
    talk.say(wording.TAKEN_BACK.format(what=what))
    talk.show_screen()


def keep(talk: "Conversation", _text: str) -> None:
    """Give the answer again that was given before going back."""
    earlier = corrections.earlier_answer(talk.walk) if talk.walk.events else None
    if earlier is None or talk.editing is not None:
        talk.say(wording.NOT_AN_ANSWER.format(text="k", hint=talk.hint()))
        return
    payload = {key: value for key, value in earlier.payload.items() if key != INSTEAD_OF}
    talk.record(Record(earlier.kind, payload, f"Kept: {event_text(talk.walk.knowledge, earlier)}"))


def review(talk: "Conversation", _text: str) -> None:
    """All answers with the numbers by which they can be edited, then the whole record's other parts."""
    lines: list[Styled] = [("title", "Answers so far.  edit 3  changes no. 3; the others are kept.")]
    clean: set[int] = set()
    for number, item in enumerate(corrections.items(talk.walk), 1):
        who = f"({item.event.by}, {item.event.at[11:16]})"
        if item.check is not None and (panel := panel_of(talk.walk.knowledge, item.event.payload["results"])):
            if item.event.number not in clean:
                clean.add(item.event.number)
                told = panel_text(talk.walk.knowledge, panel, item.event.payload["results"],
                                  item.event.payload.get("codes", ()))  # fmt: skip
                last = number + len(item.event.payload["results"]) - 1
                lines += [("plain", x) for x in talk.look.wrap(f"{number} to {last}  {told} {who}", 7, "       ")]
            if (
                item.said
                == talk.walk.knowledge.checks[item.check].results[talk.walk.knowledge.checks[item.check].expected]
            ):
                continue
        lines += [("plain", x) for x in talk.look.wrap(f"{item.asked}: {item.said} {who}", 7, f"  {number:3d}  ")]
    case = talk.walk.case
    for done in case.repairs:
        name = talk.walk.knowledge.repairs[done.repair].name
        lines += [("plain", x) for x in talk.look.wrap(f"repaired: {name} ({done.by}, {done.at[11:16]})", 7)]
    for at, by, text in case.notes:
        lines += [("plain", x) for x in talk.look.wrap(f"note: {text} ({by}, {at[11:16]})", 7, "       ")]
    changed = sum(1 for event in talk.walk.events if event.kind == Kind.TAKEN_BACK)
    lines.append(("faint", f"Changed or taken back: {changed}. What stood there before stays in the record."))
    show_listing(talk, lines)


def edit(talk: "Conversation", text: str) -> None:
    """Go to an earlier answer by its number, to answer it anew."""
    found = corrections.items(talk.walk) if talk.walk.events else []
    number = number_in(text, len(found))
    if number is None:
        talk.say(wording.NO_ITEM.format(number=shortened(text, 12)))
        return
    item = found[number - 1]
    talk.go_to(corrections.step_again(talk.walk, item), item)


def open_items(talk: "Conversation", text: str) -> None:
    """List what was answered "don't know", or go to one of them; the walk goes on afterwards where it was."""
    found = corrections.open_items(talk.walk) if talk.walk.events else []
    if not found:
        talk.say(wording.NO_OPEN)
        return
    number = number_in(text, len(found))
    if number is not None:
        item = found[number - 1]
        talk.go_to(corrections.step_again(talk.walk, item), None if item.check else item)
        return
    lines: list[Styled] = [("title", "Not known yet.  open 2  asks no. 2 now.")]
    for number, item in enumerate(found, 1):
        lines += [("plain", x) for x in talk.look.wrap(item.asked, 7, f"  {number:3d}  ")]
    talk.show(lines)


def so_far(talk: "Conversation", _text: str) -> None:
    """What is known so far: leading causes, ruled out, not checked."""
    from comeback.cli.screens.summary import so_far_lines

    talk.show(so_far_lines(talk.walk, talk.look))


def find(talk: "Conversation", text: str) -> None:
    """Search complaints, causes and checks; forgiving of spelling."""
    if not text:
        talk.say(wording.FIND_EMPTY)
        return
    from comeback.cli.words.search import search

    found = search(talk.walk.knowledge, text)[:MOST_FOUND]
    lines: list[Styled] = [("title", f"Found for '{text[:40]}'")] if found else []
    for kind, name in found:
        lines += [("plain", x) for x in talk.look.wrap(_found_text(talk.walk, kind, name), 13, f"  {kind}")]
    talk.show(lines or [("say", wording.FOUND_NOTHING.format(text=text[:40]))])


def _found_text(walk: Walk, kind: str, name: str) -> str:
    """The entry's name, and what is known of it in this walk."""
    entry = getattr(walk.knowledge, {"complaint": "complaints", "cause": "causes", "check": "checks"}[kind])[name]
    text = f"{entry.name} [{name}]"
    if kind == "check" and (answer := walk.case.answer(name)) is not None:
        from comeback.cli.screens.event_text import answer_text

        return f"{text} - answered: {answer_text(walk.knowledge, name, answer.result, answer.reading)}"
    if kind == "cause" and walk.case.complaint is not None and name in walk.situation.network.causes:
        chance = 100 * walk.situation.belief.probability(name)
        return f"{text} - {f'{chance:.0f} %' if chance >= 0.5 else 'below 1 %'} now"
    return text


def note(talk: "Conversation", text: str) -> None:
    """Write something down with the case."""
    if not text:
        talk.say(wording.NOTE_EMPTY)
        return
    talk.commit(Kind.NOTED, {"text": text})
    talk.say(wording.NOTED)


def rename(talk: "Conversation", text: str) -> None:
    """Another name for the car."""
    if text:
        talk.commit(Kind.RENAMED, {"car": text})
        talk.say(wording.RENAMED.format(car=text))


def give(talk: "Conversation", text: str) -> None:
    """Hand the walk over to somebody by name; it stands in that person's list of unfinished walks."""
    if text:
        talk.commit(Kind.GIVEN, {"to": text})
        talk.say(wording.GIVEN.format(to=text, case=talk.walk.case.id, command=talk.command()))


def registration(talk: "Conversation", text: str) -> None:
    """The registration, read back by the spelling alphabet; confirmed once it was typed twice alike, kept before."""
    typed, case = spelling.tidy(text), talk.walk.case
    if not typed:
        talk.say(wording.REG_EMPTY)
        return
    alike = next((one for one in case.unconfirmed if spelling.same(one, typed)), None)
    if alike is not None:
        talk.commit(Kind.REGISTERED, {"registration": alike, "read_back": True})
        talk.say(wording.REG_DONE.format(text=alike))
        taking_up.say_earlier(talk, alike)
        return
    before = case.unconfirmed[-1:] or ((case.registration,) if case.registration else ())
    talk.commit(Kind.REGISTERED, {"registration": typed, "read_back": False})
    if before and not spelling.same(before[0], typed):
        talk.say(wording.REG_DIFFERS.format(text=before[0]))
    else:
        talk.say(wording.REG_AGAIN.format(spelt=spelling.spelt(text), text=typed))


def contact(talk: "Conversation", text: str) -> None:
    """The number to call back on, or the place where the car stands."""
    word, _, told = text.partition(" ")
    if not told.strip():
        talk.say("Type it behind the word: callback 555 0100, place Mill Road 4 by the bridge")
        return
    field = "phone" if word.lower() == "callback" else "place"
    talk.commit(Kind.CONTACT, {field: told.strip()})
    talk.say(wording.CONTACT_NOTED.format(text=told.strip()))


def print_record(talk: "Conversation", _text: str) -> None:
    """The whole record on the screen."""
    if talk.walk.case.id in ("", "-"):
        talk.say(wording.NOT_OPENED)
        return
    from comeback.cli.records.formats import rendered

    text = rendered(talk.walk.knowledge, talk.walk.events, "text")
    show_listing(talk, [("plain", line) for line in text.splitlines()])
    talk.say(f"To keep it: comeback record {talk.walk.case.id} --format html -o {talk.walk.case.id}.html")


def tell(talk: "Conversation", _text: str) -> None:
    """The advice read out once more after the call has ended."""
    talk.passed = {key for key in talk.passed if not key.startswith("told ")}
    talk.walk = talk.walk.at(talk.walk.advice())
    talk.show_screen()


def more_choices(talk: "Conversation", _text: str) -> None:
    """The next page of the list that is being read, else of the step."""
    if talk.rest:
        next_page(talk)
        return
    talk.page += 1
    talk.show_screen()


def change_urgency(talk: "Conversation", text: str) -> None:
    """Set another disposition, then show the advice again."""
    from comeback.cli.prompt.urgency import HOW_DOWN, HOW_UP, override
    from comeback.cli.screens.told_to_bay import standing_signs

    if talk.walk.audience is not Audience.PHONE:
        talk.say("Only on the phone: in the bay the car is with you. Write a note, or give the car on.")
        return
    if not text:
        talk.say(f"Type: {HOW_UP}. Or: {HOW_DOWN}.")
        return
    reply = override(talk.walk, text, talk.by)
    if isinstance(reply, Remark):
        talk.say(reply.text)
        return
    talk.editing = None
    talk.commit(reply.kind, dict(reply.payload))
    talk.say(reply.echo)
    for text in standing_signs(talk.walk, str(reply.payload["reason"])):
        talk.say(text)
    if not isinstance(talk.walk.step, steps.Advise):
        talk.walk = talk.walk.at(talk.walk.advice())
    talk.show_screen()


def resume(talk: "Conversation", text: str) -> None:
    """Go on with an unfinished walk instead of beginning a new one."""
    taking_up.resume(talk, text)


ASIDES: Mapping[str, Callable[["Conversation", str], None]] = {
    "help": show_help, "why": show_why, "back": go_back, "keep": keep, "review": review, "edit": edit,
    "open": open_items, "so-far": so_far, "find": find, "note": note, "rename": rename, "give": give,
    "reg": registration, "contact": contact, "print": print_record, "tell": tell, "more": more_choices,
    "saw": volunteering.saw, "codes": volunteering.codes,
    "up": change_urgency, "down": change_urgency, "resume": resume,
}  # fmt: skip


def earlier_line(walk: Walk, look: Look, editing: corrections.Item | None = None) -> list[Styled]:
    """The answer that is being edited, or the one given before going back with the key that keeps it."""
    if editing is not None:
        return [_beside(wording.EDITING, editing.said, look)]
    earlier = corrections.earlier_answer(walk) if walk.events else None
    return [] if earlier is None else [_beside(wording.EARLIER, event_text(walk.knowledge, earlier), look)]


def _beside(texts: tuple[str, str], said: str, look: Look) -> Styled:
    """One line in which the key stays whole, however long the answer is."""
    before, key = texts
    room = look.width - 1 - len(before.format(said="")) - len(key)
    return "faint", before.format(said=shortened(said, max(8, room))) + key
