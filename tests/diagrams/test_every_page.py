"""Every page of shipped charts, measured as drawn: type, boxes, words, crossings, overlaps, direction, contrast, paths.

A few charts each time; with COMEBACK_EVERY_CHART=1 those of all complaints for both readers, two complaints
of every other service, and some of each paper. The limits are the project's own, after what printed
procedures ask for: 10 pt type, at most 18 boxes, 25 words, an answer within 8 mm of where its line starts.
"""

import os
import re
from dataclasses import replace
from functools import lru_cache
from html import unescape
from itertools import combinations, pairwise

import pytest

from comeback.diagrams.cards.card_pages import CardPage
from comeback.diagrams.chart import make_chart
from comeback.diagrams.drawing import program
from comeback.diagrams.drawing.svg import on_paper, smallest_type
from comeback.diagrams.fitting import PAGES, fitted_graph
from comeback.diagrams.flow.cutting import BOXES
from comeback.diagrams.paper.captions import WORDS
from comeback.diagrams.paper.lettering import in_signs
from comeback.diagrams.paper.measure import PAPERS, TYPE, WALL, WALL_PAPERS
from comeback.engine.charts.decision_graph import DANGER, OFF, Growth, Limits, TryInOrder, is_end_of_paper, start
from comeback.engine.charts.looks import Looks
from comeback.engine.walk.steps import DangerScreen
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience, EngineOff

pytestmark = pytest.mark.dot
PAPER = {
    **PAPERS,
    "worksheet": replace(PAPERS["a4"], worksheet=True),
    "wall": WALL_PAPERS["a4"],
    "tabloid": WALL_PAPERS["letter"],
}
FEW = [
    "intake-cleaning high-idle bay letter",
    "plugs-coils radio-code bay worksheet",
    "fuel fuel-drip bay wall",
    "intake-cleaning hunting-idle phone letter",
]
MORE = ["rough-idle bay wall", "stalls phone tabloid", "high-idle bay worksheet", "pump-clicks-off phone a4"]


def every():
    """All complaints of one service for both readers, two of each other service, and some on other papers."""
    knowledge = load_knowledge()
    for service in knowledge.services:
        fitting = [c.id for c in knowledge.complaints.values() if not c.services or service in c.services]
        chosen = fitting if service == "intake-cleaning" else [fitting[3], fitting[-1]]
        papers = ("letter", "a4") if service == "oil-service" else ("letter",)
        yield from (f"{service} {c} {who} {paper}" for c in chosen for who in ("bay", "phone") for paper in papers)
    yield from (f"intake-cleaning {name}" for name in MORE)


NAMES = list(every()) if os.environ.get("COMEBACK_EVERY_CHART") else FEW
NEAR = 8 * 72 / 25.4  # points
draw = lru_cache(64)(program.draw)  # several tests look at the same page
BLACK = 21.0  # contrast of black on white, WCAG 2.2


@pytest.fixture(scope="module", params=NAMES)
def printed(request, shipped):
    """A graph, its chart, and each of its pages with what was drawn."""
    service, complaint, who, paper = request.param.split()
    growth = Growth(start(shipped, service, complaint, Audience(who)), Limits())
    graph = fitted_graph(growth, PAPER[paper])
    chart = make_chart(graph, shipped, (), "2026-01-31", PAPER[paper])
    return graph, chart, [(page, chart.dot(page)) for page in chart.sheets]


def test_it_has_few_pages_and_few_boxes_on_each(printed):
    _, chart, _ = printed
    assert len(chart.sheets) <= PAGES
    assert all(page.boxes <= BOXES for page in chart.pages)


def test_no_box_has_many_words(printed):
    _, chart, _ = printed
    for page in chart.pages:
        for row in page.rows:
            ends = [way.ending for way in (*row.sides, row.down) if way and way.ending]
            assert all(caption.words <= WORDS for caption in (row.caption, *ends))


def test_type_on_paper_is_as_large_as_promised(printed):
    _, chart, pages = printed
    promised = TYPE * (WALL if chart.paper.scale > 1 else 1)
    for page, text in pages:
        drawing = draw(text, "svg").decode()
        assert smallest_type(on_paper(drawing, chart.paper, "t", "d")) >= promised - 0.005, f"page {page.number}"


def test_all_is_black_on_white_or_light_grey(printed):
    """So nothing hangs on colour, and contrast is the same on a grey printer."""
    for page, text in printed[2]:
        drawing = draw(text, "svg").decode()
        fills = set(re.findall(r'<text[^>]* fill="([^"]+)"', drawing))
        assert fills <= {"black"}, f"page {page.number}"
        areas = set(re.findall(r'<(?:polygon|path|ellipse)[^>]*fill="([^"]+)"', drawing))
        assert all(contrast(fill) >= 4.5 for fill in areas - {"none", "transparent", "black"}), f"page {page.number}"


