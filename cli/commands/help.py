"""Longer help on a topic: keys, phone, answers, config, exit-codes, files, limits.

comeback help keys
"""

import argparse
import os
from collections.abc import Callable

from comeback.cli import places
from comeback.cli.config import EXAMPLE
from comeback.cli.errors import UsageError
from comeback.cli.exit_codes import MEANINGS
from comeback.cli.look import Look
from comeback.cli.prompt.registry import help_lines
from comeback.cli.screens import wording
from comeback.engine.case_log.address import shown
from comeback.kb.wording import suggest

LIMITS = (
    wording.LIMITS,
    "Frequencies and most chances in the knowledge are judgment, not statistics: every entry names its source. "
    "Work on fuel, high voltage, brakes and lifted cars is for trained people.",
    "Anyone who can rewrite the case log and heads.json can rewrite its history unseen: keep the head that "
    "`comeback cases verify` prints somewhere else, on paper.",
)
OVERRIDE = "Options and COMEBACK_... variables override the file."
NO_HOME = "nowhere: this user has no home folder (set HOME)"
ANSWERS = """\
comeback call --answers FILE     (triage too; - reads standard input)
FILE is YAML, one `id: answer` per line:
  service: intake-cleaning       service, complaint, vehicle conditions by id
  complaint: rough-idle hiss     one or more; gone at the end: it has stopped
  drive: gasoline                what the car runs on
  raw-fuel: smell                a danger sign that is there; others are not
  map-seat: loose                a check: its result id, or d for don't know
  idle-map: 52 kPa               a reading with its unit
  codes: P0171 P0507             trouble codes; n for none
  reseat-map-sensor: done        a repair: done, skip or hand-over
  idle-map@1: 36 kPa             the same check after the first repair
  idle-map@reseat-map-sensor: 36 kPa    or after the repair with that id
  unasked: tell                  in the bay: checks listed are told unasked
  repair: pause                  all repairs not listed: leave the case, saved
  otherwise: d                   everything not listed: d, or expected (all OK)
Advice, hand-over and closing are confirmed unless the file answers them."""
PHONE = """\
A call has six parts. Read what follows "Read aloud" word for word.
 1  Is the caller driving? Then have them stop safely before anything else.
 2  The service, and an open question. The customer's own words are kept.
 3  Danger signs, all on one screen. "Don't know" counts as the worse answer.
 4  A few questions the caller can answer from the driver's seat.
 5  The advice. Tow and get clear have a screen of their own: type told.
 6  Read it back. y if the caller agrees; n lets you correct it first.
also WORDS adds a complaint. gone (or: it's fine now) says that it has stopped.
up tow REASON makes the advice more urgent at any time. down come-in REASON by
NAME makes it milder; it takes a reason and a second person, and both are kept.
plate ABC 1234 spells a license plate back to read aloud; type it twice."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback help`."""
    parser.add_argument("topic", nargs="?", metavar="TOPIC", help=f"{', '.join(TOPICS)}, or a command")


def run(given: argparse.Namespace) -> int:
    """Print one topic, or what topics there are."""
    if given.topic is None:
        print("Topics: " + ", ".join(TOPICS) + ". Or: comeback COMMAND --help")
    elif given.topic in TOPICS:
        print(TOPICS[given.topic]())
    elif given.topic in given.parsers:
        given.parsers[given.topic].print_help()
    else:
        raise UsageError(f"There is no topic '{given.topic}'.{suggest(given.topic, TOPICS)}")
    return 0


def _files() -> str:
    data = places.folder("data")
    cases = os.environ.get("COMEBACK_LOG") or (data / "cases.db" if data else NO_HOME)
    return f"""\
config     {places.config_file() or NO_HOME}
cases      {shown(str(cases))}
           (--log FILE or COMEBACK_LOG; only you can read it, nothing is sent)
name       --by NAME or COMEBACK_BY, else the login name
verified   {data / "heads.json" if data else NO_HOME}
           (the last head that `comeback cases verify` saw of each log)
knowledge  --knowledge DIR, else the files that come with the program
overlay    --overlay DIR or COMEBACK_OVERLAY, else `overlay` in the config: the
           shop's own entries, revised numbers and words; --overlay '' for none"""


TOPICS: dict[str, Callable[[], str]] = {
    "keys": lambda: "\n".join(help_lines()),
    "phone": lambda: PHONE,
    "answers": lambda: ANSWERS,
    "config": lambda: f"{places.config_file() or NO_HOME}\n\n{EXAMPLE}\n\n{OVERRIDE}",
    "exit-codes": lambda: "\n".join(f"{code:4d}  {meaning}" for code, meaning in MEANINGS.items()),
    "files": _files,
    "limits": lambda: "\n".join(line for text in LIMITS for line in Look().wrap(text)),
}
