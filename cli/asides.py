"""What people type that is no answer: look around, correct, name, hand over. Each is a function of the sitting."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from comeback.cli import corrections, screens, spelling, wording
from comeback.cli.look import Styled
from comeback.cli.replies import Record, Remark
from comeback.engine import case as events
from comeback.engine import steps
from comeback.engine.case import Event
from comeback.engine.walk import Walk
from comeback.kb.vocabulary import Audience

if TYPE_CHECKING:
    from comeback.cli.conversation import Conversation

MOST_FOUND = 8


def show_help(talk: "Conversation", _text: str) -> None:
    """Keys that work everywhere, and how this step is answered."""
    for line in wording.HELP:
        talk.show([("plain", part) for part in (talk.look.wrap(line, 4) if len(line) >= talk.look.width else [line])])
    talk.show([("faint", line) for line in talk.look.wrap(talk.hint())])


def show_why(talk: "Conversation", _text: str) -> None:
    """Why this is asked."""
    from comeback.cli.reasons import why

    talk.show(why(talk.walk, talk.look))


def go_back(talk: "Conversation", _text: str) -> None:
    """One step back: out of a list or a jump, else the last answer is taken back and kept to be shown."""
    if talk.found or talk.walk.asked is not None:
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
    what = event_text(talk.walk, last)
    talk.commit(events.TAKEN_BACK, {"number": last.number, "kind": last.kind})
    talk.say(wording.TAKEN_BACK.format(what=what))
    talk.show_screen()


def keep(talk: "Conversation", _text: str) -> None:
    """Give the answer again that was given before going back."""
    earlier = corrections.earlier_answer(talk.walk) if talk.walk.events else None
    if earlier is None or talk.editing is not None:
        talk.say(wording.NOT_AN_ANSWER.format(text="k", hint=talk.hint()))
        return
    payload = {key: value for key, value in earlier.payload.items() if key != events.INSTEAD_OF}
    talk.record(Record(earlier.kind, payload, f"Kept: {event_text(talk.walk, earlier)}"))


def review(talk: "Conversation", _text: str) -> None:
    """All answers with the numbers by which they can be edited, then the whole record's other parts."""
    lines: list[Styled] = [("title", "Answers so far.  edit 3  changes no. 3; the others are kept.")]
    for number, item in enumerate(corrections.items(talk.walk), 1):
        who = f"({item.event.by}, {item.event.at[11:16]})"
        lines += [("plain", x) for x in talk.look.wrap(f"{item.asked}: {item.said} {who}", 7, f"  {number:3d}  ")]
    case = talk.walk.case
    for done in case.repairs:
        name = talk.walk.knowledge.repairs[done.repair].name
        lines += [("plain", x) for x in talk.look.wrap(f"repaired: {name} ({done.by}, {done.at[11:16]})", 7)]
    for at, by, text in case.notes:
        lines += [("plain", x) for x in talk.look.wrap(f"note: {text} ({by}, {at[11:16]})", 7, "       ")]
    changed = sum(1 for event in talk.walk.events if event.kind == events.TAKEN_BACK)
    lines.append(("faint", f"Changed or taken back: {changed}. What stood there before stays in the record."))
    talk.show(lines)
    talk.show(talk.feet())


def edit(talk: "Conversation", text: str) -> None:
    """Go to an earlier answer by its number, to answer it anew."""
    found = corrections.items(talk.walk) if talk.walk.events else []
    if not text or not 1 <= int(text[:6]) <= len(found):
        talk.say(wording.NO_ITEM.format(number=text or ""))
        return
    item = found[int(text) - 1]
    talk.go_to(corrections.step_again(talk.walk, item), item)


def open_items(talk: "Conversation", text: str) -> None:
    """List what was answered "don't know", or go to one of them; the walk goes on afterwards where it was."""
    found = corrections.open_items(talk.walk) if talk.walk.events else []
    if not found:
        talk.say(wording.NO_OPEN)
        return
    if text and 1 <= int(text[:6]) <= len(found):
        item = found[int(text) - 1]
        talk.go_to(corrections.step_again(talk.walk, item), None if item.check else item)
        return
    lines: list[Styled] = [("title", "Not known yet.  open 2  asks no. 2 now.")]
    for number, item in enumerate(found, 1):
        lines += [("plain", x) for x in talk.look.wrap(item.asked, 7, f"  {number:3d}  ")]
    talk.show(lines)


def so_far(talk: "Conversation", _text: str) -> None:
    """What is known so far: leading causes, ruled out, not checked."""
    from comeback.cli.summing_up import so_far_lines

    talk.show(so_far_lines(talk.walk, talk.look))


