"""Knowledge shared by the engine's tests: the shipped files, and the smallest that loads."""

from pathlib import Path

import pytest

from comeback.kb import load_knowledge


@pytest.fixture(scope="session")
def knowledge():
    return load_knowledge()


@pytest.fixture(scope="session")
def small():
    return load_knowledge(Path(__file__).parent.parent / "kb" / "small")
