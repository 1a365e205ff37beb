"""Sheets to look at: of the small invented knowledge, and some that are shipped."""

from pathlib import Path

import pytest

from comeback.diagrams.printing import PAPERS, fitted
from comeback.diagrams.words import sheet_of
from comeback.engine.charts.planner import ladder_of
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

SHOWN = [
    ("intake-cleaning", "rough-idle", Audience.BAY),
    ("intake-cleaning", "no-start-cranks", Audience.BAY),
    ("oil-service", "oil-lamp", Audience.BAY),
    ("battery", "no-crank", Audience.BAY),
    ("intake-cleaning", "rough-idle", Audience.PHONE),
    ("fuel", "hesitation", Audience.PHONE),
]


@pytest.fixture(scope="session")
def small():
    return load_knowledge(Path(__file__).parent.parent / "kb" / "small")


@pytest.fixture(scope="session")
def shipped():
    return load_knowledge()


@pytest.fixture(scope="session")
def ladders(shipped):
    return [ladder_of(shipped, *shown) for shown in SHOWN]


@pytest.fixture(scope="session")
def sheets(shipped, ladders):
    return [fitted(sheet_of(ladder, shipped), PAPERS["letter"])[0] for ladder in ladders]
