"""`comeback handover` as a user runs it."""

import json
from pathlib import Path

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run

SMALL = str(Path(__file__).parent.parent / "kb" / "small")


def test_without_a_service_the_services_are_listed(capsys):
    assert run(["handover", "--knowledge", SMALL]) == exit_codes.DONE
    assert capsys.readouterr().out.split() == ["lamp-change", "Lamp", "changed"]


@pytest.mark.parametrize("service", ["oil-service", "coolant-change"])
def test_the_card_has_boxes_and_stands_within_80_columns(capsys, service):
    assert run(["handover", service]) == exit_codes.DONE
    lines = capsys.readouterr().out.splitlines()
    boxes = [line for line in lines if line.startswith("[ ]")]
    assert boxes
    assert max(map(len, lines)) <= 80
    assert any("of 1000 services" in line for line in lines)


def test_every_caution_stands_before_its_check(capsys, knowledge):
    """Read from top to bottom, the commands of a check's cautions are printed before its box."""
    run(["handover", "oil-service", "--json"])
    checks = json.loads(capsys.readouterr().out)["checks"]
    run(["handover", "oil-service"])
    text = " ".join(capsys.readouterr().out.split())
    place = 0
    for number, check in enumerate(checks, 1):
        box = text.index(f"[ ] {number} ", place)
        for caution in check["cautions"]:
            assert text.index(knowledge.cautions[caution].avoid, place) < box
        place = box


def test_json_states_its_denominators(capsys):
    assert run(["handover", "lamp-change", "--minutes", "2.5", "--knowledge", SMALL, "--json"]) == exit_codes.DONE
    data = json.loads(capsys.readouterr().out)
    assert data["comebacks_per_1000_services"] == 8
    assert data["proved_best"] is True
    assert [check["checks"] for check in data["checks"]] == [["light"], ["lamp-turns"]]
    assert data["ways"][0]["prevented"] == pytest.approx(8 * (1 - 0.1 * 0.05))


@pytest.mark.parametrize(
    "arguments", [["oil-servce"], ["soap"], ["oil-service", "--minutes", "0"], ["oil-service", "--minutes", "nan"]]
)
def test_what_is_not_there_is_one_clear_line(capsys, arguments):
    assert run(["handover", *arguments]) == exit_codes.USAGE
    error = capsys.readouterr().err
    assert error.startswith("comeback: ")
    assert error.count("\n") == 1
