"""`comeback drill --results` and `--due`: a learner over time, a class without names, cars that come back."""

import csv
import io
import json
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.engine.case.events import Draft
from comeback.engine.case_log.drills import add_turn, open_drill
from comeback.engine.case_log.store import open_log

SMALL = str(Path(__file__).parent.parent / "kb" / "small")
TODAY = date.today()


def result(version, seed=1, mode="free", **changed):
    """What is recorded at the end of a drill."""
    return {
        "drill": 2, "mode": mode, "seed": seed, "asked": {"service": None, "complaint": None}, "exam": None,
        "knowledge": version, "complaint": "dark", "ended": "complaint gone", "safety": {"misses": []},
        "advice": {"correct": True},
        "efficiency": {"checks": 3, "program_checks": 2, "minutes": 20.0, "program_minutes": 15.0},
        "conclusions": {"made": 1, "found": True, "unwarranted": []},
        "suspects": {"named": 1, "with_a_true_cause": 1, "leading": 1, "sure": [[0.8, True]]}, "hints": [1],
        "call": None, **changed,
    }  # fmt: skip


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
                add_turn(log, first, Draft("finished", at, by, result(small.version, **changed)))

    return go


def shown(capsys, *options):
    assert run(["drill", "--knowledge", SMALL, *options]) == exit_codes.DONE
    out = capsys.readouterr().out
    assert {"--csv", "--json"} & set(options) or "Begin one" in out or max(map(len, out.splitlines())) < 80
    return out


def test_a_learner_sees_the_rule_and_what_to_train_next(record, capsys):
    for ago in range(12, 1, -1):
        record("Ben", ago)
    record("Ben", 1, advice={"correct": False})
    record("Ben", 0, advice={"correct": False})
    out = shown(capsys, "--results", "--by", "Ben")
    assert "13 drills finished" in out
    assert "8 of 10 90 % NOT MET" in " ".join(out.split())
    assert "before: 3 of 3" in out
    assert "Train next  the advice on driving" in out
    assert "0.04 over 13" in " ".join(out.split())  # (0.8 - 1) squared
    assert len(out.splitlines()) <= 44  # two screens


def test_calibration_waits_for_ten_drills(record, capsys):
    record("Ben")
    out = shown(capsys, "--results", "--by", "Ben")
    assert "Brier" not in out
    assert "from 10 drills on" in out


def test_a_class_is_shown_without_names(record, capsys):
    for by in ("Ben", "Ida", "Meret"):
        record(by, 2)
    record("Ida", 1, conclusions={"made": 1, "found": False, "unwarranted": []})
    record("Ida", 0, finished=False)
    for options in (("--results",), ("--results", "--csv"), ("--results", "--json")):
        out = shown(capsys, *options)
        assert not [name for name in ("Ben", "Ida", "Meret") if name in out]
    out = shown(capsys, "--results")
    assert "Class: 3 learners, 4 drills" in out
    assert "missed 1: It is dark" in out
    assert "1 drill stopped on the way" in out
    own = shown(capsys, "--results", "--by", "Ida")
    mark = own[own.index("(") + 1 : own.index(" in the class")]
    assert mark in out


def test_csv_and_json_hold_every_drill(record, capsys):
    record("Ben", 2)
    record("=Ben", 1, safety={"misses": ["x"]})
    rows = list(csv.DictReader(io.StringIO(shown(capsys, "--results", "--csv", "--by", "=Ben"))))
    assert [row["learner"] for row in rows] == ["'=Ben"]
    assert rows[0]["safety_misses"] == "1"
    data = json.loads(shown(capsys, "--results", "--json"))
    assert sum(len(learner["results"]) for learner in data["learners"]) == 2
    assert {learner["train_next"] for learner in data["learners"]} == {"safety", ""}


def test_what_is_due_names_the_command_for_the_very_car(record, capsys):
    missed = {"conclusions": {"made": 0, "found": False, "unwarranted": []}}
    record("Ben", 1, seed=7, **missed)
    record("Ben", 0, seed=8, asked={"service": "lamp-change", "complaint": None}, **missed)
    record("Ben", 5, seed=9)
    record("Ida", 5, seed=10, **missed)
    out = shown(capsys, "--due", "--by", "Ben")
    assert "comeback drill --mode free --seed 7 --by Ben\n" in out
    assert "--seed 8 --service lamp-change" in out
    assert "seed 9" not in out
    assert "seed 10" not in out
    assert out.index("now") < out.index("tomorrow")
    data = json.loads(shown(capsys, "--due", "--by", "Ben", "--json"))
    assert [(car["seed"], car["now"]) for car in data] == [(7, True), (8, False)]


def test_a_car_of_other_knowledge_would_be_another_car_and_is_not_due(record, capsys):
    record("Ben", 1, knowledge="other", safety={"misses": ["x"]})
    assert "No car is due again." in shown(capsys, "--due", "--by", "Ben")


def test_a_damaged_result_is_left_out_and_said(record, capsys):
    record("Ben")
    record("Ben", efficiency=None)
    out = shown(capsys, "--results", "--by", "Ben")
    assert "1 drill finished" in out
    assert "1 result could not be read" in out


def test_where_nothing_was_drilled_one_line_says_how_to_begin(record, capsys):
    assert "Begin one: comeback drill" in shown(capsys, "--results")


def test_thirty_learners_fit_on_four_screens_two_of_them_ids(record, capsys):
    for number in range(30):
        record(f"Learner {number}")
    assert len(shown(capsys, "--results").splitlines()) <= 4 * 22


def test_the_ids_of_a_class_are_all_there_and_the_missed_ones_are_marked(record, capsys):
    """Ids are drawn in order from 1000; the third was missed, the fourth a safety miss."""
    record("Ben", 4)
    record("Ida", 3)
    record("Ida", 2, conclusions={"made": 1, "found": False, "unwarranted": []})
    record("Ida", 1, safety={"misses": ["x"]})
    out = shown(capsys, "--results")
    assert "1001 " in out.split("by their ID")[1]
    assert "1002x" in out
    assert "1003!" in out
    assert "--debrief ID" in out


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


def test_learners_keep_their_ids_when_the_first_drill_of_all_is_deleted(record, capsys):
    record("Ben", 3)
    record("Ida", 2)

    def ids():
        return {row["learner"] for row in csv.DictReader(io.StringIO(shown(capsys, "--results", "--csv")))}

    before = ids()
    deleting(capsys, "1000", "--yes")
    assert ids() < before


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
