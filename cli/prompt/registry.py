"""The commands of the prompt, each once: its words, its help, where it is let through, and what it does."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from itertools import zip_longest

from comeback.cli.prompt import asides, volunteering
from comeback.cli.prompt.recording import commit, has_passed
from comeback.cli.prompt.replies import read_answer
from comeback.cli.prompt.reply import LEAVE, Command, Remark, Reply
from comeback.cli.prompt.resume import resume
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.prompt.side_questions import hint
from comeback.cli.screens import wording
from comeback.engine.case.facts import Fact, Noted, Renamed
from comeback.engine.walk import steps

CELL = 39
"""Columns of the left half of the help."""
Run = Callable[[PromptSession, ScreenState, str], ScreenState | str]


class Stops(Enum):
    """Stop screens that let a command through; it passes none of them."""

    NONE = "none"
    ADVICE = "the advice to be read out: the command makes it another one"
    EVERY = "every"


@dataclass(frozen=True)
class PromptCommand:
    """`words`: typed alone, its key first. `pattern`: with something behind it, strict, as a customer's own words may
    begin like it.
    """

    name: str
    run: Run
    """What it does with what was typed behind its word: the state afterwards, or what to say if nothing changes."""
    words: tuple[str, ...] = ()
    pattern: str = ""
    """Regular expression for the whole line; its group goes to `run`."""
    empty: str = ""
    """What is said to a word alone that needs something behind it."""
    help: tuple[str, ...] = ()
    """What `?` says of it, a cell each."""
    on_stop: Stops = Stops.NONE


def show_help(session: PromptSession, state: ScreenState, _text: str) -> ScreenState:
    """Keys that work everywhere, and how this step is answered."""
    session.show([("plain", line) for line in help_lines()])
    session.show(session.look.styled("faint", hint(session, state)))
    return state


def noting(fact: Callable[[str], Fact], echo: str) -> Run:
    """What records `fact` of the text behind the word, and says `echo`."""
    return lambda session, state, text: commit(session, state, fact(text), echo.format(text=text))[0]


EVERY = Stops.EVERY
COMMANDS = (
    PromptCommand("help", show_help, ("?", "help"), on_stop=EVERY),
    PromptCommand("why", asides.show_why, ("w", "why"), help=("w  why this question",), on_stop=EVERY),
    PromptCommand("back", asides.go_back, ("b", "back"), help=("b  back",), on_stop=EVERY),
    PromptCommand("keep", asides.keep, ("k", "keep"), help=("k  keep what was answered",)),
    PromptCommand("review", asides.review, ("r", "review"), help=("r  review the answers, numbered",), on_stop=EVERY),
    PromptCommand("edit", asides.edit, ("edit",), r"(?:edit|e)\s+(\d+)",
                  help=("edit 3  change answer no. 3, keep the others",), on_stop=Stops.ADVICE),
    PromptCommand("open", asides.open_items, ("o", "open"), r"(?:open|o)\s+(\d+)",
                  help=("open  what is still unknown", "open 2  check no. 2 of them now")),
    PromptCommand("so-far", asides.show_so_far, ("s", "so far", "result"), help=("s  what is known so far",),
                  on_stop=EVERY),
    PromptCommand("find", asides.find, ("find",), r"(?:find\s+|/\s*)(.+)", wording.FIND_EMPTY,
                  help=("find hiss  search complaints, causes, checks",), on_stop=EVERY),
    PromptCommand("more", asides.more, ("m", "more"), on_stop=EVERY),
    PromptCommand("note", noting(Noted, wording.NOTED), ("note",), r"note\s+(.+)", wording.NOTE_EMPTY,
                  help=("note TEXT  write down",), on_stop=EVERY),
    PromptCommand("plate", asides.registration, ("plate",), r"plate\s+(.+)", wording.PLATE_EMPTY,
                  help=("plate ABC 1234  license plate, typed twice",), on_stop=EVERY),
    PromptCommand("contact", asides.contact, ("callback", "place"), r"((?:callback|place)\s+.+)",
                  "Type it after the word: callback 555 0100, place 4 Mill Road by the bridge", on_stop=EVERY,
                  help=("callback 555 0100  number to call", "place TEXT  where the car is")),
    PromptCommand("rename", noting(Renamed, wording.RENAMED), ("rename",), r"rename\s+(.+)", wording.RENAME_EMPTY,
                  help=("rename TEXT  name the car",)),
    PromptCommand("give", asides.give, ("give",), r"give to\s+(.+)", "Type who takes it: give to Ben",
                  help=("give to BEN  hand this walk over",)),
    PromptCommand("urgency", asides.change_urgency, ("up", "down"),
                  r"(up\s+(?:book|come-in|tow|get-clear)\b.*|down\s+(?:watch|book|come-in|tow)\b.*)",
                  help=("up tow REASON  more urgent", "down book REASON by NAME  milder, needs two"),
                  on_stop=Stops.ADVICE),
    PromptCommand("resume", resume, ("resume",), r"resume\s+(\w+)", on_stop=EVERY),
    PromptCommand("print", asides.print_record, ("print",)),
    PromptCommand("tell", asides.tell),
    PromptCommand("leave", lambda _, state, __: replace(state, leaving=True), LEAVE,
                  help=("q  save and leave (also Ctrl-D)",), on_stop=EVERY),
    PromptCommand("also", volunteering.also, ("also",), r"also\s+(.+)", wording.ALSO_EMPTY, on_stop=Stops.ADVICE,
                  help=("also WORDS  one more complaint",)),
    PromptCommand("gone", has_passed, help=("gone  it has stopped by itself",), on_stop=Stops.ADVICE),
    PromptCommand("saw", volunteering.saw, empty=wording.SAW_EMPTY, help=("saw WORDS  found something else",),
                  on_stop=EVERY),
    PromptCommand("codes", volunteering.codes, help=("P0303  a code, at any bay prompt",), on_stop=EVERY),
)  # fmt: skip
SPOKEN = frozenset(
    "also keep edit open result find more note callback place rename give up down print save".split()  # noqa: SIM905
)
"""Words of commands that are a customer's own where the open question is asked."""
BY_NAME: Mapping[str, PromptCommand] = {command.name: command for command in COMMANDS}
BY_WORD: Mapping[str, PromptCommand] = {word: command for command in COMMANDS for word in command.words}


