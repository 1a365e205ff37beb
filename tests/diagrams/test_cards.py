"""Repair cards: what to look for, cautions before the work, pages that hold what they promise."""

import pytest

from comeback.diagrams.cards.card_pages import CardRoom, card_pages
from comeback.diagrams.cards.cards import card_names, cards_of
from comeback.diagrams.cards.reminders import lettered, reminders_height
from comeback.diagrams.paper.hazards import hazards_height, hazards_of
from comeback.diagrams.paper.measure import CARD_HEAD
from comeback.engine.charts.decision_graph import TryInOrder
from comeback.engine.charts.looks import TELLING, Looks


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


def test_a_card_has_the_cautions_of_the_repair_of_its_look_and_of_its_proof(shipped, made):
    for card in made.values():
        proof = shipped.checks[card.repair.proof.check]
        assert {*card.repair.cautions, *proof.cautions} <= set(card.cautions)
        assert card.look is None or set(card.look[0].cautions) <= set(card.cautions)


@pytest.mark.parametrize("room", [330.0, 400.0, 520.0, 5000.0])
def test_every_card_stands_once_behind_its_cautions_and_no_page_is_too_high(shipped, made, room):
    pages = card_pages(tuple(made.values()), shipped, CardRoom(room), 3)
    assert [page.number for page in pages] == list(range(3, 3 + len(pages)))
    assert [card.name for page in pages for card in page.cards] == [card.name for card in made.values()]
    told = set()
    for page in pages:
        told |= {hazard.caution for hazard in page.hazards}
        assert all(set(card.cautions) <= told for card in page.cards)
        warned = hazards_height(page.hazards) + reminders_height(page.reminders)
        high = sum(card.height for card in page.cards) + warned
        assert high <= room + (0.0 if page.cards else CARD_HEAD) or len(page.cards) == 1


def test_one_page_of_cards_needs_no_letters(shipped, made):
    (page,) = card_pages(tuple(made.values()), shipped, CardRoom(5000.0), 1)
    assert not page.letters
    assert not page.reminders
    assert not any(card.marks for card in page.cards)


def test_with_letters_what_the_flowchart_told_in_full_is_not_told_again_but_reminded_of(shipped, made):
    told = {"exhaust-gas", "moving-parts"}
    pages = card_pages(tuple(made.values()), shipped, CardRoom(300.0, told=told), 1)
    assert pages[0].letters
    assert not {hazard.caution for page in pages for hazard in page.hazards} & told
    for page in (page for page in pages if page.cards):
        short = " ".join(line for reminder in page.reminders for line in reminder.lines)
        needed = told & {caution for card in page.cards for caution in card.cautions}
        assert all(shipped.cautions[name].reminder in short for name in needed)


def test_letters_do_not_look_alike(shipped):
    letters = lettered(shipped, shipped.cautions)
    assert len(set(letters.values())) == len(letters) == len(shipped.cautions)
    assert not set("".join(letters.values())) & set("ilo")


def test_what_to_look_for_is_a_sign_of_a_cause_that_the_repair_removes(shipped, made):
    for card in made.values():
        if card.look is None:
            continue
        check, results = card.look
        causes = [shipped.causes[name] for name in card.repair.removes]
        assert any(check.id in cause.shows for cause in causes)
        assert results
        assert set(results) <= set(check.names[1:])
        assert "bay" in check.audience


def test_the_complaint_itself_is_nothing_to_look_for(shipped, made, looks):
    assert all(card.look is None or card.look[0].id not in looks.reported for card in made.values())


def test_the_look_for_a_loose_lamp_is_to_turn_it(small):
    """By hand: of 100 dark lamps about 2/3 are loose; 95 % of those turn, hardly any other does."""
    check, results = Looks(small, "lamp-change", "dark").before("screw-in-lamp")
    assert (check.id, results) == ("lamp-turns", ("turns",))


def test_a_sign_that_other_causes_show_as_well_is_no_look(shipped):
    """Trade knowledge: a lit engine lamp, one misfire code, or jerks uphill fit many causes, so none is acted on."""
    vague = {("engine-lamp", "lit-on"), ("codes-misfire", "one"), ("hill-pull", "jerks")}
    looks = Looks(shipped, "intake-cleaning", "rough-idle")
    found = [looks.before(name) for name in card_names(shipped, "intake-cleaning")]
    assert not {(check.id, result) for check, results in filter(None, found) for result in results} & vague


def test_what_a_driver_remembers_is_no_look(shipped):
    """It gets better as I drive: true of much that mends itself, and of oil that has all run out."""
    for service in ("oil-service", "intake-cleaning"):
        for complaint in ("oil-leak", "burning-smell"):
            looks = Looks(shipped, service, complaint)
            found = filter(None, (looks.before(name) for name in card_names(shipped, service)))
            assert not any(check.lasting or check.sense == "remember" for check, _ in found)


def test_what_the_complaint_says_anyway_is_no_look(shipped):
    """An engine that shakes at idle starts, so that it "turns but never starts" is no sign of anything on its paper."""
    looks = Looks(shipped, "intake-cleaning", "rough-idle")
    assert "start" in {needed for check in looks.reported for needed in shipped.checks[check].needs}
    found = filter(None, (looks.before(name) for name in card_names(shipped, "intake-cleaning")))
    assert "start" not in {check.id for check, _ in found}


def test_a_drain_plug_that_is_loose_is_tightened_as_one_that_is_wet(shipped):
    """Common practice, no source: whatever is seen at the plug that is wrong leads to the plug."""
    check, results = Looks(shipped, "oil-service", "oil-leak").before("seal-drain-plug")
    assert set(results) >= {name for name in check.names[1:] if "thread" not in check.results[name].lower()}


@pytest.mark.parametrize("complaint", ["rough-idle", "hard-start"])
def test_a_look_tells_its_causes_from_all_others_by_the_factor_promised(shipped, complaint):
    """By the definition of a likelihood ratio, from the tables: chance with its causes over chance with the rest."""
    looks = Looks(shipped, "intake-cleaning", complaint)
    for name in card_names(shipped, "intake-cleaning"):
        look = looks.before(name)
        if look is None:
            continue
        check, results = look
        for result in results:
            _told_apart(shipped, looks, name, check, result)


def _told_apart(shipped, looks, name, check, result):
    causes, number = looks.network.causes, check.names.index(result)
    removed = shipped.repairs[name].removes
    rest = [k for k, cause in enumerate(causes) if removed.get(cause, 0) < 0.5]
    leak = shipped.leak(check.id)[number]
    shown = [
        shipped.chances(causes[k], check.id)[number] if check.id in shipped.causes[causes[k]].shows else leak
        for k in rest
    ]
    others = sum(looks.usual[k] * p for k, p in zip(rest, shown, strict=True)) / sum(looks.usual[k] for k in rest)
    best = max(shipped.chances(c, check.id)[number] for c in removed if check.id in shipped.causes[c].shows)
    assert best >= TELLING * others - 1e-9


def test_runs_of_numbers_are_written_short(small):
    needed = {f"R{i}": ("hot-lamp",) for i in (1, 2, 3, 5, 7, 8)} | {"R9": ()}
    (hazard,) = hazards_of(small, needed)
    assert hazard.before == "For R1 to R3, R5, R7, R8"
