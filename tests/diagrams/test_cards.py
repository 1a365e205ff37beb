"""Repair cards: what to look for, cautions before the work, pages that hold what they promise."""

import pytest

from comeback.diagrams.cards import card_pages, cards_of
from comeback.diagrams.hazards import hazards_of
from comeback.diagrams.measure import PAPERS
from comeback.engine.card_looks import Looks
from comeback.engine.decision_graph import TryInOrder


@pytest.fixture(scope="module")
def looks(shipped):
    return Looks(shipped, "intake-cleaning", "hard-brake")


@pytest.fixture(scope="module")
def made(shipped_graphs, looks):
    return cards_of(shipped_graphs["bay"], looks, PAPERS["letter"])


def test_every_repair_named_at_an_end_has_one_card(shipped_graphs, made):
    named = {r for box in shipped_graphs["bay"].boxes if isinstance(box.step, TryInOrder) for r in box.step.repairs}
    assert set(made) == named | set(shipped_graphs["bay"].cards)
    assert [card.name for card in made.values()] == [f"R{i}" for i in range(1, len(made) + 1)]


def test_cautions_of_the_repair_of_its_look_and_of_its_proof_stand_on_its_page(shipped, made):
    for page in card_pages(tuple(made.values()), shipped, 520.0, 1):
        told = {hazard.caution for hazard in page.hazards}
        for card in page.cards:
            proof = shipped.checks[card.repair.proof.check]
            assert {*card.repair.cautions, *proof.cautions} <= told
            assert card.look is None or set(card.look[0].cautions) <= told


def test_a_page_is_no_higher_than_its_room_unless_it_holds_one_card(shipped, made):
    for page in card_pages(tuple(made.values()), shipped, 400.0, 3):
        height = sum(card.height for card in page.cards)
        assert height <= 400.0 or len(page.cards) == 1
    assert card_pages(tuple(made.values()), shipped, 400.0, 3)[0].number == 3


def test_what_to_look_for_is_a_sign_of_a_cause_that_the_repair_removes(shipped, made):
    for card in made.values():
        check, result = card.look
        causes = [shipped.causes[name] for name in card.repair.removes]
        assert any(check.id in cause.shows for cause in causes)
        assert result in check.names[1:]
        assert "bay" in check.audience


def test_the_complaint_itself_is_nothing_to_look_for(shipped, made, looks):
    assert all(card.look[0].id not in looks.reported for card in made.values())


def test_the_look_for_a_loose_lamp_is_to_turn_it(small):
    """By hand: of 100 dark lamps about 2/3 are loose; 95 % of those turn, hardly any other does."""
    check, result = Looks(small, "lamp-change", "dark").before("screw-in-lamp")
    assert (check.id, result) == ("lamp-turns", "turns")


def test_runs_of_numbers_are_written_short(small):
    needed = {f"R{i}": ("hot-lamp",) for i in (1, 2, 3, 5, 7, 8)} | {"R9": ()}
    (hazard,) = hazards_of(small, needed)
    assert hazard.before == "For R1 to R3, R5, R7, R8"
