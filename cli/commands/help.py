"""Longer help on a topic: keys, phone, answers, config, exit-codes, files, limits.

comeback help keys
"""

import argparse
import os

NO_HOME = "nowhere: this user has no home folder (set HOME)"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback help`."""
    parser.add_argument(
        "topic", nargs="?", metavar="TOPIC", help="keys, phone, answers, config, exit-codes, files or limits"
    )


def run(given: argparse.Namespace) -> int:
    """Print one topic, or what topics there are."""
    from comeback.cli.errors import UsageError
    from comeback.kb.wording import suggest

    if given.topic is None:
        print("Topics: " + ", ".join(TOPICS) + ". Or: comeback COMMAND --help")
        return 0
    if given.topic in TOPICS:
        print(TOPICS[given.topic]())
        return 0
    if given.topic in given.parsers:
        given.parsers[given.topic].print_help()
        return 0
    raise UsageError(f"There is no topic '{given.topic}'.{suggest(given.topic, TOPICS)}")


def _keys() -> str:
    from comeback.cli.prompt.registry import help_lines

    return "\n".join(help_lines())


def _answers() -> str:
    return """\
comeback call --answers FILE     (and triage; - reads standard input)
FILE is YAML, one `id: answer` a line:
  service: intake-cleaning       service, complaint, vehicle conditions by id
  complaint: rough-idle
  injection: port
  raw-fuel: smell                a danger sign that fits; the others do not
  map-seat: loose                a check: its result id, or d for don't know
  idle-map: 52 kPa               a reading, with or without its unit
  codes: P0171 P0507             trouble codes; n for none
  reseat-map-sensor: done        a repair: done, skip or hand-over
  idle-map@1: 36 kPa             the same check after the first repair
  otherwise: d                   all not listed: d, or expected (nothing wrong)
Advice, hand-over and closing are confirmed unless you answer them."""


def _phone() -> str:
    return """\
A call in six parts; text behind "Read aloud" is spoken word for word.
 1  Is the caller driving? Then stop safely first, before anything else.
 2  The service, and an open question: the customer's own words are kept.
 3  Danger signs, all on one screen. "Don't know" counts as the worse answer.
 4  A few questions that the caller can answer from the seat.
 5  The advice. Tow and get clear stand on a screen of their own: type told.
 6  Read back; y if the caller agrees, n keeps you there until it is right.
up tow REASON makes the advice more urgent at any time. down come-in REASON by
NAME makes it milder, with a reason and a second, named person; both are kept.
reg AB12 reads a registration back by the spelling alphabet; type it twice."""


def _config() -> str:
    from comeback.cli import places
    from comeback.cli.config import EXAMPLE

    return f"{places.config_file() or NO_HOME}\n\n{EXAMPLE}\n\nOptions and COMEBACK_... variables go before the file."


def _exit_codes() -> str:
    from comeback.cli.exit_codes import MEANINGS

    return "\n".join(f"{code:4d}  {meaning}" for code, meaning in MEANINGS.items())


def _files() -> str:
    from comeback.cli import places
    from comeback.engine.case_log.address import shown

    data = places.data_folder()
    cases = os.environ.get("COMEBACK_LOG") or (data / "cases.db" if data else NO_HOME)
    return (
        f"config     {places.config_file() or NO_HOME}\n"
        f"cases      {shown(str(cases))}\n"
        "           (--log FILE or COMEBACK_LOG; private to you, never sent anywhere)\n"
        "name       --by NAME or COMEBACK_BY, else the login name\n"
        f"verified   {data / 'heads.json' if data else NO_HOME}\n"
        "           (ends of logs that `comeback cases verify` saw last)\n"
        "knowledge  --knowledge DIR, else the files that come with the program;\n"
        "overlay    --overlay DIR or COMEBACK_OVERLAY, else `overlay` of the config: a\n"
        "           shop's own entries, revised numbers and words; --overlay '' for none"
    )


def _limits() -> str:
    from comeback.cli.look import Look
    from comeback.cli.screens import wording

    return "\n".join(line for text in (wording.LIMITS, JUDGEMENT, TAMPERING) for line in Look().wrap(text))


JUDGEMENT = (
    "Frequencies and most chances in the knowledge are judgement, not statistics: every entry names its source. "
    "Work on fuel, high voltage, brakes and lifted cars is for trained people."
)
TAMPERING = (
    "Whoever can rewrite the case log and heads.json can rewrite its history unseen: keep the head that "
    "`comeback cases verify` prints elsewhere, on paper."
)
TOPICS = {
    "keys": _keys, "phone": _phone, "answers": _answers, "config": _config, "exit-codes": _exit_codes, "files": _files,
    "limits": _limits,
}  # fmt: skip