def test_nothing_overlaps_crosses_or_runs_upward(printed, plain):
    for page, text in printed[2]:
        if isinstance(page, CardPage):
            continue
        boxes, edges = plain(text)
        for one, other in combinations(sorted(boxes), 2):
            assert not overlap(boxes[one], boxes[other]), f"page {page.number}: {one}, {other}"
        segments = [(tail, head, *ends) for tail, head, points in edges for ends in pairwise(points)]
        for tail, head, start_, end in segments:
            assert end[1] <= start_[1] + 0.03, f"page {page.number}: {tail} -> {head} runs upward"
            area = (min(start_[0], end[0]), min(start_[1], end[1]), max(start_[0], end[0]), max(start_[1], end[1]))
            foreign = [n for n in boxes if n not in (tail, head) and not n.startswith("line")]
            assert not any(overlap(area, boxes[n]) for n in foreign), f"page {page.number}: {tail} -> {head}"
        for one, other in combinations(segments, 2):
            if not {one[0], one[1]} & {other[0], other[1]}:
                assert not cross(one[2:], other[2:]), f"page {page.number}: {one[:2]} crosses {other[:2]}"


def test_text_twin_has_every_step_and_card(printed):
    graph, chart, _ = printed
    assert [int(n) for n in re.findall(r"^Step (\d+)\.", chart.text, re.M)] == [box.number for box in graph.boxes]
    cards = [card.name for page in chart.cards for card in page.cards]
    assert re.findall(r"^Card (R\d+)\.", chart.text, re.M) == cards


def test_text_twin_has_the_same_exits_as_the_graph(printed):
    graph, chart, _ = printed
    parts = re.split(r"^Step (?=\d)", re.sub(r"^(REPAIR CARDS)$", "Step 0.", chart.text, flags=re.M), flags=re.M)[1:]
    told = {int(re.match(r"\d+", part)[0]): [int(n) for n in re.findall(r"go\s+to\s+(\d+)\.", part)] for part in parts}
    assert {n: told[n] for n in told if n} == {box.number: [way.target for way in box.exits] for box in graph.boxes}


def test_every_exit_of_the_graph_is_drawn_once(printed):
    graph, chart, _ = printed
    rows = {row.number: row for page in chart.pages for row in page.rows}
    for box in graph.boxes:
        if box.number in rows:
            row = rows[box.number]
            drawn = sorted(way.target for way in (*row.sides, row.down) if way)
            assert drawn == sorted(way.target for way in box.exits), f"step {box.number}"


def test_both_ends_of_a_connector_name_page_and_step(printed):
    _, chart, _ = printed
    outs, ins = set(), set()
    for page in chart.pages:
        for row in page.rows:
            for way in (*row.sides, row.down):
                if way and way.connector:
                    out = way.connector
                    assert not out.page or f"page {out.page}" in out.text
                    assert re.search(rf"\b{way.target}\b", out.text)
                    outs.add((out.letter, page.number, row.number, out.page or page.number, way.target))
            for arrival in row.arrivals:
                assert all(re.search(rf"\b{step}\b", arrival.text) for step in arrival.steps)
                source = arrival.page or page.number
                ins |= {(arrival.letter, source, step, page.number, row.number) for step in arrival.steps}
    assert outs == ins


def test_answers_stand_close_to_their_step(printed, plain):
    for page, text in printed[2]:
        if isinstance(page, CardPage):
            continue
        boxes, _ = plain(text)
        assert {f"table{row.number}" for row in page.rows if row.sides} == {n for n in boxes if n.startswith("table")}
        for name in boxes:
            if name.startswith("table"):
                step = boxes[name.replace("table", "step")]
                assert 0 < (boxes[name][0] - step[2]) * 72 <= NEAR, f"page {page.number}: {name}"


def test_every_answer_stands_in_words_in_its_table(printed):
    _, chart, pages = printed
    for page, text in pages:
        for row in page.rows if page in chart.pages else ():
            label = re.search(rf"^\ttable{row.number} \[label=<(.*)> group=", text, re.M)
            told = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", label[1]))) if label else ""
            for way in row.sides:
                parts = [" ".join(in_signs(part).split()) for part in way.answer.splitlines()]
                assert all(part in told for part in parts), f"step {row.number}"


def test_cards_warn_before_the_repair_in_full_or_by_letters_of_what_was_told_in_full(printed, shipped):
    _, chart, _ = printed
    told = {hazard.caution for page in chart.sheets for hazard in page.hazards}
    for page in chart.cards:
        for card in page.cards:
            assert set(card.cautions) <= told
            if page.letters:
                short = " ".join(line for reminder in page.reminders for line in reminder.lines)
                assert sorted("".join(card.marks)) == sorted(page.letters[name] for name in card.cautions)
                for name in card.cautions:
                    entry = shipped.cautions[name]
                    assert f"{page.letters[name]}: {entry.reminder.replace('degC', '°C')}." in short
            else:
                assert set(card.cautions) <= {hazard.caution for hazard in page.hazards}


