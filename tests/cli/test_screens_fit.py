"""Any terminal: what a screen shows at 40, 80 and 132 columns, without color, in ASCII, and with any text typed.

All cases are invented.
"""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from comeback.cli.look import Look
from comeback.cli.prompt import asides
from comeback.cli.prompt.loop import run
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.prompt.step_screen import SCREEN_LINES, show_screen
from comeback.cli.screens import heading, screens, wording
from comeback.cli.screens import stop_screens as stops
from comeback.cli.screens.cautions import cautions
from comeback.cli.screens.pages import pages
from comeback.engine.case import facts
from comeback.engine.case.events import Draft
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk, open_walk
from comeback.kb.vocabulary import Audience, Disposition, Level
from support.places import SMALL_FOLDER as SMALL

BAY = "1\rno light\r1\rn\r"


def begun(knowledge, audience, service=None):
    walk = open_walk(knowledge, Audience(audience))
    walk = walk.imagine(facts.ServiceNamed(service=service or next(iter(knowledge.services))))
    return walk.imagine(facts.ComplaintNamed(complaint=next(iter(knowledge.complaints))))


def every_step(knowledge, audience):
    """A step of every kind the knowledge can make, with every check, panel, repair and disposition."""
    yield steps.ChooseService(tuple(knowledge.services))
    for complaint in knowledge.complaints.values():
        yield steps.DangerScreen(complaint.red_flags)
    for check in knowledge.checks.values():
        if Audience(audience) in check.audience:
            yield steps.MakeCheck(check.id, 3.0, 5.0, ())
    if audience == "phone":
        yield from (steps.Advise(level, level, (), {}) for level in Disposition)
        return
    for panel in knowledge.panels:
        checks = tuple(c.id for c in knowledge.checks.values() if c.panel == panel)
        yield steps.ReadPanel(panel, checks, 3.0, 5.0)
    for repair in knowledge.repairs.values():
        yield steps.DoRepair(repair.id, 20.0, 0.9, 30.0, ())


def foot(walk, look):
    """The keys of a step, as they stand below it."""
    return [*look.styled("faint", screens.hint(walk)), *look.styled("faint", wording.KEYS)]


def named(walk):
    """The walk with a car, a registration and words that fill their line."""
    walk = walk.imagine(Draft("renamed", "", "", {"car": "the green hatchback of Mr Oak from the mill"}))
    walk = walk.imagine(Draft("registered", "", "", {"registration": "AB12 CDE", "read_back": True}))
    return walk.imagine(Draft("complaint", "", "", {"complaint": walk.case.complaint, "words": "it shakes " * 9}))


def despite_all(knowledge, audience):
    """Every step of the bay that runs the engine, with two danger signs that should keep it off."""
    signs = tuple(c.id for c in knowledge.checks.values() if c.engine_off)[:2] or ("hood-smoke", "raw-fuel")
    for step in every_step(knowledge, audience) if audience == "bay" else ():
        if isinstance(step, steps.MakeCheck | steps.ReadPanel | steps.DoRepair):
            yield replace(step, despite=signs)


@pytest.mark.parametrize("kind", ["plain", "named", "despite"])
@pytest.mark.parametrize("audience", ["phone", "bay"])
def test_every_screen_fits_24_lines_or_is_cut_into_pages_behind_its_stop_screen(knowledge, audience, kind):
    walk, look = begun(knowledge, audience), Look()
    walk = walk if kind == "plain" else named(walk)
    too_long = []
    for step in (despite_all if kind == "despite" else every_step)(knowledge, audience):
        at = walk.with_step(step)
        head = heading.head(at, look, "question 12, about 10 more (0 to 30)")
        stop = stops.stop_before(at, look)
        body = screens.body(at, look, warned=stop is not None)
        only = screens.specialist_only(at)
        shown = [[*head, *each.lines] for each in (stops.step_stops(at, look) if only else [stop] if stop else [])]
        below = foot(at, look)
        parts = pages(at, body, look, SCREEN_LINES - len(head) - len(below))
        assert set(body) <= {line for part in parts for line in part}  # nothing is lost
        for lines in [*shown, *([*head, *part, *below] for part in parts)]:
            painted = look.paint(lines).splitlines()
            assert all(len(line) < 80 for line in painted), step
            if len(painted) > SCREEN_LINES:
                too_long.append((len(painted), step))
    names = {
        (lines, getattr(step, "repair", None) or getattr(step, "check", None) or str(step)[:40])
        for lines, step in too_long
    }
    assert not too_long, f"{len(names)} screens: {sorted(names)}"


