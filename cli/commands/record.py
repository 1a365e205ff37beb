"""Print a case's record for keeping, or write it to a file: text, HTML, JSON.

comeback record K7RT                              as text, on the screen
comeback record K7RT --format html -o K7RT.html   a page that prints well

An existing file is not overwritten unless you say --force; a case log, the
configuration and knowledge files never are. A case that is not closed is marked
as a draft.
"""

import argparse
import sys
from contextlib import closing
from pathlib import Path

from comeback.cli import exit_codes, options, places
from comeback.cli.files import refuse_to_harm, write_new
from comeback.cli.look import tell
from comeback.cli.records.finding import case_id
from comeback.cli.records.formats import FORMATS, rendered
from comeback.engine.case_log.store import open_log


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback record`."""
    told = "case id, license plate, or the car as the customer named it"
    options.add(parser, "case", metavar="CASE", completer=options.case_ids, help=told)
    parser.add_argument("--format", choices=FORMATS, help="default: by FILE's extension, else text")
    parser.add_argument("-o", "--output", metavar="FILE", help="write to FILE (- is standard output)")
    parser.add_argument("--force", action="store_true", help="overwrite FILE if it exists")
    options.add(parser, *options.KNOWLEDGE, "--log")


def run(given: argparse.Namespace) -> int:
    """Render and write."""
    file = None if given.output in (None, "-") else Path(given.output)
    ending = file.suffix.lower().removeprefix(".") if file else ""
    kind = given.format or (ending if ending in FORMATS else "text")
    place = places.log_place(given.log)
    if file is not None:
        refuse_to_harm(file, place, options.knowledge_read(given))
    with closing(open_log(place)) as log:
        recorded = log.events(case_id(log, given.case))
    text = rendered(options.knowledge_of(given), recorded, kind)
    if file is None:
        sys.stdout.write(text)
        return exit_codes.DONE
    if file.exists() and not given.force:
        raise FileExistsError(f"{file} already exists. Choose another name, or add --force to overwrite it.")
    write_new(file, text.removesuffix("\n").split("\n"), given.force)
    tell(f"written {file}")
    return exit_codes.DONE
