"""Walks that were begun before: offered on the first screen of a new one, gone on with, signed by a name."""

from pathlib import Path
from typing import TYPE_CHECKING

from comeback.cli import places
from comeback.cli.screens import wording
from comeback.cli.words.numbers import number_in
from comeback.engine.case_log.address import is_database
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk

if TYPE_CHECKING:
    from comeback.cli.prompt.conversation import Conversation

OFFERED = 3
EARLIER_SHOWN = 2


def show_offers(talk: "Conversation") -> None:
    """Unfinished walks, on the first screen of a new one; the question stands there before the log is read."""
    if talk.walk.events[1:] or not talk.reader.interactive:
        return
    from comeback.cli.prompt.unfinished import offer_lines

    offers = talk.offers()
    found, shown = offer_lines(offers, talk.look, most=OFFERED), {offer.case for offer in offers[:OFFERED]}
    others = [name for name in earlier(talk) if name not in shown][:EARLIER_SHOWN]
    found += [("faint", wording.EARLIER_CASE.format(case=name)) for name in others]
    if found:
        talk.show(found)


def earlier(talk: "Conversation", registration: str = "") -> list[str]:
    """Ids of other cases of this car, by its registration or by the words for it."""
    from comeback.cli.records.finding import earlier_cases

    car = talk.walk.case.car or talk.car
    place = talk.log.place if talk.log is not None else ""
    if not (car or registration) or not (is_database(place) or (place and Path(place).exists())):
        return []
    return earlier_cases(talk.log(), car, registration, talk.walk.case.id)


def say_earlier(talk: "Conversation", registration: str) -> None:
    """Name the case that the car with this registration had before."""
    from comeback.cli.screens.advice_now import advice_now, state_of
    from comeback.engine.case.case import read_case
    from comeback.engine.case_log.protocol import CaseLogError

    for name in earlier(talk, registration)[:1]:
        try:
            recorded = talk.log().events(name)
        except CaseLogError:  # damaged, or deleted meanwhile: `comeback cases` says so
            continue
        state = state_of(read_case(recorded), advice_now(talk.walk.knowledge, recorded))
        command = f"comeback {talk.command()}"
        talk.say(wording.OTHER_CASE.format(case=name, state=state, command=command))


def resume(talk: "Conversation", text: str) -> None:
    """Go on with an unfinished walk, by its place in the list or its case id; without either, list them."""
    from comeback.cli.prompt.unfinished import offer_lines

    found = talk.offers()
    if talk.walk.events and talk.walk.case.id not in ("", "-"):
        talk.say(f"This walk is case {talk.walk.case.id}. Leave it first (q); it is saved.")
        return
    ids = [offer.case for offer in found]
    number = number_in(text, len(ids))
    wanted = text.upper() if number is None else ids[number - 1]
    if wanted not in [*ids, *earlier(talk)]:
        talk.show(offer_lines(found, talk.look) or [("say", "No unfinished walk.")])
        return
    talk.walk = Walk(talk.walk.knowledge, talk.log().events(wanted), talk.walk.audience)
    talk.take_over()
    talk.reopened = isinstance(talk.walk.step, steps.Finished)
    talk.recap("You go on with this walk:")


def say_who_signs(talk: "Conversation") -> None:
    """Nobody's answers are to be signed by a login name unawares."""
    last = talk.walk.events[-1].by
    if talk.reader.interactive and last != talk.by and talk.by == places.login_name():
        talk.say(wording.SIGNED.format(by=talk.by, last=last))
