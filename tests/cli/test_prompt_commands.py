"""The commands of the prompt: each once, with its help, its place on stop screens, what a customer may say like it."""

import pytest

from comeback.cli.prompt.registry import BY_NAME, COMMANDS, SPOKEN, Stops, help_lines, read_command
from comeback.cli.prompt.reply import LEAVE, Command


def test_keys_mean_the_same_on_every_screen():
    """Single keys are commands also where the customer's own words are asked for; no word belongs to two commands."""
    for key in ("?", "w", "b", "r", "q", "k", "s", "o"):
        assert read_command(key, open_question=True) == read_command(key) is not None
    words = [word for command in COMMANDS for word in command.words]
    assert len(set(words)) == len(words)
    assert set(words) >= SPOKEN


def test_help_tells_every_command_on_one_screen():
    lines = help_lines()
    assert len(lines) <= 19
    assert all(len(line) < 80 for line in lines)
    for command in COMMANDS:
        assert command.help or command.name in ("help", "more", "resume", "print", "tell"), command.name
        assert all(cell in "\n".join(lines) for cell in command.help)


@pytest.mark.parametrize(
    ("typed", "command"),
    [
        ("w", Command("why")), ("SO FAR", Command("so-far")),
        ("edit 3", Command("edit", "3")), ("e 3", Command("edit", "3")),
        ("/hiss", Command("find", "hiss")), ("note will wait", Command("note", "will wait")),
        ("give to Ben", Command("give", "Ben")), ("place Mill Road 4", Command("contact", "place Mill Road 4")),
        ("up tow she insists", Command("urgency", "up tow she insists")), ("down", Command("urgency")),
        ("down the hill it stalls", None), ("give me a minute", None), ("edit the list", None),
        ("rename", Command("rename")),
    ],
)  # fmt: skip
def test_a_line_is_the_command_that_it_names_whole(typed, command):
    assert read_command(typed) == command


def test_a_customers_own_words_are_no_command_where_they_are_asked_for():
    for typed in ("open", "save", "down", "print", "keep"):
        assert read_command(typed) is not None
        assert read_command(typed, open_question=True) is None


def test_a_stop_screen_lets_nothing_through_that_answers_or_passes_it():
    assert {command.name for command in COMMANDS if command.on_stop is Stops.NONE} == {
        "keep", "open", "rename", "give", "print", "tell",
    }  # fmt: skip
    advice = {command.name for command in COMMANDS if command.on_stop is Stops.ADVICE}
    assert advice == {"also", "edit", "gone", "urgency"}
    assert BY_NAME["leave"].words == LEAVE


def test_b_leaves_the_list_of_what_was_seen_and_takes_nothing_back(press, knowledge):
    keys = "plugs\rit shakes\r1\rn\rsaw hose\rb\rq\r"
    _, screen, walk = press("bay", keys)
    assert "Which of these did you look at?" in screen
    assert not any(event.kind == "taken-back" for event in walk.events)
