"""`comeback cases` looks after the log: verify, note, export, import, delete, backup; each mistake is one line.

All cases are invented.
"""

import json
import re
import sqlite3
import stat
from pathlib import Path

import pytest

from comeback.cli import exit_codes
from comeback.engine.case.events import Draft
from comeback.engine.case_log.store import open_log
from support import case_logs
from support.places import SMALL_FOLDER as SMALL

AT = "2026-03-02T08:15:00+01:00"
fresh_postgres = case_logs.fresh_postgres


@pytest.fixture
def case(tmp_path, comeback):
    return new_case(tmp_path / "cases.db", "AAAA", AT)


def new_case(place, name, at):
    log = open_log(place)
    signs = iter(name)
    first = log.open_case(Draft("opened", at, "Ida", {"car": "green hatchback"}), "k1", lambda _: next(signs))
    log.close()
    return first.case


def test_untouched_log_is_as_it_was_written(comeback, case):
    code, out, _ = comeback("cases", "verify")
    assert code == exit_codes.DONE
    assert "1 case, 1 event: as they were written." in out


def test_changed_log_is_found_out_with_an_exit_code(comeback, case, tmp_path):
    connection = sqlite3.connect(tmp_path / "cases.db")
    connection.execute('UPDATE event SET payload = \'{"car": "red"}\'')
    connection.commit()
    connection.close()
    code, out, _ = comeback("cases", "verify")
    assert code == exit_codes.FILES
    assert "case AAAA: event 1 was changed" in out
    assert "NOT as they were written" in out


def test_damaged_case_is_named_and_hides_no_other(comeback, case, tmp_path):
    new_case(tmp_path / "cases.db", "CCCC", AT)
    connection = sqlite3.connect(tmp_path / "cases.db")
    connection.execute("UPDATE event SET payload = '{\"car\": 1}' WHERE case_id = 'AAAA'")
    connection.commit()
    connection.close()
    code, out, _ = comeback("cases")
    assert code == exit_codes.DONE
    assert "AAAA" in out
    assert "damaged: cases verify" in out
    assert "green hatchback" in out
    for command in (["show", "AAAA", "--knowledge", SMALL], ["note", "AAAA", "x"]):
        code, _, err = comeback("cases", *command)
        assert code == exit_codes.FILES
        assert "Event 1 is not as it was written. See: comeback cases verify" in err
    assert comeback("triage", "AAAA", "--knowledge", SMALL)[0] == exit_codes.FILES
    assert comeback("cases", "delete", "AAAA", "--reason", "damaged", "--yes")[0] == exit_codes.DONE


def test_head_noted_before_finds_a_log_put_back(comeback, case, tmp_path):
    head = next(part for part in comeback("cases", "verify")[1].split() if part.startswith("1:")).rstrip(".")
    (tmp_path / "cases.db").unlink()
    for rest in tmp_path.glob("cases.db-*"):
        rest.unlink()
    assert comeback("cases", "verify")[0] == exit_codes.DONE
    code, out, _ = comeback("cases", "verify", "--head", head)
    assert code == exit_codes.FILES
    assert "cut off" in out


def test_head_of_the_last_verify_is_looked_for_again(comeback, case, tmp_path):
    comeback("cases", "backup", "old.db")
    new_case(tmp_path / "cases.db", "CCCC", AT)
    assert comeback("cases", "verify")[0] == exit_codes.DONE
    assert stat.S_IMODE((tmp_path / "data" / "comeback" / "heads.json").stat().st_mode) == 0o600
    assert comeback("cases", "verify", "--log", "old.db")[0] == exit_codes.DONE  # elsewhere: another log
    for rest in tmp_path.glob("cases.db*"):
        rest.unlink()
    (tmp_path / "old.db").rename(tmp_path / "cases.db")
    code, out, _ = comeback("cases", "verify")
    assert code == exit_codes.FILES
    assert "was seen here at the last verify" in out
    assert comeback("cases", "verify", "--restored")[0] == exit_codes.DONE
    assert comeback("cases", "verify")[0] == exit_codes.DONE


@pytest.mark.parametrize("content", ["", "[", "[1]", '{"a": 1}', "[" * 9999])
def test_damaged_memory_of_heads_does_no_harm(comeback, case, tmp_path, content):
    (tmp_path / "data" / "comeback").mkdir(parents=True)
    (tmp_path / "data" / "comeback" / "heads.json").write_text(content)
    assert comeback("cases", "verify")[0] == exit_codes.DONE


