"""Which layout program draws the flowchart, and what is told without one."""

import os
import sys

import pytest

from comeback.diagrams.drawing.program import DrawingError, draw, find_program


def script(folder, name, body="exit 0"):
    folder.mkdir(exist_ok=True)
    place = folder / name
    place.write_text(f"#!/bin/sh\n{body}\n")
    place.chmod(0o755)
    return place


@pytest.fixture
def bare(tmp_path, monkeypatch):
    """A machine without any layout program; `bin` is on the path, `python` holds the interpreter."""
    monkeypatch.delenv("COMEBACK_DOT", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python" / "python"))
    (tmp_path / "bin").mkdir()
    return tmp_path


def test_order_of_places(bare, monkeypatch):
    last = script(bare / "bin", "graphviz-pure")
    assert find_program() == last
    beside = script(bare / "python", "graphviz-pure")
    assert find_program() == beside
    dot = script(bare / "bin", "dot")
    assert find_program() == dot
    named = script(bare / "own", "mine")
    monkeypatch.setenv("COMEBACK_DOT", str(named))
    assert find_program() == named


def test_a_named_program_must_be_there(bare, monkeypatch):
    script(bare / "bin", "dot")
    monkeypatch.setenv("COMEBACK_DOT", "no-such-program")
    with pytest.raises(DrawingError, match=r"COMEBACK_DOT names 'no-such-program'.*pip install graphviz-pure"):
        find_program()


@pytest.mark.skipif(os.name == "nt", reason="needs a shell script")
@pytest.mark.parametrize(
    ("body", "message"),
    [("echo broken page >&2; exit 3", "failed: broken page"), ("while :; do :; done", "did not finish")],
)
def test_a_failing_or_hanging_program_is_explained(bare, body, message):
    script(bare / "bin", "dot", body)
    with pytest.raises(DrawingError, match=message):
        draw("digraph {}", "svg", seconds=0.3)
