"""The page as text: the same steps as the sheet, nothing from elsewhere, and no text that breaks out of its data."""

import base64
import hashlib
import json
import re
from html.parser import HTMLParser

import pytest

from comeback.diagrams.page.data import page_data
from comeback.diagrams.page.html import page_of, policy
from comeback.diagrams.words import sheet_of
from comeback.engine.charts.planner import ladder_of
from comeback.kb.vocabulary import Audience

HOSTILE = "</script><script>hacked = 1</script><!-- @@DATA@@ \u2028 & 'x' \"y\" \\"


class Page(HTMLParser):
    """Tags with their attributes in order, and the text of each style and script as HTML reads it."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.inside, self.open = [], [], False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.open = tag in ("style", "script")
        if self.open:
            self.inside.append([tag, dict(attrs), ""])

    def handle_endtag(self, tag):
        self.open = False

    def handle_data(self, data):
        if self.open:
            self.inside[-1][2] += data


def data_of(html):
    return json.loads(Page(html).inside[1][2])


@pytest.fixture(scope="module")
def charts(ladders, sheets):
    return [(ladders[k], sheets[k]) for k in (0, 1, 4)]


@pytest.fixture(scope="module")
def html(charts, shipped):
    return page_of(page_data(charts, shipped, ["no-start-cranks", "no-crank"]))


def test_every_step_and_row_of_the_sheet_is_in_the_data_under_its_number(charts, html):
    for (ladder, sheet), chart in zip(charts, data_of(html)["charts"], strict=True):
        assert [(one["n"], one["title"], one["then"]) for one in chart["steps"]] == [
            (step.number, step.title, step.then) for step in sheet.steps
        ]
        for station, one in zip(ladder.stations, chart["steps"], strict=True):
            rows = [(card["check"], *row.get("results", []), *row.get("repairs", []), row.get("to"))
                    for card in one["cards"] for row in card["rows"]]  # fmt: skip
            assert sorted(map(str, rows)) == sorted(
                str((row.check, *row.results, *row.repairs, row.to)) for row in station.rows
            )
        assert [(sign[0], *sign[1]) for sign in chart["signs"]] == [(s.check, *s.results) for s in ladder.dangers]


def test_every_repair_comes_with_its_cautions_and_its_proof(html, shipped):
    data = data_of(html)
    assert data["repairs"]
    for name, told in data["repairs"].items():
        repair = shipped.repairs[name]
        assert set(repair.cautions) <= set(told["cautions"])
        assert told["proof"][:2] == [repair.proof.check, repair.proof.result]
        assert repair.proof.check in data["checks"]
        words = [data["cautions"][one][0] for one in told["cautions"]]
        assert words == sorted(words, key=["DANGER", "WARNING", "CAUTION", "NOTICE"].index)


def test_complaints_that_are_not_on_the_page_are_not_offered(html):
    assert data_of(html)["likely"] == ["no-start-cranks"]


def test_the_same_charts_give_the_same_bytes(charts, html, shipped):
    assert page_of(page_data(charts, shipped, ["no-start-cranks", "no-crank"])) == html


def test_the_policy_allows_this_style_and_this_script_and_nothing_else(html):
    """Hashes as W3C, Content Security Policy Level 3, 2.3.1: base64 of SHA-256 of the element's text."""
    page = Page(html)
    allowed = next(attrs["content"] for tag, attrs in page.tags if attrs.get("http-equiv"))
    style, data, script = page.inside
    pinned = [
        "sha256-" + base64.b64encode(hashlib.sha256(one[2].encode()).digest()).decode() for one in (style, script)
    ]
    assert allowed == (
        f"default-src 'none'; style-src '{pinned[0]}'; script-src '{pinned[1]}'; base-uri 'none'; form-action 'none'"
    )
    assert data[1] == {"type": "application/json", "id": "data"}


def test_a_known_hash():
    """SHA-256 of "abc": NIST, FIPS 180-2, appendix B.1, in base64."""
    assert "script-src 'sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0='" in policy("", "abc")


def test_nothing_is_fetched_and_nothing_is_handled_inline(html):
    page = Page(html)
    for tag, attrs in page.tags:
        assert tag not in ("link", "img", "iframe", "base", "a")
        assert not [name for name in attrs if name.startswith("on") or name in ("src", "href", "style", "action")]
    style, _, script = (one[2] for one in page.inside)
    assert not re.search(r"url\(|@import|https?:", style + script)
    assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\b|fetch\(", script)


def test_no_text_of_the_knowledge_can_break_out_of_the_data(small):
    complaints = {"dark": small.complaints["dark"].model_copy(update={"name": HOSTILE})}
    service = small.services["lamp-change"].model_copy(update={"name": HOSTILE, "plain": HOSTILE})
    known = small.model_copy(update={"complaints": complaints, "services": {"lamp-change": service}})
    ladder = ladder_of(known, "lamp-change", "dark", Audience.BAY)
    html = page_of(page_data([(ladder, sheet_of(ladder, known))], known, []))
    page = Page(html)
    assert [tag for tag, _ in page.tags].count("script") == 2
    assert data_of(html)["charts"][0]["title"] == HOSTILE
    assert "hacked = 1" not in page.inside[2][2]
    assert not re.search("[<>&\u2028\u2029]", page.inside[1][2])
