"""Hostile inputs to every command and every file format; none may end in a traceback or in "should not happen".

Input number N is always the same: `python tests/faults/faults.py --only N` shows one. Each runs the command
in this process with a folder, log and standard input of its own; batches are forked, so that nothing of one
reaches the next batch.
"""

import argparse
import contextlib
import io
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput
from storage_faults import AT, note

from comeback.cli.command_line import build_parser, run
from comeback.engine.case.events import Draft
from comeback.engine.case_log.exchange import export_lines
from comeback.engine.case_log.store import open_log

TESTS = Path(__file__).parent.parent
SECONDS, BATCH = 20, 50
NASTY = (
    "", " ", "-", "--", "0", "-1", "1e999", "nan", "9" * 400, "x" * 70_000, "a\x00b", "\x1b[31m", "\udcff", "%s%n",
    "{}", "[", "'", '"', "\\", "\n", "../..", "nowhere/x", "/proc/none/x", "/dev/full", "café☃𝕏", "=", "a=b",
    "null", "true", "&a", "*a", "!!python/object:os.system", "P0171", "d", "n", "y", "b", "?", "1", "2b", "note x", "q",
)  # fmt: skip
CALL = "service: lamp-change\ncomplaint: dark\nspark: no\nadvice: y\nread-back: y\n"
BAY = "lamp-turns: turns\nscrew-in-lamp: done\nlamp-turns@1: tight\nlight@1: lit\nclose: y\n"
CAR = "43 01 71 03 00 00 00\n>010C\n41 0C 1A F8\n>0105\n41 05 7B\nNO DATA\n7F 01 12\n"
SHOP = 'shop = "Millrace Garage"\nby = "Ida"\nlabor_rate = 120\nunits = "us"\nlevel = "specialist"\nplain = true\n'
OWN = "revise:\n  causes.lamp-loose.frequency: {value: 7, was: 8, evidence: counted, source: invented}\n"
WORDS = (
    "1", "2", "n", "d", "y", "b", "w", "r", "m", "q", "no light", "dark", "lamp", "done", "skip", "hand-over", "4 V",
    "000199", "0001", "edit 00000199", "open 0011999", "resume 00000199", "saw lamp", "edit 1", "signs", "safe", "told",
)  # fmt: skip
KEYS = (
    "\x00",
    "\x01\x0b",
    "\x12a",
    "\x16\x1b",
    "\x1b[A",
    "\x1b5x",
    "\x0f",
    "\x1a",
    "\t",
    "\x03",
    "\x1b[200~1\r2\x1b[201~",
)
"""What a terminal sends besides signs: control keys, arrows, a paste of two lines."""


@dataclass
class Input:
    """One hostile input: arguments, standard input, what it is; files are in its folder already."""

    kind: str
    arguments: list[str]
    stdin: str = ""
    keys: bool = False
    """True if standard input is keyed into the line editor, as at a terminal."""


@dataclass
class Found:
    """What came of many: how many of each exit code, and those that ended badly."""

    codes: dict[str, int] = field(default_factory=dict)
    bad: list[str] = field(default_factory=list)


def template(folder: Path) -> str:
    """A folder with one good file of every format; returns the id of its case."""
    shutil.copytree(TESTS / "kb" / "small", folder / "small")
    for name, text in (("call.yaml", CALL), ("bay.yaml", BAY), ("car.txt", CAR), ("own.yaml", OWN)):
        (folder / name).write_text(text)
    (folder / "config" / "comeback").mkdir(parents=True)
    (folder / "config" / "comeback" / "config.toml").write_text(SHOP)
    log = open_log(folder / "cases.db")
    chance = random.Random(1)
    opening = Draft("opened", AT, "Ida", {"car": "green hatchback", "audience": "phone"})
    case = log.open_case(opening, "k1", chance.choice).case
    drafts = [
        Draft("service", AT, "Ida", {"service": "lamp-change"}),
        Draft("complaint", AT, "Ida", {"complaint": "dark", "words": "no light"}),
        note("\x1b[31m <b>&amp;</b> | ` =1+1 \u202e"),
    ]
    log.append(case, 1, drafts, "k1")
    (folder / "cases.jsonl").write_text("\n".join(export_lines(log)) + "\n")
    log.close()
    for rest in folder.glob("cases.db-*"):
        rest.unlink()
    return case


