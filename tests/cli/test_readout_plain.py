"""`comeback readout` over plain text, and beside a walk that is open; every text is invented."""

import json

import pytest

from comeback.cli import exit_codes
from comeback.cli.exit_codes import NOT_UNDERSTOOD
from comeback.cli.prompt.outage import append_behind
from comeback.engine.case import facts
from comeback.engine.case_log.store import open_log
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

NEW = ("--service", "intake-cleaning", "--complaint", "high-idle")


def test_plain_text_of_a_sheet_goes_into_a_case(readout, events, tmp_path):
    # An invented sheet, as a technician writes it.
    (tmp_path / "sheet.txt").write_text("Stored codes: P0300, p0316\nPending: none\nRPM 780\nECT 92 C\nLTFT1 +12,5 %\n")
    code, out, _ = readout("--from", tmp_path / "sheet.txt", *NEW, "--json")
    data = json.loads(out)
    assert code == exit_codes.DONE
    assert data["codes"] == {"stored": ["P0300", "P0316"], "pending": []}
    assert {"codes-misfire", "codes-lean", "trim-idle"} <= set(data["recorded"])
    assert "Stored codes: P0300, p0316" in events(data["case"])[3].payload["raw"]


@pytest.mark.parametrize("text", ["it shook\nno idea\n", "", "NO DATA\n", "Order no. 430171\n"])
def test_what_is_not_understood_has_an_exit_code_of_its_own_and_is_not_recorded(readout, tmp_path, text):
    (tmp_path / "odd.txt").write_text(text)
    code, out, err = readout("--from", tmp_path / "odd.txt", *NEW)
    assert code == NOT_UNDERSTOOD
    assert "nothing in it could be used. Nothing was recorded." in err
    assert "No findings" not in out
    assert "evidence saved" not in out


def test_denied_codes_are_named_and_are_no_findings(readout, tmp_path):
    (tmp_path / "sheet.txt").write_text("P0300 cleared\nnot P0301\n")
    code, out, _ = readout("--from", tmp_path / "sheet.txt", "--json")
    data = json.loads(out)
    assert (code, data["findings"]) == (exit_codes.DONE, [])
    assert [remark[:18] for remark in data["remarks"][:2]] == ["P0300 is not taken", "P0301 is not taken"]


def test_text_of_a_list_is_taken_from_the_command_line_too(readout):
    data = json.loads(readout("P0303 and P0353, pending", "--json")[1])
    assert data["codes"] == {"typed": ["P0303", "P0353"]}


@pytest.fixture
def open_walk_at(readout, tmp_path, knowledge):
    """open_walk_at(words) -> (log, a walk in the bay, the same case after a readout of the words beside it)."""
    logs = []

    def make(*words):
        case = json.loads(readout("idle", "MAP=52", *NEW, "--json")[1])["case"]
        logs.append(open_log(tmp_path / "cases.db"))
        walk = Walk(knowledge, logs[0].events(case), Audience.BAY)
        assert readout(*words, "--case", case)[0] == exit_codes.DONE
        return logs[0], walk, case

    yield make
    for log in logs:
        log.engine.dispose()


def test_open_walk_takes_a_readout_in_and_its_own_answer_is_kept(open_walk_at):
    log, walk, case = open_walk_at("P0171")
    draft = walk.answers({"trim-2500": "normal"}, "2024-01-01T00:00:00+00:00", "Ida")
    after, came, recorded = append_behind(walk, log, [draft])
    assert recorded
    assert "Lean codes: Too lean" in came
    assert "a readout (Ben)" in came
    assert after.events == log.events(case)
    assert after.case.answer("trim-2500").result == "normal"
    assert after.case.answer("codes-lean").result == "lean"


@pytest.mark.parametrize("draft", ["settled by the readout", "a decision"])
def test_answer_that_the_readout_settled_or_a_decision_is_asked_anew(open_walk_at, draft):
    log, walk, case = open_walk_at("P0171")
    if draft == "a decision":
        drafts = [walk.draft(facts.HandedOver(reason="", repair=None), "2024-01-01T00:00:00+00:00", "Ida")]
    else:
        drafts = [walk.answers({"codes-lean": "none"}, "2024-01-01T00:00:00+00:00", "Ida")]
    after, came, recorded = append_behind(walk, log, drafts)
    assert not recorded
    assert "not saved yet" in came
    assert after.events == log.events(case)
    assert after.case.answer("codes-lean").result == "lean"