def test_a_head_that_cannot_be_kept_is_not_said_to_be_kept(comeback, case, tmp_path):
    (tmp_path / "data" / "comeback" / "heads.json" / "in-the-way").mkdir(parents=True)
    code, out, _ = comeback("cases", "verify")
    assert code == exit_codes.DONE
    assert "checked here next time" not in out
    assert " could not be saved: write it down. Next time: comeback cases verify --head 1:" in out
    assert [path.name for path in (tmp_path / "data" / "comeback").iterdir()] == ["heads.json"]


@pytest.mark.parametrize("where", [["help", "limits"], ["cases", "--help"]])
def test_it_is_said_who_can_rewrite_history(comeback, where):
    out = " ".join(comeback(*where)[1].split())
    assert "heads.json can rewrite" in out
    assert "on paper" in out


def test_recount_says_how_many_cases_were_counted(comeback, case):
    assert comeback("cases", "recount")[:2] == (exit_codes.DONE, "Recounted for learning: 0 closed cases.\n")


def test_note_is_added(comeback, case):
    code, out, _ = comeback("cases", "note", "aaaa", "customer", "called,  all is well")
    assert (code, out) == (exit_codes.DONE, "Noted as event 2 of case AAAA.\n")
    shown = json.loads(comeback("cases", "show", "AAAA", "--json", "--knowledge", SMALL)[1])
    assert [note["text"] for note in shown["notes"]] == ["customer called, all is well"]


def test_export_is_private_and_comes_in_once(comeback, case, tmp_path):
    assert comeback("cases", "export", "out.jsonl", "--shop", "mill")[0] == exit_codes.DONE
    assert stat.S_IMODE((tmp_path / "out.jsonl").stat().st_mode) == 0o600
    code, _, err = comeback("cases", "export", "out.jsonl")
    assert (code, "already exists" in err) == (exit_codes.FILES, True)
    for counts, signed in (("1 new, 0 grown, 0 already known", True), ("0 new, 0 grown, 1 already known", False)):
        code, out, _ = comeback("cases", "import", "out.jsonl", "--log", "other.db")
        assert code == exit_codes.DONE
        assert counts in out
        assert ("not who wrote it" in out) is signed
    assert "mill" in comeback("cases", "export", "-", "--log", "other.db")[1]


def test_export_of_an_unknown_case_leaves_no_file(comeback, case, tmp_path):
    code, _, err = comeback("cases", "export", "out.jsonl", "ZZZZ")
    assert code == exit_codes.FILES
    assert "There is no case 'ZZZZ'" in err
    assert not (tmp_path / "out.jsonl").exists()


def test_refused_case_is_named_with_its_line(comeback, case, tmp_path):
    comeback("cases", "export", "out.jsonl")
    text = (tmp_path / "out.jsonl").read_text().replace("green", "red")
    (tmp_path / "bad.jsonl").write_text(text)
    code, out, err = comeback("cases", "import", "bad.jsonl", "--log", "other.db")
    assert code == exit_codes.FILES
    assert "bad.jsonl:2: case AAAA: event 1 was changed" in err
    assert "0 new" in out


def test_delete_asks_for_yes_and_a_reason(comeback, case):
    assert comeback("cases", "delete", "AAAA")[0] == exit_codes.USAGE
    code, out, _ = comeback("cases", "delete", "AAAA", "--reason", "customer asked")
    assert code == exit_codes.DONE
    assert "Nothing was deleted" in out
    assert "AAAA" in comeback("cases")[1]
    code, out, _ = comeback("cases", "delete", "AAAA", "--reason", "customer asked", "--yes")
    assert "deleted with its 1 event;" in out
    code, _, err = comeback("cases", "show", "AAAA", "--knowledge", SMALL)
    assert code == exit_codes.FILES
    assert "customer asked" in err
    assert "1 deleted: as they were written" in comeback("cases", "verify")[1]


def test_retention_deletes_what_nobody_touched(comeback, case, tmp_path):
    new_case(tmp_path / "cases.db", "CCCC", "2019-01-01T10:00:00+01:00")
    code, out, _ = comeback("cases", "delete", "--older-than", "2000", "--yes")
    assert code == exit_codes.DONE
    assert "Case CCCC deleted" in out
    assert "AAAA" in comeback("cases")[1]