def test_cards_warn_gravest_first_and_no_two_cautions_have_one_letter(printed):
    _, chart, _ = printed
    order = ["DANGER", "WARNING", "CAUTION", "NOTICE"]
    for page in chart.cards:
        ranks = [order.index(reminder.word.value) for reminder in page.reminders]
        assert ranks == sorted(set(ranks))
        assert len(set(page.letters.values())) == len(page.letters)


def test_every_path_replays_in_the_walk(printed, shipped, replayed):
    graph, _, _ = printed
    walk = start(shipped, graph.service, graph.complaint, graph.audience)
    assert replayed(graph, walk, paths=False) >= 1 or not graph.boxes[0].exits  # a danger that is told at once


def test_every_card_named_stands_on_a_page(printed):
    graph, chart, _ = printed
    cards = {card.name for page in chart.cards for card in page.cards}
    assert len(cards) == len(graph.cards)
    ends = [
        way.ending for page in chart.pages for row in page.rows for way in (*row.sides, row.down) if way and way.ending
    ]
    ends += [row.caption for page in chart.pages for row in page.rows]
    assert {name for end in ends for name in re.findall(r"\bR\d+\b", " ".join((end.title, *end.details)))} <= cards


def test_a_danger_sign_stops_before_it_names_few_repairs_of_its_own(printed, shipped):
    graph, _, _ = printed
    boxes = {box.number: box for box in graph.boxes}
    if graph.audience is Audience.PHONE:
        return
    for screen in (box for box in graph.boxes if isinstance(box.step, DangerScreen)):
        signs = [f"{check}:{result}" for check in screen.step.checks for result in shipped.checks[check].red_flag]
        ends = [boxes[way.target].step for way in screen.exits if not set(signs).isdisjoint(way.answers)]
        listed = [step for step in ends if isinstance(step, TryInOrder)]
        assert all(step.danger and 1 <= len(step.every) <= 4 for step in listed)
        assert len({step.every for step in listed}) == len(listed)


def test_what_runs_the_engine_is_never_first_where_it_stays_off(printed, shipped):
    graph, _, _ = printed
    looks = Looks(shipped, graph.service, graph.complaint)
    for box in graph.boxes:
        if not isinstance(box.step, TryInOrder) or not box.step.engine_off:
            continue
        assert not any(shipped.repairs[name].runs_engine for name in box.step.repairs)
        entry = shipped.complaints[graph.complaint]
        known = {*entry.reports, *entry.red_flags}  # seen already, or the sign that led here
        if box.step.danger:
            found = (looks.before(name) for name in box.step.repairs)
            assert not any(look and look[0].runs_engine and look[0].id not in known for look in found)
        assert not (box.step.then and box.step.engine_off is EngineOff.REPAIRED)


def test_on_the_phone_a_danger_sign_is_advised_on(printed):
    """Paper that says "go on with the program" leaves a caller beside gasoline without a word."""
    graph, _, _ = printed
    if graph.audience is Audience.PHONE:
        assert not any(box.step in (DANGER, OFF) for box in graph.boxes)


def test_danger_signs_stand_in_words_on_page_1(printed, shipped):
    graph, _, pages = printed
    told = re.sub(r"\s+", " ", re.sub(r"</?(?:TABLE|TR|TD|FONT|BR|B)\b[^>]*>", " ", pages[0][1]))
    for check in getattr(graph.boxes[0].step, "checks", ()):
        entry = shipped.checks[check]
        wanted = entry.say if graph.audience is Audience.PHONE else entry.name
        assert wanted.split()[-1].strip("?.") in told


def test_shares_are_shares_and_the_chart_ends(printed):
    graph, _, _ = printed
    assert 0 <= graph.repaired <= graph.carried <= 1
    assert any(is_end_of_paper(box.step) or not box.exits for box in graph.boxes)


def overlap(one, other, slack=0.02):
    apart = one[2] - slack <= other[0] or other[2] - slack <= one[0]
    return not (apart or one[3] - slack <= other[1] or other[3] - slack <= one[1])


def cross(one, other):
    """True if two segments cross in their inside."""

    def side(a, b, c):
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    (a, b), (c, d) = one, other
    return side(a, b, c) * side(a, b, d) < -1e-9 and side(c, d, a) * side(c, d, b) < -1e-9


def contrast(fill):
    """Contrast of black type on a fill, by the formula of WCAG 2.2 (relative luminance)."""
    if fill == "white":
        return BLACK
    parts = [int(fill[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return (0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] + 0.05) / 0.05
