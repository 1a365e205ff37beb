"""`comeback page` as a user runs it, and the lines of an answers file that its note is made of."""

import json

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run as run_command
from support.places import SMALL_FOLDER as SMALL


def test_one_file_for_both_readers_the_same_each_time(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert run_command(["page", "--knowledge", SMALL]) == exit_codes.DONE
    assert capsys.readouterr().out == "written lamp-change.html\n"
    first = (tmp_path / "lamp-change.html").read_bytes()
    assert first.startswith(b"<!doctype html>")
    assert first.count(b'"reader":"bay"') == first.count(b'"reader":"phone"') == 1
    assert run_command(["page", "lamp-change", "-o", "new/x.html", "--knowledge", SMALL]) == exit_codes.DONE
    assert (tmp_path / "new" / "x.html").read_bytes() == first


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["soap"], "There is no service 'soap'. Type one of: lamp-change."),
        (["--complaint", "soap"], "There is no complaint 'soap'. Type one of: dark."),
    ],
)
def test_wrong_names_are_told_with_the_right_ones(arguments, told, capsys):
    assert run_command(["page", *arguments, "--knowledge", SMALL]) == exit_codes.USAGE
    assert told in capsys.readouterr().err


def test_a_page_never_replaces_the_case_log(comeback, tmp_path):
    (tmp_path / "cases.db").write_bytes(b"SQLite format 3\0")
    code, _, err = comeback("page", "--knowledge", SMALL, "-o", "cases.db")
    assert code == exit_codes.FILES
    assert "never overwritten" in err


COMPLAINT = "service: intake-cleaning\ncomplaint: rough-idle\n"


def triage(comeback, tmp_path, lines):
    (tmp_path / "note.yaml").write_text(COMPLAINT + lines + "otherwise: d\n")
    code, out, err = comeback("triage", "--answers", "note.yaml", "--json")
    return code, json.loads(out) if out else {}, err


def test_a_proof_can_be_named_by_its_repair_whichever_is_done_first(comeback, tmp_path):
    lines = "map-seat: loose\nreseat-map-sensor: done\nmap-seat@reseat-map-sensor: tight\n"
    code, case, err = triage(comeback, tmp_path, lines + "idle-shake@reseat-map-sensor: still\nrepair: skip\n")
    assert (code, err) == (0, "")
    assert case["closed"]["repairs"] == ["reseat-map-sensor"]
    assert case["closed"]["proven"] is True


def test_one_line_skips_every_repair_that_is_not_listed(comeback, tmp_path):
    code, case, err = triage(comeback, tmp_path, "repair: skip\n")
    assert (code, err) == (0, "")
    assert case["handed_over"]


def test_what_is_listed_can_be_told_though_nobody_asks(comeback, tmp_path):
    lines = "clock: right\nfuel-sample: clear\noil-cap: open\nrepair: pause\n"
    for unasked in ("", "unasked: tell\n"):
        code, case, err = triage(comeback, tmp_path, unasked + lines)
        assert (code, bool(err)) == (exit_codes.PAUSED, False), err
        known = {answer["check"]: answer["result"] for answer in case["answers"]}
        assert ("fuel-sample" in known) == bool(unasked)
    assert (known["clock"], known["fuel-sample"], known["oil-cap"]) == ("right", "clear", "open")


def test_a_result_that_is_also_a_command_is_an_answer_in_a_file(comeback, tmp_path):
    lines = "unasked: tell\nfilter-box: open\nshut-filter-box: done\nfilter-box@shut-filter-box: shut\nrepair: skip\n"
    code, case, err = triage(comeback, tmp_path, lines + "idle-shake@shut-filter-box: still\n")
    assert (code, err) == (0, "")
    assert {"check": "filter-box", "result": "open"}.items() <= next(
        answer for answer in case["answers"] if answer["check"] == "filter-box"
    ).items()


def test_pause_leaves_the_case_there_saved(comeback, tmp_path):
    code, case, _ = triage(comeback, tmp_path, "map-seat: loose\nrepair: pause\n")
    assert code == exit_codes.PAUSED
    assert {"check": "map-seat", "result": "loose"}.items() <= next(
        answer for answer in case["answers"] if answer["check"] == "map-seat"
    ).items()
    assert case["closed"] is None
