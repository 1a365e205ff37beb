"""`comeback drill --mode phone`: the caller's lines, by piped lines and on the sheet. All cases are invented."""

import io

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.cli.drill import debrief
from comeback.cli.drill.at_car import View
from comeback.cli.drill.at_phone import REPLIES, SPOKEN, WANTS, AtPhone
from comeback.cli.drill.loop import Drilling
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
    script = ["driving", "stop", "open", "signs", "advice", str(told), first, second, "read-back", "end"]
    code, out = call(script)
    assert code == exit_codes.DONE
    assert f'Caller      "{words}"' in out
    assert "Debrief: call ended" in out
    assert "no miss" in out
    assert "Promised    nothing" in out
    assert "Read back   done" in out


def test_the_script_may_be_said_in_one_s_own_words(call):
    """What is said aloud is no search for a check: "are you driving" found brakes while driving before."""
    code, out = call(["Are you driving right now?", "please stop", "What is the car doing?", "danger signs", "q"])
    assert code == exit_codes.PAUSED
    assert "while driving" not in out
    for line in ('You say     "Are you driving right now?"', 'You say     "What is the car doing now?"'):
        assert line in out
    assert "danger signs. Tell me" in out


def test_what_was_promised_is_told_with_what_to_say_instead(call, knowledge, car):
    (first, _), (_, second), told = replies(knowledge, car)
    code, out = call(["driving", "stop", "open", "signs", "advice", str(told), first, second, "end"])
    assert code == exit_codes.DONE
    drill = new_drill(knowledge, car, Mode.PHONE)
    drill.advice = drill.best_advice()
    text = " ".join(out.split())
    assert f'Promised "{WANTS[drill.wants[1]]}" say "{REPLIES[drill.wants[1]]["nothing"]}"' in text
    assert "Read back not done" in text


def test_the_caller_waits_for_an_answer_and_does_so_when_the_drill_goes_on(call, knowledge, car):
    good, _, told = replies(knowledge, car)
    code, out = call(["driving", "stop", "open", "signs", "advice", str(told), "end", "q"])
    assert code == exit_codes.PAUSED
    assert "The caller waits for an answer" in out
    code, out = call([*good, "end"], "--resume", begin=())
    assert code == exit_codes.DONE
    assert "Debrief: call ended" in out


@pytest.mark.parametrize(
    ("lines", "miss"),
    [
        (["signs"], "not asked first: are you driving?"),
        (["driving", "stop", "open", "check onset"], "danger signs were not looked at first"),
        (["driving", "stop", "open", "signs", "end"], "without advice on driving"),
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
    assert "the danger signs ask for" in text
    assert (
        f"Give at least the advice that the danger sign asks for: {knowledge.dispositions[drill.floor()].name}." in text
    )


def test_nothing_typed_makes_a_traceback(call):
    odd = ["", "stop", "read-back", "driving", "stop", "signs", "repair plug", "hand-over", "zzz", "\x00", "open",
           "open", "signs", "signs", "advice", "0", "9", "²", "cause washer", "1", "suspect oil", "1", "hint", "r", "?",
           "check drain-plug"]  # fmt: skip
    code, _ = call(odd)
    assert code == exit_codes.PAUSED


@pytest.fixture
def dripping(small):
    """A call in the smallest knowledge whose sign has a result that is neither as it should be nor dangerous."""
    spark = small.checks["spark"]
    wet = spark.model_copy(update={"results": {**spark.results, "wet": "Clear water"}})
    known = small.model_copy(update={"checks": {**small.checks, "spark": wet}})
    drill = new_drill(small, hide_car(small, 1), Mode.PHONE)
    drill.knowledge = known
    return AtPhone(drill, Look())


def test_what_is_neither_dangerous_nor_as_it_should_be_is_said_by_the_caller(dripping):
    """Before, "No to: Fluid on the ground" stood on the screen while the sheet had clear water."""
    text = "\n".join(line for _, line in dripping._signs({"spark": "wet"}))
    assert 'Sparks: "Clear water"' in text
    assert "No to" not in text
    assert "No to: Sparks" in "\n".join(line for _, line in dripping._signs({"spark": "no"}))


@pytest.mark.parametrize("seed", [*range(1, 4)])
def test_every_screen_of_a_call_fits_80_columns_and_24_lines(knowledge, seed):
    drill, look = new_drill(knowledge, hide_car(knowledge, seed), Mode.PHONE), Look()
    place = AtPhone(drill, look)
    drilling = Drilling(place, None, name="phone, seed 1   (K7RT)", begun=True)
    shown = [drilling.first()]

    def type_in(line):
        shown.append(drilling.answer(line))

    for line in ("driving", "stop", "open", "signs"):
        type_in(line)
    for check in [c for c in knowledge.checks if drill.audience in knowledge.checks[c].audience][:30:3]:
        type_in(f"check {check}")
    type_in("advice")
    type_in(str(int(drill.best_advice()) + 1))
    for want in WANTS:
        drill.replies.pop(want, None)
    while drill.want():
        drill.reply(drill.want(), "nothing")
    type_in("read-back")
    shown += [place.review(), [("plain", line) for line in place.help()], drilling.first(), place.asks(View())]
    drill.hand_over()
    shown += [screen for screen in debrief.screens(drill, score(drill), look, "K7RT") if screen]
    for screen in filter(None, shown):
        assert len(screen) <= 22, screen
        assert max(len(line) for _, line in screen) < 80


def test_no_phrase_of_the_script_stands_for_two_things():
    phrases = [phrase for said in SPOKEN.values() for phrase in said]
    assert len(phrases) == len(set(phrases))