def spoil(text: str, chance: random.Random) -> str:
    """The text with one to four things wrong."""
    for _ in range(chance.randint(1, 4)):
        at, to = sorted((chance.randint(0, len(text)), chance.randint(0, len(text))))
        to = min(to, at + 60)
        lines = text.split("\n")
        nasty = chance.choice(NASTY)
        text = chance.choice((
            text[:at] + text[to:], text[:at] + text[at:to] * 3 + text[to:], text[:at] + nasty + text[at:],
            text[:at], "\n".join(chance.sample(lines, len(lines))), text.replace(text[at : at + 6] or "a", nasty[:50]),
            text[:at] + nasty + text[to:],
        ))  # fmt: skip
        text = text[:200_000]
    return text


def spoil_file(path: Path, chance: random.Random) -> None:
    """The same for a file; now and then with bytes that are no text."""
    data = spoil(path.read_text(), chance).encode("utf-8", "surrogateescape")
    if chance.random() < 0.1:
        at = chance.randint(0, len(data))
        data = data[:at] + chance.randbytes(4) + data[at:]
    path.write_bytes(data)


def typed(chance: random.Random) -> str:
    """Lines as somebody might type them, good and bad."""
    return "\n".join(chance.choice((*WORDS, *NASTY)) for _ in range(chance.randint(0, 25)))


def _walk(folder: Path, case: str, chance: random.Random) -> Input:
    base = chance.choice((["call"], ["triage"], ["triage", case], ["call", "--case", case], ["drill", "--seed", "1"]))
    return Input("typed lines", [*base, "--knowledge", "small"], typed(chance))


def _keys(folder: Path, case: str, chance: random.Random) -> Input:
    """The same at a terminal, with keys that are no signs in between; twice Ctrl-D at the end."""
    (folder / "config" / "comeback" / "config.toml").write_text(SHOP.replace("plain = true\n", ""))
    made = _walk(folder, case, chance)
    lines = [chance.choice((*WORDS, *NASTY, *KEYS))[:5000] for _ in range(chance.randint(0, 25))]
    return Input("keys", made.arguments, "".join(f"{line}\x07\x07\r" for line in lines) + "\x04\x04", keys=True)


def _answers(folder: Path, case: str, chance: random.Random) -> Input:
    name, base = chance.choice((("call.yaml", ["call"]), ("bay.yaml", ["triage", case])))
    spoil_file(folder / name, chance)
    return Input("answers file", [*base, "--knowledge", "small", "--answers", name])


def _knowledge(folder: Path, case: str, chance: random.Random) -> Input:
    spoil_file(folder / "small" / "base.yaml", chance)
    base = chance.choice((["check", "small"], ["call", "--knowledge", "small"], ["learn", "--knowledge", "small"]))
    return Input("knowledge file", base, typed(chance))


def _overlay(folder: Path, case: str, chance: random.Random) -> Input:
    spoil_file(folder / "own.yaml", chance)
    base = chance.choice((["explain", "lamp-loose"], ["learn"], ["handover", "lamp-change"]))
    return Input("overlay file", [*base, "--knowledge", "small", "--overlay", "own.yaml"])


def _import(folder: Path, case: str, chance: random.Random) -> Input:
    record = (folder / "cases.jsonl").read_text()
    if chance.random() < 0.6:  # one value of one event replaced, with a forged chain at times
        head, line = record.splitlines()
        data = json.loads(line)
        event = chance.choice(data["events"])
        holder = chance.choice((data, event, event["payload"]))
        holder[chance.choice((*holder, "x"))] = chance.choice((*NASTY, None, 1, -1, 1.5, True, [], {}, [[]], {"a": 1}))
        record = f"{head}\n{json.dumps(data)}\n"
        (folder / "cases.jsonl").write_text(record)
    else:
        spoil_file(folder / "cases.jsonl", chance)
    return Input("cases to import", ["cases", "import", "cases.jsonl", "--log", chance.choice(("cases.db", "new.db"))])