def test_every_check_panel_and_repair_can_be_read_to_its_end_beside_the_reminder_of_a_lit_light(knowledge, log, capsys):
    """Pages and what is still unread are of the same lines, so that paging ends; each page fits 24 lines."""

    class Eyes:
        interactive, scripted = True, False

    opening = Draft("opened", "2026-01-01T00:00:00+00:00", "Ida", {"audience": "bay"})
    walk = Walk(knowledge, (log().open_case(opening, "x", lambda signs: signs[0]),), Audience.BAY)
    for kind, payload in (
        ("service", {"service": "plugs-coils"}),
        ("complaint", {"complaint": "rough-idle", "words": "it shakes"}),
        ("answered", {"results": {"engine-lamp": "lit-on"}, "readings": {}, "audience": "bay"}),
    ):
        walk = walk.imagine(Draft(kind, "", "", payload))
    long = 0
    for step in every_step(knowledge, "bay"):
        if isinstance(step, steps.ChooseService | steps.DangerScreen):
            continue
        session, state = PromptSession(Eyes(), Look(), log, "Ida"), ScreenState(walk.with_step(step))
        if screens.specialist_only(state.walk):
            passed = frozenset(stop.key for stop in stops.step_stops(state.walk, Look()))
            state = replace(state, passed=passed)
        for page in range(20):
            state = show_screen(session, replace(state, page=page))
            shown = capsys.readouterr().out
            assert len(shown.splitlines()) <= SCREEN_LINES, step
            assert isinstance(step, steps.ReadPanel) or wording.SAVE_CODES[0] in shown
            if not state.unread:
                break
        assert not state.unread, step
        long += page > 0
    assert long > 50


def test_a_repair_begins_on_its_first_page_and_its_keys_show_once_all_was_read(knowledge, log, capsys):
    walk, later = begun(knowledge, "bay"), []
    for repair in knowledge.repairs.values():
        if repair.level is not Level.SPECIALIST:
            at = walk.with_step(steps.DoRepair(repair.id, 20.0, 0.9, 30.0, ()))
            first = pages(at, screens.body(at, Look(), room=18), Look(), 18)[0]
            later += [] if any(text.startswith("   1  ") for _, text in first) else [repair.id]
    assert len(later) <= 2, later  # too many cautions of their own

    class Eyes:
        interactive, scripted = True, False

    session = PromptSession(Eyes(), Look(), log, "Ida")
    state = ScreenState(walk.with_step(steps.DoRepair("replace-fuel-pump", 20.0, 0.9, 30.0, ())))
    shown = []
    for page in range(20):
        state = show_screen(session, replace(state, page=page))
        shown.append(capsys.readouterr().out)
        if not state.unread:
            break
    assert len(shown) > 2
    assert ["done when it is done" in text for text in shown] == [False] * (len(shown) - 1) + [True]


def test_what_was_noted_stands_under_the_head_of_the_next_screen(knowledge, log, capsys):
    class Eyes:
        interactive, scripted = True, False

    session = PromptSession(Eyes(), Look(), log, "Ida")
    session.noted.append(("say", "Noted: this and that"))
    show_screen(session, ScreenState(begun(knowledge, "bay")))
    show_screen(session, ScreenState(begun(knowledge, "bay")))
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("──")
    assert "Noted: this and that" in lines[2:4]
    assert lines.count("Noted: this and that") == 1


