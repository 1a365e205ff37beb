"""Things nobody should type, keyed into the real line editor in every state; then the step still takes its answer.

No source: the shapes are those that broke prompts before (leading zeros, many digits, other scripts, control keys).
"""

import random

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from comeback.cli import exit_codes
from comeback.cli.drill.calling import Calling
from comeback.cli.drill.loop import Drilling
from comeback.cli.look import Look
from comeback.cli.prompt.conversation import Conversation
from comeback.cli.prompt.readers import TerminalReader
from comeback.cli.prompt.side_questions import side_question
from comeback.engine.case.case import first_broken_link
from comeback.engine.drill.drill import Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.record import new_drill
from comeback.engine.walk import steps
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience

ENTER = "\x07\x07\r"
"""Ctrl-G ends a search that a control key may have begun, twice as Ctrl-V takes one as a sign; then Enter."""
NUMBERS = (
    "000199",
    "0011999",
    "00000199",
    "0",
    "00",
    "0" * 400 + "199",
    "9" * 400,
    "-1",
    "1.0",
    "٩٩٩",
    "²",
    "0x1",
    "1e3",
)
BEHIND = (
    "edit ", "e ", "open ", "o ", "resume ", "find ", "reg ", "rename ", "note ", "up ", "down ", "give to ", "other ",
    "refused ", "callback ", "place ", "safe ", "m ", "check ", "repair ", "suspect ", "cause ",
)  # fmt: skip
CONTROL = "".join(chr(n) for n in range(32) if n not in (3, 4, 7, 10, 13)) + "\x7f\x9b"
"""But for the keys that leave, clear or enter. A paste stays below the 64 KiB that a pipe holds."""
ESCAPES = (
    "\x1b[31m",
    "\x1b[5;5R",
    "\x1b[M  !",
    "\x1b[<0;1;1M",
    "\x1b[<;;M",
    "\x1b[A",
    "\x1b[24~",
    "\x1bOP",
    "\x1b]0;x",
)
"""Colors, reports of the cursor and of the mouse, arrows and function keys, a title: as out of text that was pasted."""
PASTE = "\x1b[200~{}\x1b[201~"
LEAVING = {"q", "quit", "save", "exit"}
CALL, BAY = ("n", "1", "no light", "1"), ("1", "no light", "1")
STATES = {
    "driving?": ("phone", ()),
    "driving": ("phone", ("y",)),
    "service": ("phone", CALL[:1]),
    "open question": ("phone", CALL[:2]),
    "complaints listed": ("phone", CALL[:3]),
    "danger signs": ("phone", CALL),
    "advice on a stop screen": ("phone", (*CALL, "n")),
    "read back": ("phone", (*CALL, "n", "told")),
    "where the car stands": ("phone", (*CALL, "n", "told", "y")),
    "correction": ("phone", (*CALL, "n", "told", "edit 3")),
    "service in the bay": ("bay", ()),
    "danger signs in the bay": ("bay", BAY),
    "flags on a stop screen": ("bay", (*BAY, "1")),
    "check": ("bay", (*BAY, "n")),
    "saw": ("bay", (*BAY, "n", "saw lamp")),
    "correction in the bay": ("bay", (*BAY, "n", "edit 1")),
    "reading": ("bay", (*BAY, "n", "1")),
    "repair": ("bay", (*BAY, "n", "2")),
    "proof": ("bay", (*BAY, "n", "2", "done")),
    "closing question": ("bay", (*BAY, "n", "2", "done", "1", "1")),
}


def lines_of_fuzz(seed):
    """Numbers out of any list, alone and behind each command; control keys, long pastes and random signs."""
    chance = random.Random(seed)
    yield from NUMBERS
    yield from (f"{word}{number}" for word in BEHIND for number in chance.sample(NUMBERS, 2))
    for number in NUMBERS:
        yield "saw lamp"
        yield number
    yield from (f"1{sign}2" for sign in ",; +&/")
    yield from (*CONTROL, *ESCAPES)
    yield from ("".join(chance.choices(CONTROL + "a0 ", k=12)) for _ in range(10))
    yield from (
        PASTE.format(text) for text in ("x" * 10_000, "0" * 5_000 + "7", "note " + "ä" * 3_000, "1\r2\n3", "\x1b[2J")
    )
    signs = "aZ09 ?!/\\'\"%{}[]<>|;:,.-_*&^$#@~`äß漢\t\u200b"
    yield from ("".join(chance.choices(signs, k=chance.randrange(30))) for _ in range(25))


class Hands(TerminalReader):
    """Keys one line at a time into the line editor; when they are out, what `after` says."""

    def __init__(self, pipe, lines, after):
        super().__init__()
        self.pipe, self.lines, self.after = pipe, iter(lines), after

    def ask(self, walk):
        line = next(self.lines, None)
        if line is None:
            line = self.after(walk)
        self.pipe.send_text(line + ENTER)
        return super().ask(walk)


def answer_to(talk):
    """What passes the screen that is on: a stop screen, a question beside the steps, a page, or the step."""
    walk = talk.walk
    if talk.stop is not None:
        return talk.stop.word
    if side_question(talk) is not None:
        return "n"
    if talk.found:
        return "1"
    match walk.step:
        case steps.ChooseComplaint():
            return "no light"
        case steps.DoRepair():
            return "done"
        case steps.Advise() | steps.HandOver() | steps.CloseCase():
            return "y"
        case steps.ChooseService() | steps.TakeOneBack():
            return "1"
        case _:
            return "d"


@pytest.mark.parametrize("state", STATES)
def test_nothing_typed_in_any_state_breaks_the_prompt_or_keeps_the_step_from_its_answer(small, log, capsys, state):
    audience, begin = STATES[state]
    lines = [text for text in lines_of_fuzz(state) if text.strip().lower() not in LEAVING]
    recorded = []

    def after(walk):
        recorded.append(walk.case.last)
        if recorded[-1] > recorded[0] or isinstance(walk.step, steps.Finished):
            return "q"
        assert len(recorded) < 12, f"{state}: no answer is taken at {walk.step}"
        return "m" if talk.unread and talk.stop is None and len(recorded) % 2 else answer_to(talk)

    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        talk = Conversation(
            open_walk(small, Audience(audience)), Hands(pipe, [*begin, *lines], after), Look(), log, "Ida"
        )
        assert talk.run() in (exit_codes.DONE, exit_codes.PAUSED)
    out = capsys.readouterr().out
    assert "should not happen" not in out
    assert not any(sign in out for sign in "\x00\x07\x1b\x9b")
    assert max(len(line) for line in out.splitlines()) < 80
    assert first_broken_link(log().events(talk.walk.case.id)) is None


@pytest.mark.parametrize("begin", [(), ("signs",), ("signs", "4", "check volts"), ("signs", "4", "lamp")])
@pytest.mark.parametrize("mode", [Mode.FREE, Mode.EXAM, Mode.PHONE])
def test_nothing_typed_in_a_drill_breaks_it(small, capsys, mode, begin):
    begin = ("driving", "open", *begin, "advice") if mode is Mode.PHONE else begin
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        drill = new_drill(small, hide_car(small, 1), mode)
        hands = Hands(pipe, [*begin, *lines_of_fuzz(mode.value)], lambda walk: "q")
        drilling = (Calling if mode is Mode.PHONE else Drilling)(drill, hands, Look())
        assert drilling.run() in (exit_codes.DONE, exit_codes.PAUSED)
    assert "should not happen" not in capsys.readouterr().out
