"""Repair cards: what to look for, cautions before the work, pages that hold what they promise."""

import pytest

from comeback.diagrams.cards import card_names, card_pages, cards_of
from comeback.diagrams.hazards import hazards_of
from comeback.engine.card_looks import TELLING, Looks
from comeback.engine.decision_graph import TryInOrder


@pytest.fixture(scope="module")
def looks(shipped):
    return Looks(shipped, "intake-cleaning", "hard-brake")


@pytest.fixture(scope="module")
def made(shipped_graphs, looks):
    return cards_of(shipped_graphs["bay"], looks)


def test_every_repair_named_at_an_end_has_one_card(shipped_graphs, made):
    named = {r for box in shipped_graphs["bay"].boxes if isinstance(box.step, TryInOrder) for r in box.step.repairs}
    assert set(made) == named | set(shipped_graphs["bay"].cards)


def test_a_repair_has_the_same_number_on_every_chart_of_a_service_and_cards_stand_in_their_order(shipped, made):
    names = card_names(shipped, "intake-cleaning")
    assert sorted(names.values(), key=lambda name: int(name[1:])) == [f"R{i}" for i in range(1, len(names) + 1)]
    assert {repair: card.name for repair, card in made.items()} == {repair: names[repair] for repair in made}
    numbers = [int(card.name[1:]) for card in made.values()]
    assert numbers == sorted(numbers)


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
        if card.look is None:
            continue
        check, result = card.look
        causes = [shipped.causes[name] for name in card.repair.removes]
        assert any(check.id in cause.shows for cause in causes)
        assert result in check.names[1:]
        assert "bay" in check.audience


def test_the_complaint_itself_is_nothing_to_look_for(shipped, made, looks):
    assert all(card.look is None or card.look[0].id not in looks.reported for card in made.values())


def test_the_look_for_a_loose_lamp_is_to_turn_it(small):
    """By hand: of 100 dark lamps about 2/3 are loose; 95 % of those turn, hardly any other does."""
    check, result = Looks(small, "lamp-change", "dark").before("screw-in-lamp")
    assert (check.id, result) == ("lamp-turns", "turns")


def test_a_sign_that_other_causes_show_as_well_is_no_look(shipped):
    """Trade knowledge: a lit engine lamp, one misfire code, or jerks uphill fit many causes, so none is acted on."""
    vague = {("engine-lamp", "lit-on"), ("codes-misfire", "one"), ("hill-pull", "jerks")}
    looks = Looks(shipped, "intake-cleaning", "rough-idle")
    found = [looks.before(name) for name in card_names(shipped, "intake-cleaning")]
    assert not {(check.id, result) for check, result in filter(None, found)} & vague


@pytest.mark.parametrize("complaint", ["rough-idle", "hard-start"])
def test_a_look_tells_its_causes_from_all_others_by_the_factor_promised(shipped, complaint):
    """By the definition of a likelihood ratio, from the tables: chance with its causes over chance with the rest."""
    looks = Looks(shipped, "intake-cleaning", complaint)
    causes = looks.network.causes
    for name in card_names(shipped, "intake-cleaning"):
        look = looks.before(name)
        if look is None:
            continue
        check, result = look
        number = check.names.index(result)
        removed = shipped.repairs[name].removes
        rest = [k for k, cause in enumerate(causes) if removed.get(cause, 0) < 0.5]
        weight = sum(looks.usual[k] for k in rest)
        leak = shipped.leak(check.id)[number]
        shown = [
            shipped.chances(causes[k], check.id)[number] if check.id in shipped.causes[causes[k]].shows else leak
            for k in rest
        ]
        others = sum(looks.usual[k] * p for k, p in zip(rest, shown, strict=True)) / weight
        best = max(shipped.chances(c, check.id)[number] for c in removed if check.id in shipped.causes[c].shows)
        assert best >= TELLING * others - 1e-9


def test_runs_of_numbers_are_written_short(small):
    needed = {f"R{i}": ("hot-lamp",) for i in (1, 2, 3, 5, 7, 8)} | {"R9": ()}
    (hazard,) = hazards_of(small, needed)
    assert hazard.before == "For R1 to R3, R5, R7, R8"
