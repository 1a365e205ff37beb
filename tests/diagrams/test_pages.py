"""Every page is small enough to read, complete, and names both ends of every jump."""

import pytest

from comeback.diagrams.flow.cutting import BOXES
from comeback.diagrams.flow.pages import row_height
from comeback.diagrams.paper.captions import LINE, WORDS, Captions
from comeback.diagrams.paper.hazards import cautions, hazards_height
from comeback.diagrams.paper.measure import FOOT, HEAD, PAPERS
from comeback.engine.charts.decision_graph import Box
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Audience

NAMES = ["small bay", "small phone", "shipped bay", "shipped phone", "random 0", "random 1", "random 2"]


def captions_of(chart):
    for page in chart.pages:
        for row in page.rows:
            yield row.caption
            yield from (way.ending for way in ways(row) if way.ending)


def ways(row):
    return [*row.sides, *([row.down] if row.down else [])]


@pytest.mark.parametrize("name", NAMES)
def test_pages_hold_all_steps_once_in_order_and_few_enough(charts, name):
    pages = charts[name].pages
    numbers = [row.number for page in pages for row in page.rows]
    assert numbers == sorted(set(numbers))
    assert numbers[0] == 1
    assert [page.number for page in pages] == list(range(1, len(pages) + 1))
    for page in pages:
        assert page.boxes <= BOXES
        height = sum(map(row_height, page.rows)) + hazards_height(page.hazards) + HEAD + FOOT
        assert height <= PAPERS["letter"].usable[1] or len(page.rows) == 1


@pytest.mark.parametrize("name", NAMES)
def test_boxes_are_short(charts, name):
    for caption in captions_of(charts[name]):
        assert caption.words <= WORDS, caption
        assert all(len(line) <= LINE for line in (*caption.title_lines, *caption.detail_lines)), caption


@pytest.mark.parametrize("audience", list(Audience))
def test_every_shipped_entry_fits_a_box(shipped, audience):
    captions = Captions(shipped, audience)
    entries = [steps.MakeCheck(c.id, 1, 1, (), c.set_up) for c in shipped.checks.values() if audience in c.audience]
    if audience is Audience.BAY:
        entries += [steps.DoRepair(repair, 1, 1, 1, ()) for repair in shipped.repairs]
        entries += [steps.HandOver("this repair needs a specialist", repair) for repair in shipped.repairs]
        entries += [steps.ProveRepair(r.id, r.proof.check, r.proof.result) for r in shipped.repairs.values()]
    else:
        entries += [steps.Advise(disposition, disposition, (), {}) for disposition in shipped.dispositions]
    for step in entries:
        caption = captions.of(Box(100, step, 1.0, ()))
        assert caption.words <= WORDS, caption
        assert all(len(line) <= LINE for line in (*caption.title_lines, *caption.detail_lines)), caption


def test_a_phone_question_stands_there_word_for_word(shipped):
    captions = Captions(shipped, Audience.PHONE)
    for check in shipped.checks.values():
        if Audience.PHONE in check.audience:
            caption = captions.of(Box(1, steps.MakeCheck(check.id, 1, 1, ()), 1.0, ()))
            assert f'"{check.say}"' in " ".join((caption.title, *caption.details))


@pytest.mark.parametrize("name", NAMES)
def test_both_ends_of_a_jump_name_each_other(charts, name):
    outs, ins = set(), set()
    for page in charts[name].pages:
        for row in page.rows:
            for way in ways(row):
                if way.connector:
                    out = way.connector
                    assert not out.page or f"page {out.page}" in out.text
                    assert str(way.target) in out.text
                    outs.add((out.letter, page.number, row.number, out.page or page.number, way.target))
            for arrival in row.arrivals:
                source_page = arrival.page or page.number
                assert all(str(step) in arrival.text for step in arrival.steps)
                ins |= {(arrival.letter, source_page, step, page.number, row.number) for step in arrival.steps}
    assert outs == ins
    letters = {(letter, target) for letter, _, _, _, target in outs if letter}
    assert len({letter for letter, _ in letters}) == len(letters)


@pytest.mark.parametrize("seed", range(3))
def test_every_exit_is_drawn_with_its_answer(charts, seed, random_graph):
    graph = random_graph(seed)
    rows = {row.number: row for page in charts[f"random {seed}"].pages for row in page.rows}
    for box in graph.boxes:
        if box.exits:
            drawn = ways(rows[box.number])
            assert sorted(way.target for way in drawn) == sorted(way.target for way in box.exits)
            assert all(way.answer or isinstance(box.step, steps.DoRepair) for way in drawn)
            assert all(way.ending or way.connector or rows[box.number].flows for way in drawn)


def test_the_expected_answer_leads_down(charts):
    for page in charts["random 1"].pages:
        for row in page.rows:
            expected = ("11 to 16 V", "The lamp is tight", "No sparks", "Any")
            assert row.down is None or row.down.answer.startswith(expected)


@pytest.mark.parametrize("name", ["shipped bay", "random 0", "random 2"])
def test_every_page_warns_in_full_of_all_that_its_steps_need_and_marks_them(
    charts, name, small, shipped, shipped_graphs, random_graph
):
    knowledge = shipped if name.startswith("shipped") else small
    graph = shipped_graphs["bay"] if name.startswith("shipped") else random_graph(int(name[-1]))
    boxes = {box.number: box for box in graph.boxes}
    captions = Captions(knowledge, Audience.BAY)
    for page in charts[name].pages:
        needed = {row.number: set(cautions(captions, boxes[row.number].step)) for row in page.rows}
        for name, result in knowledge.complaints[graph.complaint].reports.items():
            if 1 in needed and result in knowledge.checks[name].red_flag:  # the complaint itself is a danger sign
                needed[1] |= set(knowledge.checks[name].cautions)
        assert {hazard.caution for hazard in page.hazards} == {name for names in needed.values() for name in names}
        for hazard in page.hazards:
            told = " ".join(hazard.lines)
            assert knowledge.cautions[hazard.caution].avoid in told
            assert knowledge.cautions[hazard.caution].consequence in told
        for row in page.rows:
            assert ("▲" in row.caption.title) == bool(needed[row.number])


def test_a_warning_says_which_steps_it_stands_before(charts):
    page = next(page for page in charts["shipped bay"].pages if len(page.hazards) > 1)
    numbers = [row.number for row in page.rows]
    for hazard in page.hazards:
        assert hazard.before == "For all here" or any(str(number) in hazard.before for number in numbers)


def test_signal_words_come_gravest_first(charts):
    order = ["DANGER", "WARNING", "CAUTION", "NOTICE"]
    for page in charts["shipped bay"].sheets:
        ranks = [order.index(hazard.word.value) for hazard in page.hazards]
        assert ranks == sorted(ranks)
