"""The cache is quicker and never different, and a broken one is as good as none."""

from pathlib import Path

import pytest

from comeback.kb import load_knowledge

SMALL = Path(__file__).parent / "small"


def test_second_reading_is_the_same_knowledge(tmp_path):
    first = load_knowledge(SMALL, cache=tmp_path)
    second = load_knowledge(SMALL, cache=tmp_path)
    assert first == second == load_knowledge(SMALL)
    assert [path.name for path in tmp_path.iterdir()] == [f"knowledge-1-{first.version}.json"]


@pytest.mark.parametrize("content", ["", "{", "[1, 2]", '[{"causes": {"x": {}}}]', "[]"])
def test_a_broken_cache_is_as_good_as_none(tmp_path, content):
    version = load_knowledge(SMALL, cache=tmp_path).version
    (tmp_path / f"knowledge-1-{version}.json").write_text(content)
    assert load_knowledge(SMALL, cache=tmp_path) == load_knowledge(SMALL)


def test_a_cache_that_cannot_be_written_is_no_problem(tmp_path):
    (tmp_path / "file").write_text("")
    assert load_knowledge(SMALL, cache=tmp_path / "file" / "below").version
