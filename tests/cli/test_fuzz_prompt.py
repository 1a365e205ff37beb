"""Things nobody should type, keyed into the real line editor in every state; then the step still takes its answer.

No source: the shapes are those that broke prompts before (leading zeros, many digits, other scripts, control keys).
"""

import random

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from comeback.cli import exit_codes
from comeback.cli.drill.at_car import AtCar
from comeback.cli.drill.at_phone import AtPhone
from comeback.cli.drill.loop import Drilling
from comeback.cli.look import Look
from comeback.cli.prompt.loop import respond, run
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.prompt.side_questions import goes_on, side_question
from comeback.cli.prompt.step_screen import show_screen
from comeback.cli.readers import TerminalReader
from comeback.engine.case.events import first_broken_link
from comeback.engine.drill.drill import Mode
from comeback.engine.drill.record import new_drill
from comeback.engine.walk import steps
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience
from support.hidden_cars import car_hiding

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
    "edit ", "e ", "open ", "o ", "resume ", "find ", "plate ", "rename ", "note ", "up ", "down ", "give to ",
    "other ", "refused ", "callback ", "place ", "safe ", "m ", "check ", "repair ", "suspect ", "cause ",
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
    """Keys one line at a time into the line editor, then Ctrl-D."""

    def __init__(self, pipe, lines):
        super().__init__()
        self.pipe, self.lines = pipe, iter(lines)

    def ask(self, walk):
        line = next(self.lines, None)
        if line is None:
            raise EOFError
        self.pipe.send_text(line + ENTER)
        return super().ask(walk)


def answer_to(session, state):
    """What passes the screen that is on: a stop screen, a question beside the steps, or the step."""
    if state.stop is not None:
        return state.stop.word
    if side_question(session, state) is not None:
        return "n"
    match state.walk.step:
        case steps.ChooseComplaint():
            return "1" if state.found else "no light"
        case steps.DoRepair():
            return "done"
        case steps.Advise() | steps.HandOver() | steps.CloseCase():
            return "y"
        case steps.ChooseService() | steps.TakeOneBack():
            return "1"
        case _:
            return "d"


def answered(session, state):
    """The state once an answer was recorded; the answer is typed again after each page."""
    before = state.walk.case.last
    for tries in range(12):
        state = show_screen(session, state) if state.due else state
        if state.walk.case.last > before or not goes_on(session, state):
            return state
        state = respond(session, state, answer_to(session, state) if tries % 2 == 0 or state.stop else "m")
    raise AssertionError(f"no answer is taken at {state.walk.step}")


@pytest.mark.parametrize("state", STATES)
def test_nothing_typed_in_any_state_breaks_the_prompt_or_keeps_the_step_from_its_answer(small, log, capsys, state):
    audience, begin = STATES[state]
    lines = [text for text in lines_of_fuzz(state) if text.strip().lower() not in LEAVING]
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        session = PromptSession(Hands(pipe, [*begin, *lines]), Look(), log, "Ida")
        code, after = run(session, ScreenState(open_walk(small, Audience(audience))))
    assert code in (exit_codes.DONE, exit_codes.PAUSED)
    answered(session, after)
    out = capsys.readouterr().out
    assert "should not happen" not in out
    assert not any(sign in out for sign in "\x00\x07\x1b\x9b")
    assert max(len(line) for line in out.splitlines()) < 80
    assert first_broken_link(log().events(after.walk.case.id)) is None


@pytest.mark.parametrize("begin", [(), ("danger",), ("danger", "4"), ("danger", "4", "lamp seat")])
@pytest.mark.parametrize("mode", [Mode.GUIDED, Mode.EXAM, Mode.PHONE])
def test_nothing_typed_in_a_drill_breaks_it(small, capsys, mode, begin):
    begin = ("driving", "open", *begin, "advice") if mode is Mode.PHONE else begin
    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        drill = new_drill(small, car_hiding(small, "fuse-out", spark="no"), mode)
        place = (AtPhone if mode is Mode.PHONE else AtCar)(drill, Look())
        drilling = Drilling(place, Hands(pipe, [*begin, *lines_of_fuzz(mode.value)]))
        assert drilling.run() in (exit_codes.DONE, exit_codes.PAUSED)
    assert "should not happen" not in capsys.readouterr().out
