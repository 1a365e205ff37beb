"""The cache is quicker and never different, and one that is broken or not ours alone is as good as none."""

import hashlib
import os

import pytest

from comeback.kb import KnowledgeError, cache, load_knowledge, loader
from comeback.kb.problems import Problem
from support.places import SMALL


def entry(folder):
    """The one file that is kept."""
    (file,) = folder.iterdir()
    return file


def count_parsed(monkeypatch):
    """A list that grows by each file that is parsed."""
    parsed, real = [], loader.read_yaml
    monkeypatch.setattr(loader, "read_yaml", lambda text, name: parsed.append(name) or real(text, name))
    return parsed


def test_second_reading_is_the_same_knowledge_and_parses_nothing(tmp_path, monkeypatch):
    parsed = count_parsed(monkeypatch)
    first = load_knowledge(SMALL, cache=tmp_path)
    files = len(parsed)
    second = load_knowledge(SMALL, cache=tmp_path)
    assert len(parsed) == files > 0
    assert first == second == load_knowledge(SMALL)
    assert entry(tmp_path).name == f"knowledge-{first.version}-{cache.reading_code()}.json"


DEEP = b"[" * 100_000


@pytest.mark.parametrize("content", [b"", b"{", b"[1, 2]", b'[{"causes": {"x": {}}}]', b"[]", DEEP])
@pytest.mark.parametrize("hashed", [False, True])
def test_a_broken_cache_is_as_good_as_none_and_is_made_again(tmp_path, content, hashed):
    load_knowledge(SMALL, cache=tmp_path)
    file = entry(tmp_path)
    good = file.read_bytes()
    digest = hashlib.sha256(file.name.encode() + b"\n" + content).hexdigest().encode() + b"\n" if hashed else b""
    file.write_bytes(digest + content)
    assert load_knowledge(SMALL, cache=tmp_path) == load_knowledge(SMALL)
    assert file.read_bytes() == good


def test_words_changed_in_the_cache_are_not_believed(tmp_path):
    shipped = load_knowledge(cache=tmp_path)
    words = shipped.dispositions[max(shipped.dispositions)].say[0]
    file = entry(tmp_path)
    kept = file.read_text(encoding="utf-8")
    assert words in kept
    file.write_text(kept.replace(words, "You may drive now."), encoding="utf-8")
    assert load_knowledge(cache=tmp_path) == shipped


def test_another_version_of_the_program_reads_the_files_itself(tmp_path, monkeypatch):
    load_knowledge(SMALL, cache=tmp_path)
    parsed = count_parsed(monkeypatch)
    monkeypatch.setattr(cache, "reading_code", lambda: "0123456789ab")
    load_knowledge(SMALL, cache=tmp_path)
    assert parsed


def test_the_name_of_an_entry_changes_with_any_byte_of_the_reading_code(tmp_path):
    (tmp_path / "rules").mkdir()
    (tmp_path / "schema.py").write_text("a = 1\n")
    (tmp_path / "rules" / "reach.py").write_text("b = 1\n")
    before = cache.reading_code.__wrapped__(tmp_path)
    (tmp_path / "rules" / "reach.py").write_text("b = 2\n")
    assert cache.reading_code.__wrapped__(tmp_path) != before


def test_cached_files_must_pass_the_same_reference_rules(tmp_path, monkeypatch):
    load_knowledge(SMALL, cache=tmp_path)
    problem = Problem("lamp.yaml", 1, 1, "reference", "There is no such thing.")
    monkeypatch.setattr(loader, "broken_references", lambda *_: [problem])
    with pytest.raises(KnowledgeError):
        load_knowledge(SMALL, cache=tmp_path)


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="Windows keeps a user's folders apart by itself")
@pytest.mark.parametrize("mode", [0o777, 0o770, 0o755])
def test_a_folder_that_others_reach_is_not_used(tmp_path, monkeypatch, mode):
    load_knowledge(SMALL, cache=tmp_path)
    tmp_path.chmod(mode)
    parsed = count_parsed(monkeypatch)
    load_knowledge(SMALL, cache=tmp_path)
    assert parsed
    entry(tmp_path).unlink()
    load_knowledge(SMALL, cache=tmp_path)
    assert not list(tmp_path.iterdir())


@pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() != 0, reason="only root can give a folder away")
def test_a_folder_of_somebody_else_is_not_used(tmp_path, monkeypatch):
    load_knowledge(SMALL, cache=tmp_path)
    os.chown(tmp_path, 65534, -1)
    parsed = count_parsed(monkeypatch)
    load_knowledge(SMALL, cache=tmp_path)
    assert parsed


def test_a_cache_that_cannot_be_written_is_no_problem(tmp_path):
    (tmp_path / "file").write_text("")
    assert load_knowledge(SMALL, cache=tmp_path / "file" / "below").version