def test_backup_can_be_used_as_a_log(comeback, case, tmp_path):
    assert comeback("cases", "backup", "copy.db")[0] == exit_codes.DONE
    assert "AAAA" in comeback("cases", "--log", "copy.db")[1]
    code, _, err = comeback("cases", "backup", "copy.db")
    assert (code, "already exists" in err) == (exit_codes.FILES, True)


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["note"], exit_codes.USAGE, "Which case"),
        (["note", "AAAA", " "], exit_codes.USAGE, "empty"),
        (["note", "ZZZZ", "x"], exit_codes.FILES, "no case 'ZZZZ'"),
        (["verify", "AAAA"], exit_codes.USAGE, "takes no case"),
        (["recount", "AAAA"], exit_codes.USAGE, "takes no case"),
        (["export"], exit_codes.USAGE, "To which file"),
        (["export", "nowhere/x.jsonl"], exit_codes.FILES, "nowhere"),
        (["import"], exit_codes.USAGE, "From which file"),
        (["import", "nowhere.jsonl"], exit_codes.FILES, "nowhere.jsonl"),
        (["import", "cases.db"], exit_codes.FILES, "not a file of cases"),
        (["import", "."], exit_codes.FILES, "irectory"),
        (["delete"], exit_codes.USAGE, "Which cases"),
        (["delete", "ZZZZ", "--reason", "x", "--yes"], exit_codes.FILES, "no case 'ZZZZ'"),
        (["delete", "--older-than", "0", "--yes"], exit_codes.USAGE, "number of days"),
        (["delete", "AAAA", "--older-than", "9"], exit_codes.USAGE, "Which cases"),
        (["backup"], exit_codes.USAGE, "To which file"),
        (["backup", "nowhere/x.db"], exit_codes.FILES, "nowhere"),
        (["frobnicate"], exit_codes.USAGE, "frobnicate"),
    ],
)
def test_bad_use_gets_one_clear_line_and_its_code(comeback, case, arguments, code, words):
    got, out, err = comeback("cases", *arguments)
    assert got == code, (out, err)
    assert words in err


def test_what_the_car_said_is_shown_and_what_is_as_it_should_be_stands_in_one_line(comeback):
    comeback("readout", "P0171", "--service", "intake-cleaning", "--complaint", "rough-idle")
    case = json.loads(comeback("cases", "--json")[1])[0]["case"]
    said = " ".join(comeback("cases", "show", case)[1].split())
    assert "Ida saved from the car: P0171" in said
    assert len(re.findall(r"none in \d+ other families", said)) == 1


def test_a_second_look_is_shown_as_one(comeback, case, tmp_path):
    log = open_log(tmp_path / "cases.db")
    first = {"results": {"lamp-turns": "tight"}, "audience": "bay"}
    second = {"results": {"lamp-turns": "turns"}, "audience": "bay", "again": True}
    log.append("AAAA", 1, [Draft("answered", AT, "Ida", first), Draft("answered", AT, "Ben", second)], "k1")
    log.close()
    said = comeback("cases", "show", "AAAA", "--knowledge", SMALL)[1]
    assert "Ida  Lamp seat: The lamp is tight" in said
    assert "Ben  Lamp seat: second look: The lamp turns" in said


@pytest.fixture
def plates(tmp_path, comeback):
    """Three cases: two of one registration, one typed only once; each with its car."""
    log = open_log(tmp_path / "cases.db")
    for name, car, plate, sure in (
        ("AAAA", "green hatchback", "AB12 CDE", True), ("CCCC", "green hatchback", "ab12cde", True),
        ("DDDD", "red van", "XY 9", False),
    ):  # fmt: skip
        signs = iter(name)
        log.open_case(Draft("opened", AT, "Ida", {"car": car}), "k1", lambda _, signs=signs: next(signs))
        log.append(name, 1, [Draft("registered", AT, "Ida", {"registration": plate, "read_back": sure})], "k1")
    log.close()


def test_a_case_is_found_by_registration_or_car(comeback, plates):
    for words in (["xy9"], ["XY", "9"], ["red", "van"], ["dddd"]):
        code, out, err = comeback("cases", "show", *words, "--knowledge", SMALL)
        assert code == exit_codes.DONE, err
        assert "Case DDDD" in out
        assert "XY 9 (not confirmed: typed once)" in out
    assert "DDDD" in comeback("record", "red van", "--knowledge", SMALL)[1]


@pytest.mark.parametrize("command", [["cases", "show"], ["record"], ["triage"], ["call", "--case"]])
def test_several_cases_of_a_registration_are_listed(comeback, plates, command):
    code, _, err = comeback(*command, "ab 12-cde", "--knowledge", SMALL)
    assert code == exit_codes.USAGE
    assert "2 cases match 'ab 12-cde'" in err
    assert "AAAA" in err
    assert "CCCC" in err


