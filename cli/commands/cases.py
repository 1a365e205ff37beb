"""List the cases in the log, or show one whole.

comeback cases             all cases, the latest first
comeback cases show K7RT   one case: findings, repairs, notes, ending
"""

import argparse
import json
import sys


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback cases`."""
    from comeback.cli import options

    parser.add_argument("action", nargs="?", choices=("list", "show"), default="list", help="list (default) or show")
    parser.add_argument("case", nargs="?", metavar="CASE", help="case id, for show")
    parser.add_argument("--json", action="store_true", help="print as JSON")
    options.add_knowledge(parser)
    options.add_log(parser)


def run(given: argparse.Namespace) -> int:
    """List or show."""
    from comeback.cli import places
    from comeback.cli.main import UsageError
    from comeback.cli.options import knowledge_of
    from comeback.engine.case_log_sql import open_log

    log = open_log(places.log_place(given.log))
    if given.action == "show":
        if given.case is None:
            raise UsageError("Which case? Type its id: comeback cases show K7RT. List them: comeback cases.")
        return _show(given, knowledge_of(given), log.events(given.case.upper()))
    if given.case is not None:
        raise UsageError(f"To see case {given.case}, type: comeback cases show {given.case}")
    return _list(given, log)


def _show(given: argparse.Namespace, knowledge, events) -> int:  # type: ignore[no-untyped-def]
    from comeback.cli.look import look_of, show
    from comeback.cli.records import case_data, case_lines

    if given.json:
        print(json.dumps(case_data(knowledge, events), ensure_ascii=False, indent=1))
    else:
        look = look_of(sys.stdout)
        show(case_lines(knowledge, events, look), look)
    return 0


def _list(given: argparse.Namespace, log) -> int:  # type: ignore[no-untyped-def]
    from comeback.cli.records import state_of
    from comeback.engine.case import read_case

    rows = []
    for line in log.cases():
        case = read_case(log.events(line.id))
        rows.append(
            {
                "case": case.id, "last": line.last.at[:16].replace("T", " "), "state": state_of(case),
                "complaint": case.complaint or "", "car": case.car, "by": line.last.by,
            }
        )  # fmt: skip
    if given.json:
        print(json.dumps(rows, ensure_ascii=False, indent=1))
    elif not rows:
        print(f"No cases yet in {log.name}. Begin one: comeback call")
    else:
        _table(rows)
    return 0


def _table(rows: list[dict[str, str]]) -> None:
    heads = {"case": "Case", "last": "Last touched", "state": "State", "complaint": "Complaint", "car": "Car"}
    widths = {key: min(24, max(len(title), *(len(row[key]) for row in rows))) for key, title in heads.items()}
    for row in [heads, *rows]:
        print("  ".join(row[key][: widths[key]].ljust(widths[key]) for key in heads).rstrip())
