"""Where the layout program of the flowchart is looked for, and what is said if it is missing or fails."""

import os
import sys

import pytest

from comeback.diagrams.drawing import DrawingError, draw


def script(folder, body):
    folder.mkdir(exist_ok=True)
    place = folder / "graphviz-pure"
    place.write_text(f"#!/bin/sh\n{body}\n")
    place.chmod(0o755)


@pytest.fixture
def bare(tmp_path, monkeypatch):
    """A machine without the layout program; `bin` is on the path, `python` holds the interpreter."""
    monkeypatch.setenv("PATH", f"{tmp_path / 'bin'}{os.pathsep}/bin{os.pathsep}/usr/bin")
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python" / "python"))
    return tmp_path


@pytest.mark.skipif(os.name == "nt", reason="needs a shell script")
def test_the_program_beside_the_interpreter_comes_before_one_on_the_path(bare):
    script(bare / "bin", "cat >/dev/null; echo on the path")
    assert draw("digraph {}") == "on the path\n"
    script(bare / "python", "cat >/dev/null; echo beside python")
    assert draw("digraph {}") == "beside python\n"


def test_a_missing_program_is_explained(bare):
    with pytest.raises(DrawingError, match=r"is missing.*pip install graphviz-pure"):
        draw("digraph {}")


@pytest.mark.skipif(os.name == "nt", reason="needs a shell script")
@pytest.mark.parametrize(
    ("body", "message"),
    [("echo broken page >&2; exit 3", "failed: broken page"), ("while :; do :; done", "did not finish")],
)
def test_a_failing_or_hanging_program_is_explained(bare, body, message):
    script(bare / "bin", body)
    with pytest.raises(DrawingError, match=message):
        draw("digraph {}", seconds=0.3)
