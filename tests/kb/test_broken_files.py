"""One broken file per mistake: its first line says the place and the words of the message.

The file is read together with `small/`, which has no problem of its own. A new mistake that the
reader or a rule finds comes with its file here.
"""

import re
from pathlib import Path

import pytest

from comeback.kb.examination import RULES, examine

HERE = Path(__file__).parent
FILES = sorted([*(HERE / "broken").glob("*.yaml"), *(HERE / "rules").glob("*.yaml")])


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_mistake_is_named_at_its_place(file):
    expected = re.match(r"# expect (\d+):(\d+) (.*)", file.read_text().splitlines()[0])
    *_, problems = examine(HERE / "small", file)
    lines = [str(problem) for problem in problems if problem.file == str(file)]
    hit = [line for line in lines if line.startswith(f"{file}:{expected[1]}:{expected[2]}: ") and expected[3] in line]
    assert hit, "\n".join(["expected " + expected[0], "found", *lines])


def test_small_has_no_problem_of_its_own():
    knowledge, _, problems = examine(HERE / "small")
    assert [p for p in problems if p.rule != "unused-entry"] == []
    assert len(knowledge.causes) == 2


def test_every_rule_has_its_broken_file():
    assert {rule.__name__ for rule in RULES} == {file.stem for file in (HERE / "rules").glob("*.yaml")}


def test_all_problems_of_all_files_come_at_once(tmp_path):
    for name in ("unknown_section", "missing_field", "bad_chance"):
        (tmp_path / f"{name}.yaml").write_text((HERE / "broken" / f"{name}.yaml").read_text())
    *_, problems = examine(HERE / "small", tmp_path)
    assert {Path(problem.file).stem for problem in problems} == {"unknown_section", "missing_field", "bad_chance"}


@pytest.mark.parametrize(
    "text", ["[" * 100_000, "{a: " * 50_000, "a: \x00", "? [1]\n: 2\n", "a: 1\n" * 900_000, "- a\n- b\n", "7"]
)
def test_hostile_files_are_refused_with_one_line(tmp_path, text):
    (tmp_path / "x.yaml").write_text(text)
    knowledge, _, problems = examine(HERE / "small", tmp_path)
    assert knowledge is None
    assert all(len(str(problem)) < 400 for problem in problems)


def test_bytes_that_are_no_text(tmp_path):
    (tmp_path / "x.yaml").write_bytes(b"\xff\xfe\x00causes:")
    *_, problems = examine(HERE / "small", tmp_path)
    assert "not UTF-8" in str(problems[0])
