"""Practise finding the cause: a hidden one, a car that answers, a debrief at the end.

Danger signs come first, always. Then you choose checks and repairs in your own order,
by words. Modes: watch (the program shows its path), complete (it stops half-way and
you go on), guided (with hints), free. One seed is one car, the same for a whole class.
The result is kept on this machine, in the folder for drills of the user's data.
"""

import argparse
import secrets
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from comeback.cli.drilling import Drilling
    from comeback.cli.readers import Reader
    from comeback.engine.drill import Drill

MOST_SEED = 10**9


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback drill`."""
    from comeback.cli import options

    parser.add_argument(
        "--mode", choices=("watch", "complete", "guided", "free"), default="guided", help="(default: guided)"
    )
    parser.add_argument("--seed", metavar="S", type=int, help="which car (default: any)")
    parser.add_argument("--service", metavar="ID", help="only after this service")
    parser.add_argument("--complaint", metavar="ID", help="only with this complaint")
    parser.add_argument("--sheet", action="store_true", help="print the trainer's sheet with the key instead")
    parser.add_argument("--answers", metavar="FILE", help="lines as they would be typed (- for standard input)")
    parser.add_argument("--by", metavar="NAME", help="who drills (default: COMEBACK_BY, else the login name)")
    parser.add_argument("--json", action="store_true", help="print the result as JSON at the end, and nothing else")
    parser.add_argument("--plain", action="store_true", help="no emphasis, only lines one after the other")
    options.add_knowledge(parser)


def run(given: argparse.Namespace) -> int:
    """Hide a car, drill, debrief, keep the result; or print the sheet."""
    from comeback.cli import drill_sheet, exit_codes
    from comeback.cli.drilling import Drilling
    from comeback.cli.look import look_of, show

    drill = _drill(given)
    look = look_of(sys.stdout, given.plain)
    if given.sheet:
        show(drill_sheet.lines(drill, look), look)
        return exit_codes.DONE
    drilling = Drilling(drill, _reader(given), look, quiet=given.json)
    code = drilling.run()
    _finish(drilling, given)
    return code


def _reader(given: argparse.Namespace) -> "Reader":
    from comeback.cli.drill_search import LinesReader
    from comeback.cli.readers import choose_reader

    return LinesReader(given.answers) if given.answers is not None else choose_reader(None, plain=given.plain)


def _drill(given: argparse.Namespace) -> "Drill":
    from comeback.cli.command_line import UsageError
    from comeback.cli.options import knowledge_of
    from comeback.engine.drill import Drill, Mode
    from comeback.engine.hidden_car import hide_car
    from comeback.kb.wording import suggest

    seed = secrets.randbelow(10_000) if given.seed is None else given.seed
    if not 0 <= seed <= MOST_SEED:
        raise UsageError(f"--seed {seed} is no seed. Give 0 to {MOST_SEED}.")
    knowledge = knowledge_of(given)
    for kind, asked, entries in (
        ("service", given.service, knowledge.services),
        ("complaint", given.complaint, knowledge.complaints),
    ):
        if asked is not None and asked not in entries:
            raise UsageError(f"There is no {kind} '{asked}'.{suggest(asked, entries)}")
    if sys.stderr.isatty():
        print("Hiding a cause ...", file=sys.stderr, flush=True)
    return Drill(knowledge, hide_car(knowledge, seed, given.service, given.complaint), Mode(given.mode))


def _finish(drilling: "Drilling", given: argparse.Namespace) -> None:
    """Debrief and keep the result."""
    import json

    from comeback.cli import drill_debrief, places
    from comeback.cli.look import show
    from comeback.cli.private_files import write_new
    from comeback.engine.drill import Mode
    from comeback.engine.drill_score import score

    drill, look = drilling.drill, drilling.look
    if drill.mode is Mode.WATCH and not given.json:
        return
    figures = score(drill)
    at = places.now()
    result = drill_debrief.data(drill, figures, at, places.who(given.by))
    folder = places.data_folder() / "drills"
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    stem = f"{at[:19].replace(':', '').replace('-', '')}-seed{drill.car.seed}-{secrets.token_hex(2)}"
    kept = folder / f"{stem}.json"
    write_new(str(kept), [json.dumps(result, ensure_ascii=False, indent=1)])
    if given.json:
        print(json.dumps(result, ensure_ascii=False, indent=1))
        return
    for number, screen in enumerate(drill_debrief.screens(drill, figures, look)):
        if number and not drilling.pause():
            break
        show(screen, look)
    show([("faint", line) for line in look.wrap(f"Kept as {kept}")], look)