def _log(folder: Path, case: str, chance: random.Random) -> Input:
    data = bytearray((folder / "cases.db").read_bytes())
    for _ in range(chance.choice((1, 5, 200))):
        data[chance.randrange(len(data))] = chance.randrange(256)
    (folder / "cases.db").write_bytes(data[: chance.choice((len(data), len(data), chance.randrange(len(data))))])
    base = chance.choice((
        ["cases"], ["cases", "verify"], ["cases", "show", case, "--knowledge", "small"], ["record", case],
        ["learn", "--knowledge", "small"], ["triage", case, "--knowledge", "small"], ["cases", "export", "-"],
        ["cases", "backup", "b.db"], ["cases", "note", case, "x"], ["cases", "delete", case, "--reason", "x", "--yes"],
    ))  # fmt: skip
    return Input("case log", base)


def _readout(folder: Path, case: str, chance: random.Random) -> Input:
    spoil_file(folder / "car.txt", chance)
    some = [chance.choice((*NASTY, "idle", "2500", "LTFT1=18%", "MAP=52kPa", "43 01 71")) for _ in range(3)]
    base = chance.choice((["--from", "car.txt"], some, [*some, chance.choice(NASTY)], [*some, "--case", case]))
    return Input("readout", ["readout", "--knowledge", "small", *base])


def _config(folder: Path, case: str, chance: random.Random) -> Input:
    spoil_file(folder / "config" / "comeback" / "config.toml", chance)
    return Input("configuration", ["call", "--knowledge", "small"], typed(chance))


def _record(folder: Path, case: str, chance: random.Random) -> Input:
    way = chance.choice(("text", "html", "json"))
    place = chance.choice(("out", *NASTY))
    return Input("record", ["record", case, "--knowledge", "small", "--format", way, f"--output={place}"])


def _paper(folder: Path, case: str, chance: random.Random) -> Input:
    """Charts, flowchart and booklet, from good or spoilt knowledge, with hostile values of some options."""
    if chance.random() < 0.4:
        spoil_file(folder / "small" / "base.yaml", chance)
    base = chance.choice((["chart", "all"], ["chart", "dark"], ["chart", "dark", "--flowchart"], ["booklet"]))
    out = "-o"
    good = {"--for": "phone", "--paper": "a4", "--size": "wall", "--date": "2026-03-02", out: "paper"}
    if base != ["booklet"]:
        good |= {"--format": "text,svg,dot", "--with": "injection=port"}
    some = chance.sample(sorted(good), chance.randint(0, 4))
    values = [f"{name}={chance.choice((*NASTY, good[name], good[name], good[name]))}" for name in some]
    return Input("charts", [*base, "--knowledge", "small", "--service", "lamp-change", *values])


def _arguments(folder: Path, case: str, chance: random.Random) -> Input:
    """Any command with any of its options and any value; only what merely takes long is kept small."""
    parsers = next(a for a in build_parser()._actions if isinstance(a, argparse._SubParsersAction)).choices
    name = chance.choice(sorted(parsers))
    out = [name]
    for action in chance.sample(parsers[name]._actions, chance.randint(0, min(5, len(parsers[name]._actions)))):
        good = [str(choice) for choice in action.choices or ()]
        value = chance.choice((*NASTY, case, "small", "lamp-change", "dark", "cases.jsonl", *good, *good))
        if "--help" in action.option_strings or "--port" in action.option_strings:
            continue
        if "--walks" in action.option_strings:
            value = chance.choice(("0", "-1", "x", "", "1"))
        if action.option_strings:
            out += [f"{action.option_strings[-1]}={value}"] if action.nargs != 0 else [action.option_strings[-1]]
        else:
            out.append(value)
    knowing = any("--knowledge" in action.option_strings for action in parsers[name]._actions)
    quick = {"rehearse": ["--walks=1"], "check": ["small"]}.get(name, [])
    quick = [*quick, *(["--knowledge=small"] if knowing and name != "check" else [])]
    return Input(f"arguments of {name}", [name, *quick, *out[1:]], typed(chance))


KINDS: tuple[Callable[[Path, str, random.Random], Input], ...] = (
    _arguments, _arguments, _arguments, _walk, _keys, _answers, _knowledge, _overlay,
    _import, _log, _readout, _config, _record, _paper,
)  # fmt: skip