def test_the_first_screen_of_a_step_says_what_it_is_and_its_cautions_stand_before_its_instructions(knowledge):
    walk, look, count = named(begun(knowledge, "bay")), Look(), 0
    entries = {**knowledge.checks, **knowledge.panels, **knowledge.repairs}
    for step in every_step(knowledge, "bay"):
        name = getattr(step, "check", None) or getattr(step, "panel", None) or getattr(step, "repair", None)
        if name is None:
            continue
        at = walk.with_step(step)
        only = screens.specialist_only(at)
        shown = [stop.lines for stop in stops.step_stops(at, look)] if only else []
        shown += pages(at, screens.body(at, look, warned=only), look, 17)
        title = f"Repair: {entries[name].name}" if isinstance(step, steps.DoRepair) else entries[name].name
        assert look.wrap(title)[0] in [text for _, text in shown[0][:1]], name
        told = [text for page in shown for style, text in page]
        first = entries[name].steps[0] if isinstance(step, steps.DoRepair) else entries[name].do
        began = " ".join(" ".join(told).split()).index(first[:30])
        own = screens.repair_cautions(at, step) if isinstance(step, steps.DoRepair) else screens.step_cautions(at)
        for caution in own:
            before = " ".join(" ".join(told).split())[:began]
            assert knowledge.cautions[caution].avoid in before, (name, caution)
            count += 1
    assert count > 500


def test_the_answers_of_a_check_stand_on_its_first_page_where_short_cautions_leave_room(knowledge):
    """Of 237 checks 157 did before cautions were shortened; a page has 17 lines and the key to the next."""
    walk, look, later, checks = named(begun(knowledge, "bay")), Look(), [], 0
    for step in every_step(knowledge, "bay"):
        if isinstance(step, steps.MakeCheck):
            at, checks = walk.with_step(step), checks + 1
            shown = pages(at, screens.body(at, look, room=18), look, 18)
            commands = list(cautions(at, screens.step_cautions(at), look, short=True))
            assert commands == [line for line in shown[0] if line in commands], step
            answers = list(screens.result_lines(knowledge.checks[step.check], look))
            later += [] if set(answers) <= set(shown[0]) else [step.check]
    assert len(later) < checks / 25, later


def test_a_hazard_told_short_is_told_in_full_by_why(knowledge, log, capsys):
    for step in (steps.MakeCheck("coil-swap", 7.0, 5.0, ()), steps.DoRepair("replace-fuel-line", 20.0, 0.9, 30.0, ())):
        walk = begun(knowledge, "bay").with_step(step)
        names = screens.step_cautions(walk)
        asides.show_why(PromptSession(None, Look(), log, "Ida"), ScreenState(walk), "")
        said = " ".join(capsys.readouterr().out.split())
        assert all(knowledge.cautions[name].consequence in said for name in names)
        shown = " ".join(" ".join(text for _, text in screens.body(walk, Look())).split())
        assert not all(knowledge.cautions[name].consequence in shown for name in names)


def test_a_question_for_the_customer_has_no_hazards_of_the_car_until_a_repair_is_tried(knowledge):
    walk = begun(knowledge, "bay")
    asked = [check for check in knowledge.checks.values() if check.asks_customer and check.cautions]
    assert asked
    for check in asked:
        at = walk.with_step(steps.MakeCheck(check.id, 1.0, 0.0, (), despite=("fuel-smell-strong",)))
        assert screens.step_cautions(at) == []
        assert not any(style == "caution" for style, _ in screens.body(at, Look())), check.id
        tried = at.imagine(Draft("repaired", "", "", {"repair": next(iter(knowledge.repairs))})).with_step(at.step)
        assert set(check.cautions) <= set(screens.step_cautions(tried))
        proof = at.with_step(steps.ProveRepair("", check.id, check.expected))
        assert set(check.cautions) <= set(screens.step_cautions(proof))


