"""Every shipped chart: rules of danger and order from its data, pages as drawn. Minutes, so only on demand.

COMEBACK_EVERY_CHART=1 python -m pytest tests/diagrams/test_every_page.py
"""

import os

import pytest

from comeback.cli.reports.charting import complaints_of
from comeback.diagrams.printing import PAPERS, fitted
from comeback.diagrams.text import text_of
from comeback.diagrams.words import sheet_of
from comeback.engine.charts.planner import ladder_of
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience
from support.ladder_rules import broken

pytestmark = pytest.mark.skipif(
    not os.environ.get("COMEBACK_EVERY_CHART"), reason="minutes; set COMEBACK_EVERY_CHART=1"
)
KNOWLEDGE = load_knowledge()
MOST = {Audience.BAY: 4, Audience.PHONE: 2}


@pytest.mark.parametrize("audience", Audience)
@pytest.mark.parametrize("service", KNOWLEDGE.services)
def test_every_chart_of_a_service(service, audience):
    wrong, shares = {}, []
    for complaint in complaints_of(KNOWLEDGE, service):
        ladder = ladder_of(KNOWLEDGE, service, complaint, audience)
        sheet = sheet_of(ladder, KNOWLEDGE)
        told = broken(KNOWLEDGE, ladder) if audience is Audience.BAY else []
        _, pages = fitted(sheet, PAPERS["letter"])
        if pages > MOST[audience]:
            told.append(f"{pages} pages")
        text = text_of(sheet, "")
        told += [f"step {step.number} not in the text" for step in sheet.steps if f"\n{step.number}. " not in text]
        shares.append(ladder.figures.right)
        if told:
            wrong[complaint] = told
    assert not wrong
    assert sum(shares) / len(shares) >= 0.93