def test_the_list_is_searched_by_any_words(comeback, plates):
    assert "DDDD" not in comeback("cases", "list", "ab12cde", "--knowledge", SMALL)[1]
    out = comeback("cases", "list", "van", "ida", "--knowledge", SMALL)[1]
    assert "DDDD" in out
    assert "AAAA" not in out
    assert "None of 3 cases matches 'zeppelin'" in comeback("cases", "list", "zeppelin", "--knowledge", SMALL)[1]


def test_no_line_of_the_list_is_wider_than_a_terminal(comeback, tmp_path):
    log = open_log(tmp_path / "cases.db")
    log.open_case(Draft("opened", AT, "Ida", {"car": "Mr Oak's very long name for a car " * 4}), "k1", lambda s: s[0])
    log.close()
    out = comeback("cases", "--knowledge", SMALL)[1]
    assert max(map(len, out.splitlines())) < 80
    assert "Mr Oak's very long name for a car Mr Oak" in out


def test_an_import_says_what_grew_and_by_whom_the_file_says(comeback, case, tmp_path):
    comeback("cases", "export", "out.jsonl")
    comeback("cases", "import", "out.jsonl", "--log", "other.db")
    for text, name in (("one", "Mallory"), ("two", "Cem"), ("three", "Cem")):
        comeback("cases", "note", "AAAA", text, "--by", name, "--log", "other.db")
    comeback("cases", "export", "more.jsonl", "--log", "other.db")
    code, out, _ = comeback("cases", "import", "more.jsonl")
    assert code == exit_codes.DONE
    assert "Case AAAA grew by 3 entries; according to the file, by Mallory, Cem." in out
    assert "The hashes show that the file is undamaged, not who wrote it." in out


def test_help_says_what_hashes_and_deleting_do_not_do(comeback):
    said = " ".join(comeback("cases", "import", "--help")[1].split())
    assert "its hashes show that it is undamaged, not who wrote it" in said
    assert "delete does not reach earlier exports and backups" in said
    assert "until its vacuum, and longer in its write-ahead log and replicas" in said


def test_export_without_names_says_so_and_comes_in(comeback, case):
    code, out, _ = comeback("cases", "export", "out.jsonl", "--without-names")
    assert (code, "Names, cars and words are left out" in out) == (exit_codes.DONE, True)
    assert "green" not in Path("out.jsonl").read_text()
    assert "1 new" in comeback("cases", "import", "out.jsonl", "--log", "other.db")[1]
    assert "left out" in comeback("cases", "--log", "other.db", "--knowledge", SMALL)[1]
    assert comeback("record", "AAAA", "--log", "other.db", "--knowledge", SMALL)[0] == exit_codes.DONE


def test_deleting_says_what_it_does_not_reach(comeback, case, tmp_path):
    new_case(tmp_path / "cases.db", "CCCC", AT)
    out = comeback("cases", "delete", "AAAA", "--reason", "asked", "--yes")[1]
    assert out.splitlines()[-1] == "Earlier exports and backups still have it."
    reader = sqlite3.connect(tmp_path / "cases.db")
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM event").fetchone()
    out = comeback("cases", "delete", "CCCC", "--reason", "asked", "--yes")[1]
    assert "Another program is reading the log: the deleted words stay in its file until that one ends." in out
    reader.close()
    assert "green hatchback" not in "".join(p.read_bytes().decode("latin-1") for p in tmp_path.glob("cases.db*"))


def test_deleting_on_postgresql_says_what_the_server_keeps(comeback):
    place = fresh_postgres()
    new_case(place, "AAAA", AT)
    out = comeback("cases", "delete", "AAAA", "--reason", "asked", "--yes", "--log", place)[1]
    assert "until its vacuum, and longer in its write-ahead log, replicas and backups" in out


def test_learn_says_the_same_of_cases_without_names(comeback, tmp_path):
    """Also of those that were closed without a prediction: they are replayed from their answers."""
    log = open_log(tmp_path / "cases.db", "Millrace Garage")
    for seed in range(1, 8):
        name = case_logs.closed_case(log, seed, cause=("lamp-loose", "fuse-out")[seed % 2])
        if seed < 4:
            closed = {"complaint": "dark", "causes": ["lamp-loose"], "repairs": ["screw-in-lamp"], "proven": True}
            log.append(name, 7, [Draft("closed", AT, "Ida", closed)], "k1")
    log.close()
    comeback("cases", "export", "out.jsonl", "--without-names")
    assert "7 new" in comeback("cases", "import", "out.jsonl", "--log", "other.db")[1]
    learn = ("learn", "--knowledge", SMALL)
    ours, theirs = comeback(*learn)[1], comeback(*learn, "--log", "other.db")[1]
    assert "7 causes found in closed and proven cases of 1 shop" in " ".join(ours.split())
    assert theirs == ours
