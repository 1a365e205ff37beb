"""`comeback handover` as a user runs it."""

import re
from pathlib import Path

import pypdf
import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.diagrams.handover import page_of
from comeback.engine.handover.card import handover_card
from comeback.engine.handover.table import Table
from support.places import SMALL_FOLDER as SMALL


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
    assert "comebacks that a check can prevent" in " ".join(" ".join(lines).split())


def test_every_caution_stands_before_its_check(capsys, knowledge):
    """Read from top to bottom, the commands of a check's cautions are printed before its box."""
    lines = handover_card(knowledge, "oil-service", 10.0).lines
    run(["handover", "oil-service"])
    text = " ".join(capsys.readouterr().out.split())
    place = 0
    for number, line in enumerate(lines, 1):
        box = text.index(f"[ ] {number} ", place)
        set_ups = [caution for name in line.set_ups for caution in knowledge.set_ups[name].cautions]
        for caution in (*set_ups, *(c for name in line.checks for c in knowledge.checks[name].cautions)):
            assert text.index(knowledge.cautions[caution].avoid, place) < box
        place = box


def test_the_card_says_what_it_prevents_and_its_denominator(capsys):
    """8 in 1000 in base.yaml; the one check catches 95 % and shows without a cause in 1 %."""
    assert run(["handover", "lamp-change", "--minutes", "2.5", "--knowledge", SMALL]) == exit_codes.DONE
    text = " ".join(capsys.readouterr().out.split())
    assert "1000 such services bring 8.0 comebacks that a check can prevent" in text
    assert "prevent 7.6 of them and hold up 10 good cars" in text
    assert "Dangerous but not checked" not in text


def test_the_card_keeps_to_its_minutes_and_says_what_the_car_is_assumed_to_be_in(capsys, knowledge):
    assert run(["handover", "oil-service", "--minutes", "5"]) == exit_codes.DONE
    text = " ".join(capsys.readouterr().out.split())
    assert "Assumed: the work is done" in text
    minutes = float(text.partition("checks, about ")[2].partition(" min")[0])
    assert minutes <= 5
    assert knowledge.checks["oil-lamp"].name in text


def test_a_danger_that_no_check_catches_is_named(capsys, tmp_path):
    """An invented slip with which the car must not be driven, and that nothing shows before the keys go back."""
    base = (Path(SMALL) / "base.yaml").read_text()
    lines = base.replace("drive: book", "drive: tow").replace("lamp-turns: 95", "lamp-turns: 10")
    (tmp_path / "base.yaml").write_text(lines.replace("shows: {light: mostly,", "shows: {light: hardly,"))
    assert run(["handover", "lamp-change", "--knowledge", str(tmp_path)]) == exit_codes.DONE
    assert "Dangerous but not checked (cars in 1000): Lamp not screwed in (8)." in " ".join(
        capsys.readouterr().out.split()
    )


def test_what_the_customer_is_told_is_no_fault_on_the_card(capsys):
    """The advice says that some white smoke is normal; no line asks for a tailpipe without any."""
    run(["handover", "intake-cleaning", "--minutes", "15"])
    text = " ".join(capsys.readouterr().out.split())
    assert "You may see some white smoke and smell solvent" in text
    assert "Catches Cleaner left in the manifold burning off" not in text
    assert "Goes away by itself, so no check prevents it" in text


@pytest.mark.parametrize(
    "arguments", [["soap"], ["oil-service", "--minutes", "0"], ["oil-service", "--minutes", "nan"]]
)
def test_what_is_not_there_is_one_clear_line(capsys, arguments):
    assert run(["handover", *arguments]) == exit_codes.USAGE
    error = capsys.readouterr().err
    assert error.startswith("comeback: ")
    assert error.count("\n") == 1


@pytest.mark.parametrize("service", ["oil-service", "coolant-change"])
def test_the_card_is_one_page_to_tick_off(tmp_path, capsys, knowledge, service):
    """Each check of the card with what it should be, the cautions before it, and what the customer is told."""
    assert run(["handover", service, "-o", str(tmp_path / "card.pdf")]) == exit_codes.DONE
    assert capsys.readouterr().out == f"written {tmp_path / 'card.pdf'}\n"
    pages = pypdf.PdfReader(tmp_path / "card.pdf").pages
    assert len(pages) == 1
    text = re.sub(r"\s+", " ", pages[0].extract_text())
    card = handover_card(knowledge, service, 10.0)
    for stage in page_of(card, knowledge)["stages"]:
        assert stage["name"] in text
    for line in card.lines:
        assert line.panel or knowledge.checks[line.checks[0]].name in text
        for caution in knowledge.checks[line.checks[0]].cautions:
            assert knowledge.cautions[caution].reminder in text
    for told in knowledge.services[service].advice:
        assert told in text


def test_the_card_is_no_worse_than_the_list_of_the_service(knowledge):
    """By its own table, in loss spared and in comebacks prevented, at the ten minutes that are printed."""
    for service in knowledge.services:
        table = Table(knowledge, service, ())
        own = table.choice.in_order(table.own_list(), 10.0)
        card = handover_card(knowledge, service, 10.0)
        chosen = tuple(table.place[line.checks[0]] for line in card.lines)
        assert table.choice.spared(chosen) >= table.choice.spared(own) - 1e-9
        assert card.prevented >= float(table.frequency @ (1 - table.choice.missed(own))) - 1e-9