def test_what_only_a_specialist_may_do_says_so_with_its_cautions_and_waits_for_a_word(knowledge):
    walk = begun(knowledge, "bay")
    for repair in knowledge.repairs.values():
        at = walk.with_step(steps.DoRepair(repair.id, 20.0, 0.9, 30.0, ()))
        stop = stops.stop_before(at, Look())
        if repair.level is not Level.SPECIALIST:
            assert stop is None, repair.id
            continue
        lines = [text for _, text in stop.lines]
        assert lines[0].startswith(f"Repair: {repair.name}"[:60])
        assert wording.SPECIALIST_ONLY in lines
        assert stop.word == wording.GATE_WORD
        assert not any(text in " ".join(lines) for text in repair.steps)


@pytest.mark.parametrize("width", [40, 80, 132])
@pytest.mark.parametrize("unicode", [True, False])
def test_no_line_is_wider_than_the_terminal_and_ascii_is_enough(small, width, unicode):
    look = Look(width, unicode)
    for audience in ("phone", "bay"):
        walk = begun(small, audience)
        for step in every_step(small, audience):
            at = walk.with_step(step)
            lines = [*heading.head(at, look), *screens.body(at, look), *foot(at, look)]
            painted = look.paint(lines)
            assert all(len(line) < width for line in painted.splitlines()), (width, step)
            assert unicode or painted.isascii()
            assert "\x1b" not in painted


def test_signal_word_and_its_stand_in_are_always_there(small):
    for look in (Look(80, True), Look(80, False), Look(40, False), Look(132, True, True)):
        walk = begun(small, "bay").with_step(steps.MakeCheck("spark", 1, 1, ()))
        painted = look.paint(screens.body(walk, look))
        assert "CAUTION" in painted
        assert ("⚠" if look.unicode else "[!]") in painted
        assert painted.index("CAUTION") < painted.index("Look for sparks")


@pytest.mark.parametrize(
    "environment",
    [{"LANG": "C", "LC_ALL": "C", "PYTHONUTF8": "0"}, {"NO_COLOR": "1"}, {"PYTHONIOENCODING": "cp1252"}, {}],
    ids=["LANG=C", "NO_COLOR", "cp1252", "as it is"],
)
def test_a_walk_through_a_pipe_prints_no_escape_and_no_question_mark_for_a_sign(tmp_path, environment):
    done = subprocess.run(
        [sys.executable, "-m", "comeback.cli", "triage", "--knowledge", SMALL, "--plain"],
        input=b"1\nno light\n1\nn\n2\nq\n", capture_output=True, cwd=tmp_path, timeout=60,
        env={**os.environ, "XDG_DATA_HOME": str(tmp_path), "COMEBACK_LOG": "", "COMEBACK_BY": "Ida", **environment},
    )  # fmt: skip
    assert b"\x1b" not in done.stdout
    assert b"Traceback" not in done.stderr
    text = done.stdout.decode("utf-8" if environment in ({}, {"NO_COLOR": "1"}) else "latin-1")
    assert "Lamp seat" in text
    assert "Repair: Screw the lamp in" in text
    if "LANG" in environment:
        assert text.isascii()
        assert text.count("?") <= text.count("? help") + text.count("done?") + 6


