"""Configuration, help topics, shell completion and exit codes."""

import argparse
import os
import subprocess
import sys
from contextlib import closing

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import command_names
from comeback.cli.command_line import run as run_command
from comeback.cli.config import EXAMPLE, Config, read_config
from comeback.cli.options import knowledge_of, overlays_of
from comeback.cli.places import config_file
from comeback.cli.prompt.start import with_rate
from comeback.engine.case_log.store import open_log
from support import case_logs


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
    assert (config.shop, config.by, config.labor_rate, config.plain) == ("Millrace Garage", "Ida", 120, False)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('shpo = "x"', "there is no setting 'shpo'. Did you mean 'shop'?"),
        ("labor_rate = -1", "a number above 0"),
        ("labor_rate = true", "a number above 0"),
        ('units = "furlongs"', '"both" or "metric" or "us"'),
        ('level = "wizard"', '"technician" or "specialist"'),
        ("plain = 1", "true or false"),
        ("by = 3", "text in quotes"),
        ("shop = ", "this is not TOML"),
        ("overlay = 3", "a folder in quotes"),
        ("overlay = [3]", "a folder in quotes"),
    ],
)
def test_a_mistake_in_the_file_is_told_with_place_and_remedy(written, capsys, text, told):
    place = written(text)
    assert run_command(["call", "--answers", "/dev/null"]) == exit_codes.USAGE
    error = capsys.readouterr().err
    assert told in error
    assert str(place) in error


OWN = "revise:\n  complaints.rough-idle.words: {add: [shakes like a tractor]}\n"


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A shop's own folder that no option names."""
    monkeypatch.delenv("COMEBACK_OVERLAY", raising=False)
    folder = tmp_path / "comeback" / "my-shop"
    folder.mkdir(parents=True)
    (folder / "own.yaml").write_text(OWN)
    return folder


def words_known():
    given = argparse.Namespace(knowledge=None, overlay=None)
    return knowledge_of(given).complaints["rough-idle"].words


def test_the_overlay_of_the_file_is_read_and_a_relative_one_stands_beside_the_file(written, shop):
    for text in ('overlay = "my-shop"', f'overlay = "{shop}"', f'overlay = ["{shop}/own.yaml"]'):
        written(text)
        assert words_known()[-1] == "shakes like a tractor"


def test_the_overlay_of_the_environment_goes_before_the_file_and_the_option_before_both(written, shop, monkeypatch):
    written('overlay = "my-shop"')
    other = shop.parent / "other"
    other.mkdir()
    (other / "own.yaml").write_text(OWN.replace("tractor", "mixer"))
    monkeypatch.setenv("COMEBACK_OVERLAY", str(other))
    assert words_known()[-1] == "shakes like a mixer"
    monkeypatch.setenv("COMEBACK_OVERLAY", f"{other}{os.pathsep}{shop}")
    assert words_known()[-2:] == ("shakes like a mixer", "shakes like a tractor")
    given = argparse.Namespace(knowledge=None, overlay=[str(shop)])
    assert overlays_of(given) == [shop]
    assert overlays_of(argparse.Namespace(overlay=[""])) == []
    assert overlays_of(argparse.Namespace(overlay=None), other_knowledge=True) == []


def test_commands_use_the_overlay_that_nobody_typed(written, shop, capsys):
    written('overlay = "my-shop"')
    assert run_command(["check"]) == exit_codes.DONE
    assert f"1 file in {shop} (overlay)" in capsys.readouterr().out
    assert run_command(["explain", "rough-idle"]) == exit_codes.DONE
    assert "shakes like a tractor" in capsys.readouterr().out


def test_an_overlay_that_is_not_there_is_told_with_the_place_that_names_it(written, monkeypatch, capsys):
    monkeypatch.delenv("COMEBACK_OVERLAY", raising=False)
    place = written('overlay = "gone"')
    assert run_command(["explain", "rough-idle"]) == exit_codes.USAGE
    assert f"{place}: overlay names {place.parent}/gone, which does not exist." in capsys.readouterr().err
    monkeypatch.setenv("COMEBACK_OVERLAY", "/nowhere/at/all")
    assert run_command(["check"]) == exit_codes.USAGE
    told = capsys.readouterr().err
    assert "COMEBACK_OVERLAY names /nowhere/at/all" in told
    assert "run without it: --overlay ''" in told
    assert run_command(["explain", "rough-idle", "--overlay", ""]) == exit_codes.DONE


def test_a_mistake_in_the_file_is_told_by_commands_that_only_read_knowledge(written, capsys):
    written('overlai = "x"')
    for command in (["check"], ["explain", "P0171"]):
        assert run_command(command) == exit_codes.USAGE
        assert "there is no setting 'overlai'. Did you mean 'overlay'?" in capsys.readouterr().err


def test_a_note_is_signed_with_the_name_in_the_configuration(written, monkeypatch, tmp_path, capsys):
    monkeypatch.delenv("COMEBACK_BY", raising=False)
    written('by = "Cem"')
    place = tmp_path / "cases.db"
    with closing(open_log(place)) as log:
        case = case_logs.closed_case(log, 1)
        assert run_command(["cases", "note", case, "called back", "--log", str(place)]) == exit_codes.DONE
        assert log.events(case)[-1].by == "Cem"
    capsys.readouterr()


def test_the_labor_rate_replaces_the_knowledges(small):
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


def test_commands_options_and_case_ids_are_completed(press, small, log, tmp_path):
    _, _, walk = press("phone", "n\rq\r", known=small)

    def completed(line):
        """What the shell is told, asked as its own script asks."""
        place = tmp_path / "completions"
        asks = {"_ARGCOMPLETE": "1", "_ARGCOMPLETE_STDOUT_FILENAME": str(place), "_ARGCOMPLETE_IFS": "\n",
                "COMP_LINE": line, "COMP_POINT": str(len(line)), "COMP_TYPE": "9"}  # fmt: skip
        subprocess.run([sys.executable, "-m", "comeback.cli"], env={**os.environ, **asks}, check=False)
        return [word.strip() for word in place.read_text().split("\n")] if place.exists() else []

    assert completed("comeback tri") == ["triage"]
    assert set(completed("comeback ")) >= set(command_names())
    assert "--answers" in completed("comeback call --an")
    assert completed(f"comeback record {walk.case.id[:2]}") == [walk.case.id]
    assert completed(f"comeback record {walk.case.id} --format h") == ["html"]
    assert completed("comeback completion b") == ["bash"]
    assert "rough-idle" in completed("comeback chart ro")
    assert "intake-cleaning" in completed("comeback chart rough-idle --service in")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_scripts_are_valid(tmp_path, shell, capsys):
    place = tmp_path / "script"
    run_command(["completion", shell])
    place.write_text(capsys.readouterr().out)
    try:
        done = subprocess.run([shell, "-n", str(place)], capture_output=True, text=True, check=False)
    except FileNotFoundError:
        pytest.skip(f"{shell} is not installed")
    assert done.returncode == 0, done.stderr
