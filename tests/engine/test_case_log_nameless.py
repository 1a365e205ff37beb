"""A case without names: nothing that people said or are called is left, and learning counts the same from it."""

import json
import random
import threading

import pytest

from comeback.engine.case.case import read_case
from comeback.engine.case.events import Draft
from comeback.engine.case_log.exchange import export_lines, import_lines
from comeback.engine.case_log.nameless import without_names
from comeback.engine.case_log.protocol import CaseLogError
from comeback.engine.case_log.store import open_log
from comeback.engine.case_log.upkeep import delete_case, verify
from comeback.engine.learning.counts import cause_counts, finding_counts, latest_proven
from support import case_logs

AT, closed_case, fresh_postgres = case_logs.AT, case_logs.closed_case, case_logs.fresh_postgres
SECRETS = ("SECRETIDA", "SECRETCAR", "SECRETWORDS", "SECRETPLATE", "SECRETPHONE", "SECRETPLACE", "SECRETNOTE",
           "SECRETREASON", "SECRETVIN", "SECRETREADING", "SECRETSECOND", "SECRETNEW")  # fmt: skip


@pytest.fixture
def log(tmp_path):
    made = open_log(tmp_path / "here.db", "millrace")
    yield made
    made.close()


@pytest.fixture
def other(tmp_path):
    made = open_log(tmp_path / "other.db", "dale")
    yield made
    made.close()


def take(log, lines):
    return import_lines(log, lines, "x.jsonl", random.Random(5).choice)


def talkative_case(log):
    """A case with a secret in every field that people fill in."""
    by = "SECRETIDA"
    first = log.open_case(Draft("opened", AT, by, {"car": "SECRETCAR", "audience": "phone"}), "k1", random.choice)
    since = {"lamp-turns": [AT, by]}
    drafts = [
        ("service", {"service": "lamp-change"}),
        ("complaint", {"complaint": "dark", "words": "SECRETWORDS"}),
        ("registered", {"registration": "SECRETPLATE", "read_back": False}),
        ("contact", {"phone": "SECRETPHONE", "place": "SECRETPLACE"}),
        ("noted", {"text": "SECRETNOTE"}),
        ("said", {"words": "SECRETWORDS"}),
        ("renamed", {"car": "SECRETCAR"}),
        ("given", {"to": by}),
        ("answered", {"results": {"lamp-turns": "turns"}, "readings": {"lamp-turns": "SECRETREADING"}, "since": since}),
        ("overridden", {"ruled": "come-in", "to": "tow", "reason": "SECRETREASON", "second": "SECRETSECOND"}),
        ("warned", {"stop": "tow", "word": "told", "said": ["SECRETWORDS"]}),
        ("refused", {"disposition": "tow", "ruled": "tow", "words": "SECRETWORDS", "read_back": "SECRETCAR"}),
        ("handed-over", {"reason": "SECRETREASON"}),
        ("taken-over", {"audience": "bay"}),
        ("evidence", {"vin": "SECRETVIN", "raw": ["SECRETVIN"], "codes": {"stored": ["P0171"]}}),
        ("repaired", {"repair": "screw-in-lamp"}),
        ("closed", {"complaint": "dark", "words": "SECRETWORDS", "cause_words": "SECRETWORDS", "causes": ["lamp-loose"],
                    "repairs": ["screw-in-lamp"], "proven": True}),
        ("new-kind", {"new": "SECRETNEW"}),
    ]  # fmt: skip
    log.append(first.case, 1, [Draft(kind, AT, by, payload) for kind, payload in drafts], "k1")
    return first.case


def counts(log):
    return list(cause_counts(log)), list(finding_counts(log)), len(latest_proven(log, 9))


def test_nothing_that_people_said_or_are_called_is_left(log, other):
    name = talkative_case(log)
    lines = list(export_lines(log, nameless=True))
    assert [secret for secret in SECRETS if secret in "".join(lines)] == []
    assert "08:15" not in "".join(lines)
    assert all(without_names(event).by == "left out" for event in log.events(name))
    original = {event.hash for event in log.events(name)}
    assert not original & {event["hash"] for event in json.loads(lines[1])["events"]}
    assert json.loads(lines[1])["identity"] not in original  # a hash over a name lets the name be guessed and tried
    assert take(other, lines).refused == []
    case = read_case(other.events(name))
    assert (case.car, case.registration, case.phone, case.last_told.how) == ("", "", "", "refused")
    assert other.events(name)[0].payload["without_names"] is True
    assert verify(other).troubles == ()


def test_learning_counts_the_same_from_cases_without_names(log, other):
    for seed in range(1, 7):
        closed_case(log, seed, cause=("lamp-loose", "fuse-out")[seed % 2])
    talkative_case(log)
    done = take(other, export_lines(log, nameless=True))
    assert (len(done.new), done.refused) == (7, [])
    assert counts(other) == counts(log)
    assert counts(log)[0]


def test_a_case_without_names_grows_when_it_is_sent_again(log, other):
    name = closed_case(log)
    take(other, export_lines(log, nameless=True))
    assert take(other, export_lines(log, nameless=True)).known == 1
    log.append(name, 7, [Draft("noted", AT, "Ben", {"text": "SECRETNOTE"})], "k1")
    (grown,) = take(other, export_lines(log, nameless=True)).grown
    assert (grown.case, grown.entries, grown.names) == (name, 1, ("left out",))
    again = list(export_lines(other, nameless=True))
    assert again == list(export_lines(other))
    assert take(other, again).known == 1


def test_a_case_never_counts_with_and_without_names(log, other):
    name = closed_case(log)
    take(other, export_lines(log))
    assert take(other, export_lines(log, nameless=True)).known == 1
    assert take(log, export_lines(log, nameless=True)).known == 1
    third = open_log(other.name.replace("other", "third"))
    take(third, export_lines(log, nameless=True))
    (refused,) = take(third, export_lines(log)).refused
    assert f"comeback cases delete {name} --forget-learned" in refused
    delete_case(third, name, AT, "Ida", "comes with names", statistics=True)
    assert take(third, export_lines(log)).new
    assert counts(third) == counts(log)
    third.close()


def test_a_changed_case_is_not_made_whole_by_leaving_names_out(log):
    closed_case(log)
    with log.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE event SET \"by\" = 'Mallory' WHERE number = 3")
    with pytest.raises(CaseLogError, match="not as it was written"):
        list(export_lines(log, nameless=True))


def test_two_imports_of_one_file_at_once_take_a_case_in_once(log):
    """Several times over, as a race shows by chance only."""
    for seed in range(1, 21):
        closed_case(log, seed)
    lines = list(export_lines(log))
    shared = [open_log(place := fresh_postgres()), open_log(place), open_log(place), open_log(place)]
    start, done = threading.Barrier(len(shared)), []

    def run(one, seed):
        start.wait()
        done.append(import_lines(one, lines, "x.jsonl", random.Random(seed).choice))

    threads = [threading.Thread(target=run, args=(one, seed)) for seed, one in enumerate(shared)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(len(one.new) for one in done) == 20
    assert sum(one.known for one in done) == 60
    assert len(shared[0].cases()) == 20
    for one in shared:
        one.close()