def test_a_step_in_pages_is_not_answered_before_all_of_it_was_read(small, log, capsys):
    class Typist:
        interactive, scripted = True, False

        def __init__(self, *lines):
            self.lines = [*lines]

        def ask(self, walk):
            if not self.lines:
                raise EOFError
            return self.lines.pop(0)

    repair = small.repairs["screw-in-lamp"].model_copy(update={"steps": tuple(f"Turn no. {n}." for n in range(30))})
    long = small.model_copy(update={"repairs": {**small.repairs, repair.id: repair}})
    walk = begun(long, "bay")
    walk = walk.imagine(walk.answers({"spark": "no"}, "", ""))
    walk = walk.imagine(walk.answers({"lamp-turns": "turns"}, "", ""))
    events = log().open_case(
        Draft("opened", "2026-01-01T00:00:00+00:00", "Ida", {"audience": "bay"}), "x", lambda s: s[0]
    )
    drafts = [Draft(e.kind, "2026-01-01T00:00:00+00:00", "Ida", e.payload) for e in walk.events[1:]]
    walk = Walk(long, (events, *log().append(events.case, 1, drafts, "x")), Audience.BAY)
    _, state = run(PromptSession(Typist("done"), Look(), log, "Ida"), ScreenState(walk))
    assert state.walk.case.repairs == ()
    assert wording.READ_ON in capsys.readouterr().out
    _, state = run(PromptSession(Typist("m", "done"), Look(), log, "Ida"), ScreenState(walk))
    assert [done.repair for done in state.walk.case.repairs] == ["screw-in-lamp"]
    assert "Turn no. 29." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (steps.MakeCheck("lamp-turns", 1.0, 0.0, (), again="tight"), "You found: The lamp is tight"),
        (steps.MakeCheck("lamp-turns", 1.0, 0.0, (), retry=True), "Nobody could tell before"),
        (steps.ProveRepair("screw-in-lamp", "light", "lit", retry=True), "Nobody could tell before"),
    ],
)
def test_what_is_asked_a_second_time_says_why(step, words):
    from comeback.kb import load_knowledge

    walk = begun(load_knowledge(Path(SMALL)), "bay")
    walk = walk.imagine(walk.answers({"lamp-turns": "tight"}, "", ""))
    assert words in " ".join(text.strip() for _, text in screens.body(walk.with_step(step), Look()))


def test_why_a_second_look_tells_how_doubtful_the_first_is():
    from comeback.cli.screens.why import why
    from comeback.kb import load_knowledge

    walk = begun(load_knowledge(Path(SMALL)), "bay")
    walk = walk.imagine(walk.answers({"spark": "no", "lamp-turns": "tight", "volts": "present"}, "", ""))
    assert walk.step.again is not None
    assert "wrong in about" in " ".join(text for _, text in why(walk, Look()))


def test_a_cause_that_is_still_likely_is_named_before_the_case_is_closed():
    from comeback.kb import load_knowledge

    walk = begun(load_knowledge(Path(SMALL)), "bay")
    walk = walk.imagine(walk.answers({"spark": "yes", "lamp-turns": "turns", "volts": "none"}, "", ""))
    walk = walk.imagine(facts.Repaired(repair="screw-in-lamp"))
    shown = screens.body(walk.with_step(steps.CloseCase("dark", ("lamp-loose",), ("screw-in-lamp",), True)), Look())
    told = " ".join(text.strip() for _, text in shown)
    assert wording.PROVEN in told
    assert "still point to: Fuse blown" in told


@pytest.mark.parametrize(("sign", "word"), [("hood-smoke", "DANGER"), ("raw-fuel", "WARNING")])
def test_a_step_that_runs_the_engine_despite_a_danger_sign_says_so_first(knowledge, sign, word):
    """Signal words by ANSI Z535: where a sign sends people away from the car it is DANGER."""
    red = next(iter(knowledge.checks[sign].red_flag))
    walk = begun(knowledge, "bay")
    walk = walk.imagine(walk.answers({sign: red}, "", "")).with_step(
        steps.MakeCheck("idle-map", 3.0, 5.0, (), despite=(sign,))
    )
    lines = [text for _, text in screens.body(walk, Look())]
    told = " ".join(line.strip() for line in lines)
    assert lines[0].startswith(f"⚠ {word}  ")
    assert knowledge.checks[sign].results[red].lower() in told.lower().split("engine should stay off")[0]
    for words in (
        "foreman",
        "as long as this step needs",
        "fire extinguisher at hand",
        "stop at once if it gets worse",
    ):
        assert words in told
