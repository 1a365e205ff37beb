"""Knowledge that all tests share: the shipped files, and the smallest that loads."""

import pytest

from comeback.kb import load_knowledge
from support.places import SMALL


@pytest.fixture(scope="session")
def knowledge():
    return load_knowledge()


@pytest.fixture(scope="session")
def small():
    """The smallest knowledge: one service, one complaint, two causes, four checks."""
    return load_knowledge(SMALL)
