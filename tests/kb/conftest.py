"""A shop's own file beside the small knowledge."""

import pytest


@pytest.fixture
def overlay(tmp_path):
    """overlay(text, name) -> the file that holds it."""

    def made(text, name="own.yaml"):
        (tmp_path / name).write_text(text)
        return tmp_path / name

    return made
