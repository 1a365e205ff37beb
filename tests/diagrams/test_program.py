"""Which layout program is taken, and what happens without one: the text twin is written all the same."""

import os
import sys

import pytest

from comeback.diagrams.chart import write_chart
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


def test_without_a_program_the_text_twin_is_written(bare, charts, tmp_path):
    written = []
    with pytest.raises(DrawingError, match="no program to draw"):
        written.extend(write_chart(charts["small bay"], tmp_path / "out", ["text", "svg"]))
    assert (tmp_path / "out" / "dark-bay.txt").read_text() == charts["small bay"].text


def test_dot_text_needs_no_program(bare, charts, tmp_path):
    places = list(write_chart(charts["small bay"], tmp_path / "out", ["dot", "text"]))
    assert {place.suffix for place in places} == {".dot", ".txt"}


@pytest.mark.skipif(os.name == "nt", reason="needs a shell script")
@pytest.mark.parametrize(
    ("body", "message"),
    [("echo broken page >&2; exit 3", "failed: broken page"), ("while :; do :; done", "did not finish")],
)
def test_a_failing_or_hanging_program_is_explained(bare, body, message):
    script(bare / "bin", "dot", body)
    with pytest.raises(DrawingError, match=message):
        draw("digraph {}", "svg", seconds=0.3)