def attempt(number: int, good: Path, case: str) -> tuple[str, str, str]:
    """(kind, exit code or what went wrong, all that was said) of input `number`."""
    chance = random.Random(number)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "deep" / "down"  # so that ../.. is still inside
        shutil.copytree(good, folder)
        made = KINDS[number % len(KINDS)](folder, case, chance)
        made.arguments = [part.replace("\x00", "") for part in made.arguments]  # no system passes these on
        code, said = perform(made, folder)
    return made.kind, code, f"{number}: comeback {made.arguments!r}\n{said}"


def perform(made: Input, folder: Path) -> tuple[str, str]:
    """Run the command in the folder; streams are as strict as a terminal's."""
    here, streams = os.getcwd(), (sys.stdin, sys.stdout, sys.stderr)
    text = made.stdin.encode("utf-8", "surrogateescape")
    stream = Terminal if made.keys else io.TextIOWrapper
    sys.stdin = stream(io.BytesIO(text), encoding="utf-8", errors="surrogateescape")
    out, err = io.BytesIO(), io.BytesIO()
    screen = stream(out, encoding="utf-8", write_through=True)
    errors = io.TextIOWrapper(err, encoding="utf-8", errors="backslashreplace", write_through=True)
    sys.stdout, sys.stderr = screen, errors
    for name, value in (("COMEBACK_LOG", "cases.db"), ("XDG_CONFIG_HOME", f"{folder}/config"),
                        ("XDG_CACHE_HOME", f"{folder}/cache"), ("XDG_DATA_HOME", f"{folder}/data")):  # fmt: skip
        os.environ[name] = value
    os.chdir(folder)
    signal.signal(signal.SIGALRM, _too_long)
    signal.alarm(SECONDS)
    try:
        with contextlib.suppress(ResourceWarning), keyed(made):
            code = str(run(made.arguments))
    except SystemExit as end:
        code = str(end.code)
    except BaseException:
        code = "traceback"
        errors.write(traceback.format_exc())
    finally:
        signal.alarm(0)
        os.chdir(here)
        sys.stdin, sys.stdout, sys.stderr = streams
    said = "" if errors.closed else err.getvalue().decode()
    if "Traceback" in said or "should not happen" in said or code == "1":
        code = "traceback"
    return code, said


class Terminal(io.TextIOWrapper):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Always."""
        return True


@contextlib.contextmanager
def keyed(made: Input) -> Iterator[None]:
    """For an input of keys: a line editor that reads them from a pipe and draws nowhere."""
    if not made.keys:
        yield
        return
    os.environ["TERM"] = "xterm"
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        pipe.send_bytes(made.stdin.encode("utf-8", "replace")[:60_000])  # a pipe holds 64 KiB
        pipe.close()
        yield


class TooLong(BaseException):
    """An input that keeps the program busy for longer than SECONDS."""


def _too_long(*_: object) -> None:
    raise TooLong


def hostile(count: int, first: int = 0) -> Found:
    """Run inputs `first` to `first + count`, in forked batches."""
    found = Found()
    with tempfile.TemporaryDirectory() as place:
        good = Path(place) / "good"
        good.mkdir()
        case = template(good)
        for start in range(first, first + count, BATCH):
            numbers = range(start, min(start + BATCH, first + count))
            for code, said in _batch(numbers, good, case):
                found.codes[code] = found.codes.get(code, 0) + 1
                if code == "traceback":
                    found.bad.append(said)
    return found


def _batch(numbers: range, good: Path, case: str) -> Iterator[tuple[str, str]]:
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            with os.fdopen(writing, "w") as stream:
                for number in numbers:
                    _, code, said = attempt(number, good, case)
                    stream.write(json.dumps([code, said[:20_000] if code == "traceback" else ""]) + "\n")
                    stream.flush()
        finally:
            os._exit(0)
    os.close(writing)
    done = 0
    with os.fdopen(reading) as stream:
        for line in stream:
            done += 1
            yield tuple(json.loads(line))
    os.waitpid(child, 0)
    if done < len(numbers):
        yield "traceback", f"{numbers[done]}: the process died"
