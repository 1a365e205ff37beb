"""Print a case's record for keeping, or write it to a file: text, Markdown, HTML, JSON, CSV.

comeback record K7RT                              as text, on the screen
comeback record K7RT --format html -o K7RT.html   a page that prints well

An existing file is not overwritten unless you say --force; a case log, the
configuration and knowledge files never are. A case that is not closed is marked
as a draft.
"""

import argparse
import os
import sys
from pathlib import Path

from comeback.cli.look import tell

FORMATS = ("text", "markdown", "html", "json", "csv")
ENDINGS = {".txt": "text", ".md": "markdown", ".html": "html", ".json": "json", ".csv": "csv"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback record`."""
    from comeback.cli import options
    from comeback.cli.completers import case_ids, completed_by

    case = parser.add_argument(
        "case", metavar="CASE", help="case id, license plate, or the car as the customer named it"
    )
    completed_by(case, case_ids)
    parser.add_argument("--format", choices=FORMATS, help="default: by FILE's extension, else text")
    parser.add_argument("-o", "--output", metavar="FILE", help="write to FILE (- is standard output)")
    parser.add_argument("--force", action="store_true", help="overwrite FILE if it exists")
    options.add_knowledge(parser)
    options.add_log(parser)


def run(given: argparse.Namespace) -> int:
    """Render and write."""
    from contextlib import closing

    from comeback.cli import places
    from comeback.cli.options import knowledge_of, knowledge_read
    from comeback.cli.private_files import refuse_to_harm
    from comeback.cli.records.finding import case_id
    from comeback.cli.records.formats import rendered
    from comeback.engine.case_log.store import open_log

    file = None if given.output in (None, "-") else Path(given.output)
    kind = given.format or (ENDINGS.get(file.suffix.lower(), "text") if file else "text")
    place = places.log_place(given.log)
    if file is not None:
        refuse_to_harm(file, place, knowledge_read(given))
    with closing(open_log(place)) as log:
        recorded = log.events(case_id(log, given.case))
    text = rendered(knowledge_of(given), recorded, kind)
    if file is None:
        sys.stdout.write(text.encode(sys.stdout.encoding or "utf-8", "replace").decode(sys.stdout.encoding or "utf-8"))
        return 0
    write_new(file, text, given.force)
    tell(f"written {file}")
    return 0


def write_new(file: Path, text: str, force: bool) -> None:
    """Write a file that only its owner can read; an existing one only with `force`, and then at one stroke.

    Raises OSError.
    """
    if os.path.lexists(file) and not force:
        link = " as a broken link" if not file.exists() else ""
        raise FileExistsError(f"{file} already exists{link}. Choose another name, or add --force to overwrite it.")
    part = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        if force:
            part.replace(file)
        else:
            os.link(part, file)  # fails if somebody made the file meanwhile
    finally:
        part.unlink(missing_ok=True)
