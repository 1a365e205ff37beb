"""A code that is not known here, at every way in: the readout, the codes screen, any other screen, an answers file."""

import json

from comeback.cli.command_line import run
from comeback.cli.records.formats import rendered

START = "8\rcheck engine light is on\r1\rn\rn\r"
"""To the codes screen: a lit light is read first."""
LEAVE = "q\r"
OPEN = ("codes-coil", "codes-misfire")
"""Families of the ignition system (third character 3, SAE J2012, from memory)."""


def results_of(walk):
    return {check: r for event in walk.events for check, r in (event.payload.get("results") or {}).items()}


def test_the_readout_says_what_is_not_known_and_counts_only_families_that_are_free(readout, events):
    code, out, _ = readout("P0305", "P0399", "--service", "plugs-coils", "--complaint", "rough-idle", "--json")
    told = json.loads(out)
    assert code == 0
    assert any("P0399 is not known here" in remark for remark in told["remarks"])
    answered = [event.payload for event in events(told["case"]) if event.kind == "answered"]
    results = {check: result for payload in answered for check, result in payload["results"].items()}
    assert (results["codes-misfire"], results["codes-coil"], results["codes-lean"]) == ("one", None, "none")


def test_after_that_readout_the_same_codes_are_not_asked_for_once_more(readout, press, events):
    _, out, _ = readout("P0399", "--service", "plugs-coils", "--complaint", "rough-idle", "--json")
    _, screen, walk = press("bay", LEAVE, case=json.loads(out)["case"])
    assert "Type the codes" not in screen
    assert all(results_of(walk)[name] is None for name in OPEN)


def test_typed_at_the_codes_screen_it_leaves_its_families_not_known(press, knowledge):
    _, screen, walk = press("bay", START + "P0399 P0171\r" + LEAVE)
    results = results_of(walk)
    assert [results[name] for name in OPEN] == [None, None]
    assert (results["codes-lean"], results["codes-evap"]) == ("lean", "none")
    assert "P0399 is not known here" in " ".join(screen.split())
    unknown = sum(result is None for result in results.values())
    assert f"{unknown} not known" in " ".join(rendered(knowledge, walk.events, "text").split())


def test_typed_before_the_codes_screen_it_counts_there_too(press):
    _, _, walk = press("bay", "8\rcheck engine light is on\r1\rn\rP0399\rn\rn\r" + LEAVE)
    results = results_of(walk)
    assert [results[name] for name in OPEN] == [None, None]
    assert results["codes-evap"] == "none"


def test_in_an_answers_file_it_means_the_same(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("COMEBACK_LOG", str(tmp_path / "cases.db"))
    file = tmp_path / "bay.yaml"
    file.write_text("service: plugs-coils\ncomplaint: rough-idle\ncodes: P0399\notherwise: expected\n")
    run(["triage", "--answers", str(file), "--by", "Ben", "--json"])
    answers = json.loads(capsys.readouterr().out)["answers"]
    results = {answer["check"]: answer["result"] for answer in answers}
    assert [results[name] for name in OPEN] == [None, None]
    assert results["codes-evap"] == "none"