def find(talk: "Conversation", text: str) -> None:
    """Search complaints, causes and checks; forgiving of spelling."""
    if not text:
        talk.say(wording.FIND_EMPTY)
        return
    from comeback.cli.search import search

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
        from comeback.cli.records import answer_text

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
    talk.commit(events.NOTED, {"text": text})
    talk.say(wording.NOTED)


def rename(talk: "Conversation", text: str) -> None:
    """Another name for the car."""
    if text:
        talk.commit(events.RENAMED, {"car": text})
        talk.say(wording.RENAMED.format(car=text))


def give(talk: "Conversation", text: str) -> None:
    """Hand the walk over to somebody by name; it stands in that person's list of unfinished walks."""
    if text:
        talk.commit(events.GIVEN, {"to": text})
        talk.say(wording.GIVEN.format(to=text, case=talk.walk.case.id, command=talk.command()))


def registration(talk: "Conversation", text: str) -> None:
    """The registration, read back by the spelling alphabet and taken only when it was typed twice alike."""
    if not spelling.tidy(text):
        talk.say(wording.REG_EMPTY)
    elif talk.registration and spelling.same(text, talk.registration):
        talk.commit(events.REGISTERED, {"registration": talk.registration, "read_back": True})
        talk.say(wording.REG_DONE.format(text=talk.registration))
        talk.registration = ""
    elif talk.registration:
        talk.say(wording.REG_DIFFERS.format(text=talk.registration))
        talk.registration = ""
    else:
        talk.registration = spelling.tidy(text)
        talk.say(wording.REG_AGAIN.format(spelt=spelling.spelt(text), text=talk.registration))


def more_choices(talk: "Conversation", _text: str) -> None:
    """The next page of a long list of choices."""
    talk.page += 1
    talk.show_screen()


def change_urgency(talk: "Conversation", text: str) -> None:
    """Set another disposition, then show the advice again."""
    from comeback.cli.urgency import HOW_DOWN, HOW_UP, override

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
    talk.commit(reply.kind, dict(reply.payload))
    talk.say(reply.echo)
    if not isinstance(talk.walk.step, steps.Advise):
        talk.walk = talk.walk.at(talk.walk.advice())
    talk.show_screen()


def resume(talk: "Conversation", text: str) -> None:
    """Go on with an unfinished walk instead of beginning a new one."""
    talk.resume(text)


ASIDES: Mapping[str, Callable[["Conversation", str], None]] = {
    "help": show_help, "why": show_why, "back": go_back, "keep": keep, "review": review, "edit": edit,
    "open": open_items, "so-far": so_far, "find": find, "note": note, "rename": rename, "give": give,
    "reg": registration, "more": more_choices, "up": change_urgency, "down": change_urgency, "resume": resume,
}  # fmt: skip


def event_text(walk: Walk, event: Event) -> str:
    """An event in a few words, for the line that says what was taken back or kept."""
    data, knowledge = event.payload, walk.knowledge
    match event.kind:
        case "answered":
            from comeback.cli.records import answer_text

            texts = [
                f"{knowledge.checks[check].name}: {answer_text(knowledge, check, result, '')}"
                for check, result in data["results"].items()
            ]
            return "; ".join(texts[:2]) + (f"; and {len(texts) - 2} more" if len(texts) > 2 else "")
        case "repaired" | "skipped":
            return f"{event.kind}: {knowledge.repairs[data['repair']].name}"
        case "service":
            return knowledge.services[data["service"]].name
        case "complaint":
            return knowledge.complaints[data["complaint"]].name
        case "condition":
            from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES

            return f"{FEATURE_NAMES[data['feature']]} {FEATURE_VALUES.get(data['value'], 'not known')}"
        case "overridden":
            return f"{data['ruled']} to {data['to']}"
        case "driving":
            return "driving: yes" if data["driving"] else "driving: no"
        case _:
            return str(data.get("disposition") or data.get("reason") or event.kind)


def earlier_line(walk: Walk, editing: corrections.Item | None = None) -> list[Styled]:
    """The answer that is being edited, or the one given before going back with the key that keeps it."""
    if editing is not None:
        return [("faint", wording.EDITING.format(said=editing.said)[: screens.WIDEST])]
    earlier = corrections.earlier_answer(walk) if walk.events else None
    if earlier is None:
        return []
    return [("faint", wording.EARLIER.format(said=event_text(walk, earlier))[: screens.WIDEST])]
