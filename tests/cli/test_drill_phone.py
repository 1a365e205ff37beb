"""`comeback drill --mode phone`: the caller's lines, by piped lines and on the sheet. All cases are invented."""

import io
import json

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.cli.drill import call_screens as drill_call_screens
from comeback.cli.drill import debrief as drill_debrief
from comeback.cli.drill.calling import Calling
from comeback.cli.look import Look
from comeback.engine.drill.drill import Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.record import new_drill
from comeback.engine.drill.score import score
from comeback.kb.vocabulary import Disposition


@pytest.fixture
def call(tmp_path, monkeypatch, capsys):
    """call(lines, *options) -> (exit code, what was printed)."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv("COMEBACK_LOG", raising=False)

    def go(lines, *options, begin=("--seed", "5")):
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        code = run(["drill", "--mode", "phone", *begin, "--by", "Ida", *options])
        return code, capsys.readouterr().out

    return go


@pytest.fixture(scope="module")
def car(knowledge):
    return hide_car(knowledge, 5)


def replies(knowledge, car):
    """Numbers of the replies that promise nothing, and of one that does."""
    drill = new_drill(knowledge, car, Mode.PHONE)
    drill.advice = drill.best_advice()
    good = [str(drill.offered(want).index("nothing") + 1) for want in drill.wants]
    bad = [str(drill.offered(want).index("surely") + 1) for want in drill.wants]
    return good, bad, int(drill.advice) + 1


def test_a_call_by_the_script_ends_with_a_clean_debrief(call, knowledge, car):
    (first, second), _, told = replies(knowledge, car)
    words = knowledge.complaints[car.comeback.complaint].words[0]
    lines = [
        "driving",
        "stop",
        "open",
        "signs",
        "check engine-lamp",
        "advice",
        str(told),
        first,
        second,
        "read-back",
        "end",
    ]
    code, out = call(lines)
    assert code == exit_codes.DONE
    assert f'Caller      "{words}"' in out
    assert "Debrief: call ended" in out
    assert "no miss" in out
    assert "Promised      nothing" in out
    assert "Read back     done" in out


def test_what_was_promised_is_told_with_what_to_say_instead(call, knowledge, car):
    (first, _), (_, second), told = replies(knowledge, car)
    code, out = call(["driving", "open", "signs", "advice", str(told), first, second, "end"], "--json")
    assert code == exit_codes.DONE
    result = json.loads(out)
    assert len(result["call"]["promised"]) == 1
    assert result["call"]["read_back"] is False


def test_the_caller_waits_for_his_answer_and_does_so_when_the_drill_goes_on(call, knowledge, car):
    good, _, told = replies(knowledge, car)
    code, out = call(["driving", "open", "signs", "advice", str(told), "end", "q"])
    assert code == exit_codes.PAUSED
    assert "He waits for an answer" in out
    code, out = call([*good, "end"], "--resume", begin=())
    assert code == exit_codes.DONE
    assert "Debrief: call ended" in out


@pytest.mark.parametrize(
    ("lines", "miss"),
    [
        (["signs"], "not asked first whether he is driving"),
        (["driving", "open", "check engine-lamp"], "danger signs were not looked at first"),
        (["driving", "open", "signs", "end"], "without advice on driving"),
    ],
)
def test_what_leaves_the_caller_in_danger_stops_the_call(call, lines, miss):
    code, out = call(lines)
    assert code == exit_codes.DONE
    assert "Debrief: stopped for safety" in out
    assert miss in " ".join(out.split())


def test_advice_below_the_danger_signs_stops_the_call_and_says_what_would_have_been_right(call, knowledge):
    for seed in range(40):
        drill = new_drill(knowledge, hide_car(knowledge, seed), Mode.PHONE)
        drill.ask_driving(), drill.tell_to_stop(), drill.look_at_signs()
        if drill.floor() > Disposition.WATCH:
            break
    code, out = call(["driving", "stop", "open", "signs", "advice", "1"], begin=("--seed", str(seed)))
    text = " ".join(out.split())
    assert code == exit_codes.DONE
    assert "Safety advice below the danger signs" in text
    assert f"Tell at least what the danger sign asks for: {knowledge.dispositions[drill.floor()].name}." in text


def test_nothing_typed_makes_a_traceback(call):
    odd = ["", "stop", "read-back", "driving", "signs", "repair plug", "hand-over", "zzz", "\x00", "open", "open",
           "signs", "signs", "advice", "0", "9", "²", "cause washer", "1", "suspect oil", "1", "hint", "r", "?",
           "check drain-plug", "driving", "stop"]  # fmt: skip
    code, _ = call(odd)
    assert code == exit_codes.PAUSED


def test_the_sheet_holds_every_line_of_the_caller_and_the_key(call, knowledge, car):
    code, out = call([], "--sheet")
    assert code == exit_codes.DONE
    words = f'"{knowledge.complaints[car.comeback.complaint].words[0]}"'
    for part in ("You are the caller", "Are you driving right now?", words, "Key", "Right advice", "Marks",
                 *(knowledge.causes[cause].name.split()[0] for cause in car.behind)):  # fmt: skip
        assert part in out
    assert max(map(len, out.splitlines())) < 80


@pytest.mark.parametrize("seed", [*range(1, 4)])
def test_every_screen_of_a_call_fits_80_columns_and_24_lines(knowledge, seed):
    drill, look = new_drill(knowledge, hide_car(knowledge, seed), Mode.PHONE), Look()
    drill.ask_driving()
    drill.tell_to_stop()
    drill.open_question()
    keys = drill_call_screens.keys(drill, look)
    shown = [drill_call_screens.start(drill, look, "phone, seed 1   (K7RT)")]
    shown += [[*drill_call_screens.driving(True, look), *keys], [*drill_call_screens.said(drill, look), *keys]]
    shown.append([*drill_call_screens.signs(drill, drill.look_at_signs(), look), *keys])
    for check in [c for c in knowledge.checks if drill.audience in knowledge.checks[c].audience][:30:3]:
        turn = drill.check(check)
        shown.append([*drill_call_screens.result(drill, turn, look), *keys])
    shown.append(drill_call_screens.tell(drill, look))
    drill.tell(drill.best_advice())
    shown += [drill_call_screens.want(drill, want, look) for want in drill_call_screens.WANTS]
    shown.append([*drill_call_screens.read_back(drill, look), *keys])
    shown.append([("plain", line) for line in drill_call_screens.HELP])
    calling = Calling(drill, None, look)
    shown.append([*calling.start(), *calling.pending()])
    drill.hand_over()
    shown += drill_debrief.screens(drill, score(drill), look, "K7RT")
    for screen in shown:
        assert len(screen) <= 22, screen
        assert max(len(line) for _, line in screen) < 80
