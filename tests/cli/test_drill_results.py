"""`comeback drill --results` and `--delete`: a learner over time, a line for each of a class, drills that go."""

from contextlib import closing
from dataclasses import asdict
from datetime import date, timedelta

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.engine.case.events import Draft
from comeback.engine.case_log.drills import add_turn, open_drill
from comeback.engine.case_log.store import open_log
from comeback.engine.drill.score import Score
from support.places import SMALL_FOLDER as SMALL

TODAY = date.today()


GOOD = Score(
    "guided", 1, "lamp-change", "dark", "complaint gone", (), "tow", "tow", True, 3, 2, 0,
    20.0, 15.0, 1, 0, 1,
)  # fmt: skip
MISSED = {"found": False, "ended": "handed over"}


@pytest.fixture
def record(tmp_path, monkeypatch, small):
    """record(by, days ago, **changed): a finished drill in the log."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv("COMEBACK_LOG", raising=False)
    signs = iter(f"{number:04d}" for number in range(1000, 9999))
    (tmp_path / "comeback").mkdir()

    def go(by, ago=0, finished=True, **changed):
        at = f"{TODAY - timedelta(days=ago)}T08:15:00+01:00"
        choose = iter(next(signs))
        with closing(open_log(tmp_path / "comeback" / "cases.db")) as log:
            first = open_drill(log, Draft("opened", at, by, {}), small.version, lambda letters: next(choose))
            if finished:
                add_turn(log, first, Draft("finished", at, by, {**asdict(GOOD), **changed}))

    return go


def shown(capsys, *options):
    assert run(["drill", "--knowledge", SMALL, *options]) == exit_codes.DONE
    out = capsys.readouterr().out
    assert "Start one" in out or max(map(len, out.splitlines())) < 80
    return out


def test_a_learner_sees_the_last_drills_and_the_rule(record, capsys):
    """The rule over the last ten, judged: advice right in 90 %."""
    for ago in range(12, 1, -1):
        record("Ben", ago)
    record("Ben", 1, told="watch")
    record("Ben", 0, told="watch")
    out = shown(capsys, "--results", "--by", "Ben")
    assert "13 drills finished" in out
    assert "8 of 10 90 % NOT MET" in " ".join(out.split())
    assert "30, the program 20 at most 1.5 x met" in " ".join(out.split())
    assert len(out.splitlines()) <= 22


def test_no_check_where_the_program_made_one_is_asked_for_in_words(record, capsys):
    """0 checks are fewer than 1.5 x 1 and still not enough: at least one is asked for, not "at most"."""
    record("Ben", checks=0, program_checks=1)
    out = " ".join(shown(capsys, "--results", "--by", "Ben").split())
    assert "0, the program 1 at least one NOT MET" in out


def test_a_class_is_a_line_for_each_learner(record, capsys):
    for by in ("Ben", "Ida", "Meret"):
        record(by, 2)
    record("Ida", 1, **MISSED)
    record("Ida", 0, finished=False)
    out = shown(capsys, "--results")
    assert "Class: 3 learners, 4 drills" in out
    assert [line.split()[:2] for line in out.splitlines() if line.startswith(("Ben", "Ida", "Meret"))] == [
        ["Ben", "1"], ["Ida", "2"], ["Meret", "1"],
    ]  # fmt: skip
    assert "missed 1: It is dark" in out
    assert "1 drill not finished" in out


def test_a_damaged_result_is_left_out_and_said(record, capsys):
    record("Ben")
    record("Ben", safety=None)
    out = shown(capsys, "--results", "--by", "Ben")
    assert "1 drill finished" in out
    assert "1 result could not be read" in out


def test_where_nothing_was_drilled_one_line_says_how_to_begin(record, capsys):
    assert "Start one: comeback drill" in shown(capsys, "--results")


def test_the_ids_of_a_learner_are_there_for_the_debrief(record, capsys):
    """Ids are drawn in order from 1000; the second was missed, the third a safety miss."""
    record("Ida", 3)
    record("Ida", 2, **MISSED)
    record("Ida", 1, safety=["x"])
    rows = [line.split() for line in shown(capsys, "--results", "--by", "Ida").splitlines()]
    said = {row[2]: " ".join(row[-2:]) for row in rows if len(row) > 5 and row[2] in ("1000", "1001", "1002")}
    assert said == {"1000": "well done", "1001": "not found", "1002": "SAFETY MISS"}


def test_resume_names_the_stopped_drills_of_others(record, capsys):
    """Ids are drawn in order from 1000."""
    record("Maks K", 0, finished=False)
    assert run(["drill", "--knowledge", SMALL, "--resume", "--by", "root"]) == exit_codes.USAGE
    error = capsys.readouterr().err
    assert "1000 (Maks K, " in error
    assert "comeback drill --resume 1000 --by 'Maks K'" in error
    assert error.count("\n") == 1


def deleting(capsys, *options):
    """(exit code, what was printed)."""
    code = run(["drill", "--knowledge", SMALL, "--delete", *options])
    said = capsys.readouterr()
    return code, said.out + said.err


def test_a_drill_is_deleted_by_its_id_once_that_is_confirmed(record, capsys):
    record("Ben")
    record("Ben")
    code, said = deleting(capsys, "1000")
    assert code == exit_codes.DONE
    assert "1000" in said
    assert "Ben" in said
    assert "Nothing was deleted. To do it, add --yes." in said
    assert "2 drills finished" in shown(capsys, "--results", "--by", "Ben")
    assert deleting(capsys, "1000", "--yes")[0] == exit_codes.DONE
    assert "1 drill finished" in shown(capsys, "--results", "--by", "Ben")
    assert deleting(capsys, "1000", "--yes")[0] == exit_codes.FILES


def test_all_drills_of_a_person_are_deleted_and_verify_knows_of_it(record, capsys):
    for name in ("Ben", "Ida", "Ben"):
        record(name)
    record("Ben", finished=False)
    code, said = deleting(capsys, "--of", "Ben", "--yes", "--by", "Ida")
    assert code == exit_codes.DONE
    assert said.count("deleted with its") == 3
    assert "Ben" not in said
    assert "1 drill finished" in shown(capsys, "--results", "--by", "Ida")
    assert run(["cases", "verify"]) == exit_codes.DONE
    assert "1 drill, 3 deleted: as they were written." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ([], "Which drills?"),
        (["1000", "--of", "Ben"], "Which drills?"),
        (["--of", "Bem"], "Did you mean 'Ben'?"),
        (["--of", ""], "There is no drill of ''"),
    ],
)
def test_deleting_without_saying_what_deletes_nothing(record, capsys, options, said):
    record("Ben")
    code, out = deleting(capsys, *options, "--yes")
    assert code == exit_codes.USAGE
    assert said in out
    assert "1 drill finished" in shown(capsys, "--results", "--by", "Ben")


def test_options_of_deleting_alone_delete_nothing(capsys):
    assert run(["drill", "--of", "Ben", "--yes"]) == exit_codes.USAGE
    assert "--of and --yes go with --delete." in capsys.readouterr().err


def test_a_changed_drill_is_found_by_verify(record, capsys, tmp_path):
    record("Ben")
    with closing(open_log(tmp_path / "comeback" / "cases.db")) as log, log.transaction() as connection:
        connection.exec_driver_sql("UPDATE drill_event SET \"by\" = 'Bo'")
    assert run(["cases", "verify"]) == exit_codes.FILES
    out = capsys.readouterr().out
    assert "drill 1000: event 1 was changed" in out
    assert "NOT as they were written" in out