def run_command(session: PromptSession, state: ScreenState, name: str, text: str) -> ScreenState:
    """Do what the command does, or say what it needs behind its word."""
    command = BY_NAME[name]
    done = command.empty if command.empty and not text else command.run(session, state, text)
    if isinstance(done, str):
        session.say(done)
    return state if isinstance(done, str) else done


def read_reply(state: ScreenState, typed: str, how: str = "", units: str = "both") -> Reply:
    """What a typed line means now: what was found without being asked for, a command, or an answer to the step."""
    walk, text = state.walk, " ".join(typed.replace("\x00", "").split())
    if not text:
        return Remark(wording.EMPTY.format(hint=how))
    found = None if state.editing else volunteering.volunteered(walk, text, state.stop is not None)
    command = found or read_command(text, isinstance(walk.step, steps.ChooseComplaint))
    return command or read_answer(walk, text, state.found, how, units, tuple(BY_WORD))


def read_command(text: str, open_question: bool = False) -> Command | None:
    """The command that `text` is, if it is one; a customer's own words go first where the open question is asked."""
    lower = text.lower()
    command = BY_WORD.get(lower)
    if command is not None and not (open_question and lower in SPOKEN):
        return Command(command.name)
    for command in COMMANDS:
        match = re.fullmatch(command.pattern, text, re.IGNORECASE) if command.pattern else None
        if match:
            return Command(command.name, match[1].strip())
    return None


def help_lines() -> list[str]:
    """All that can be typed anywhere: answers and commands in two columns, long ones below, then what else holds."""
    cells = [*wording.HELP_ANSWERS, *(cell for command in COMMANDS for cell in command.help), *wording.HELP_KEYS]
    short = [cell for cell in cells if len(cell) < CELL]
    rows = (f"{left:{CELL}}{right}".rstrip() for left, right in zip_longest(short[::2], short[1::2], fillvalue=""))
    return [*rows, *(cell for cell in cells if len(cell) >= CELL), *wording.HELP_END]
