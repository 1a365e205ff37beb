"""What the car itself says becomes findings: codes, live values, freeze frame, readiness.

comeback readout P0171 idle LTFT1=18% MAP=52kPa 2500 LTFT1=3%     typed; a state word holds for what follows
comeback readout 43 01 71 03 00 00 00                             response bytes, pasted
comeback readout --from log.txt                                   a captured log, or plain text (- reads standard input)
comeback readout --port /dev/ttyUSB0                              through a serial adapter: at idle, then at 2500 rpm
comeback readout P0171 --case K7RT                                the findings go into the case
comeback readout P0171 --service intake-cleaning --complaint rough-idle    into a new case

Type the whole list of codes, stored and pending; `none` if there are none. States are rest, key-on,
cranking, idle (warm, loads off) and 2500. What was read is saved in the case before anything else.

Plain text, as people type or print it, is read line by line: "Stored codes: P0300, p0316", "P0171
pending", "RPM 780", "LTFT B1: 12.5%", "ECT 198 F"; headings ("Pending", "Freeze frame", "Idle:") hold for
what follows. A code in a line that denies or doubts it ("cleared", "not P0301") is named, not taken.
If nothing at all can be used, nothing is recorded and the exit code is 6.
"""

import argparse

from comeback.cli import exit_codes, options
from comeback.cli.errors import UsageError
from comeback.cli.readout.screens import name_lines
from comeback.cli.readout.session import Session
from comeback.engine.readout.protocol.car_data import STATES


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback readout`."""
    parser.add_argument("words", nargs="*", metavar="WORD", help="codes, NAME=VALUE, engine states, response bytes")
    parser.add_argument(
        "--from", dest="file", metavar="FILE", help="plain text, response bytes or a captured log (- standard input)"
    )
    parser.add_argument("--at", metavar="STATE", help="engine state of the values in the file or bytes")
    parser.add_argument("--port", metavar="PORT", help="serial adapter to read from")
    parser.add_argument("--baud", type=int, metavar="N", help="its baud rate (default: detected)")
    parser.add_argument("--case", metavar="ID", help="record the findings in this case")
    parser.add_argument("--service", metavar="ID", help="open a case: the service that was done")
    parser.add_argument("--complaint", metavar="ID", help="open a case: what the customer reports")
    parser.add_argument("--car", default="", metavar="TEXT", help="open a case: the car as the customer names it")
    parser.add_argument("--liters", type=float, metavar="L", help="displacement, to judge the airflow")
    parser.add_argument("--altitude", metavar="H", help="altitude of the shop in feet; or 300m")
    parser.add_argument("--since-service", metavar="MILES", help="miles driven since the service: 120, or 190km")
    parser.add_argument("--again", action="store_true", help="also record what is already answered")
    parser.add_argument("--names", action="store_true", help="list the names of values and exit")
    options.add(parser, "--with", "--json", "--by", *options.KNOWLEDGE, "--log")


def run(given: argparse.Namespace) -> int:
    """Read, decode, conclude, record; in this order."""
    if given.names:
        print("\n".join(name_lines()))
        return exit_codes.DONE
    _refuse_contradictions(given)
    return Session(given).run()


def _refuse_contradictions(given: argparse.Namespace) -> None:
    """Raises UsageError for options that do not go together, naming what to type."""
    if not (given.words or given.file or given.port):
        raise UsageError("Nothing to read. Type codes or values (P0171 MAP=52kPa), or add --from FILE or --port PORT.")
    if given.at is not None and given.at not in STATES:
        raise UsageError(f"'{given.at}' is not an engine state. Use one of: {', '.join(STATES)}.")
    if bool(given.service) != bool(given.complaint):
        raise UsageError("A new case needs both --service and --complaint. For an old one: --case ID.")
    if given.case and given.service:
        raise UsageError("Either --case for an old case or --service and --complaint for a new one, not both.")
