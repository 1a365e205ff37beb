"""Longer help on a topic: keys, answers, exit-codes, files, limits.

comeback help keys
"""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback help`."""
    parser.add_argument("topic", nargs="?", metavar="TOPIC", help="keys, answers, exit-codes, files or limits")


def run(given: argparse.Namespace) -> int:
    """Print one topic, or what topics there are."""
    from comeback.cli.main import UsageError, command_modules
    from comeback.kb.wording import suggest

    if given.topic is None:
        print("Topics: " + ", ".join(TOPICS) + ". Or: comeback COMMAND --help")
        return 0
    if given.topic in TOPICS:
        print(TOPICS[given.topic]())
        return 0
    if given.topic in command_modules():
        from comeback.cli.main import run as run_command

        return run_command([given.topic, "--help"])
    raise UsageError(f"There is no topic '{given.topic}'.{suggest(given.topic, TOPICS)}")


def _keys() -> str:
    from comeback.cli import wording

    return "\n".join(wording.HELP)


def _answers() -> str:
    return """\
comeback call --answers FILE     (and triage; - reads standard input)
FILE is YAML, one `id: answer` a line:
  service: intake-cleaning       the service, complaint, vehicle conditions by id
  complaint: rough-idle
  injection: port
  raw-fuel: smell                a danger sign that fits; those not mentioned do not
  map-seat: loose                a check: its result id, or d for don't know
  idle-map: 52 kPa               a reading, with or without its unit
  codes: P0171 P0507             trouble codes; n for none
  reseat-map-sensor: done        a repair: done, skip or hand-over
  idle-map@1: 36 kPa             the same check after the first repair
  otherwise: d                   all that is not listed: d, or expected (nothing wrong)
Advice, hand-over and closing are confirmed unless you answer them."""


def _exit_codes() -> str:
    from comeback.cli.exit_codes import MEANINGS

    return "\n".join(f"{code:4d}  {meaning}" for code, meaning in MEANINGS.items())


def _files() -> str:
    from comeback.cli import places

    return (
        f"cases      {places.log_place(None)}\n"
        "           (--log FILE or COMEBACK_LOG; private to you, never sent anywhere)\n"
        "name       --by NAME or COMEBACK_BY, else the login name\n"
        "knowledge  --knowledge DIR, else the files that come with the program"
    )


def _limits() -> str:
    from comeback.cli import wording

    return (
        f"{wording.LIMITS}\nFrequencies and most chances in the knowledge are judgement, not statistics: every entry\n"
        "names its source. Work on fuel, high voltage, brakes and lifted cars is for trained people."
    )


TOPICS = {"keys": _keys, "answers": _answers, "exit-codes": _exit_codes, "files": _files, "limits": _limits}
