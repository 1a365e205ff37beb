"""Configuration, help topics, shell completion and exit codes."""

import subprocess

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import command_modules
from comeback.cli.command_line import run as run_command
from comeback.cli.completing import script, words
from comeback.cli.config import EXAMPLE, Config, config_file, read_config
from comeback.cli.options import with_rate


@pytest.fixture
def written(tmp_path, monkeypatch):
    """written(text) -> path of a configuration file that is in force."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))

    def write(text):
        place = config_file()
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text)
        return place

    return write


def test_without_a_file_the_defaults_hold(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert read_config() == Config()


def test_a_relative_folder_is_ignored_as_the_standard_says(monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", "somewhere")
    assert config_file().is_absolute()
    assert "somewhere" not in str(config_file())


def test_the_example_of_the_help_is_read(written):
    written(EXAMPLE)
    config = read_config()
    assert (config.shop, config.by, config.labour_rate, config.plain) == ("Millrace Garage", "Ida", 120, False)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('shpo = "x"', "there is no setting 'shpo'. Did you mean 'shop'?"),
        ("labour_rate = -1", "a number above 0"),
        ("labour_rate = true", "a number above 0"),
        ('units = "furlongs"', '"both" or "metric" or "us"'),
        ('level = "wizard"', '"technician" or "specialist"'),
        ("plain = 1", "true or false"),
        ("by = 3", "text in quotes"),
        ("shop = ", "this is not TOML"),
    ],
)
def test_a_mistake_in_the_file_is_told_with_place_and_remedy(written, capsys, text, told):
    place = written(text)
    assert run_command(["call", "--answers", "/dev/null"]) == exit_codes.USAGE
    error = capsys.readouterr().err
    assert told in error
    assert str(place) in error


def test_the_labour_rate_replaces_the_knowledges(small):
    assert with_rate(small, 90.0).settings.rate_per_hour == 90
    assert with_rate(small, None) is small


@pytest.mark.parametrize("topic", ["keys", "phone", "answers", "config", "exit-codes", "files", "limits"])
def test_help_topics_fit_a_screen(capsys, topic):
    assert run_command(["help", topic]) == exit_codes.DONE
    lines = capsys.readouterr().out.splitlines()
    assert 1 <= len(lines) <= 24
    assert all(len(line) < 80 for line in lines)


def test_an_unknown_topic_is_told_with_what_is_near(capsys):
    assert run_command(["help", "exit-code"]) == exit_codes.USAGE
    assert "exit-codes" in capsys.readouterr().err


def test_every_exit_code_is_documented(capsys):
    codes = {value for name, value in vars(exit_codes).items() if name.isupper() and isinstance(value, int)}
    assert codes == set(exit_codes.MEANINGS)
    run_command(["help", "exit-codes"])
    out = capsys.readouterr().out
    assert all(f"{code:4d}  " in out for code in codes)


def test_commands_options_and_case_ids_are_completed(press, small, log):
    _, _, walk = press("phone", "n\rq\r", known=small)
    assert words(["tri"]) == ["triage"]
    assert set(words([""])) >= set(command_modules())
    assert "--answers" in words(["call", "--an"])
    assert words(["record", walk.case.id[:2].lower()]) == [walk.case.id]
    assert words(["record", walk.case.id, "--format", "m"]) == ["markdown"]
    assert words(["completion", "b"]) == ["bash"]
    assert words(["frobnicate", ""]) == []


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_scripts_are_valid(tmp_path, shell):
    place = tmp_path / "script"
    place.write_text(script(shell))
    try:
        done = subprocess.run([shell, "-n", str(place)], capture_output=True, text=True, check=False)
    except FileNotFoundError:
        pytest.skip(f"{shell} is not installed")
    assert done.returncode == 0, done.stderr
