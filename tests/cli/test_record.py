"""`comeback record`: the same facts in every format, drafts marked, nothing overwritten silently.

All cases are invented.
"""

import html
import json
import re
import stat

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run as run_command
from comeback.cli.records.formats import FORMATS, record_data, rendered
from comeback.cli.records.record import NOT_ASKED, Record
from comeback.cli.records.sections import BRIEF, sections
from comeback.cli.screens.summary import standing_of
from comeback.engine.case import facts
from comeback.engine.case.events import Draft, Kind, chain
from comeback.engine.case_log.store import open_log
from comeback.engine.walk.walk import Walk, begin_walk
from comeback.kb.vocabulary import Audience

CALL = "n\r1\rno light, <b>odd</b> | *smell*\r1\rn\rtold\rplate AB12\rplate AB12\rnote waits outside\ry\rn\rn\r"
BAY = "2\rdone\ry\ry\r"  # the lamp turns: screwed in, proven, closed


@pytest.fixture
def call(press, small):
    return press("phone", CALL, known=small)[2]


@pytest.fixture
def closed(press, small, call):
    code, screen, walk = press("bay", "n\r" + BAY, case=call.case.id, known=small, by="Ben")
    assert code == exit_codes.DONE, screen
    return walk


def flat(text, kind):
    """Text without its layout: words only."""
    if kind == "html":
        text = html.unescape(re.sub(r"</?[a-z0-9!]+[^>]*>", " ", text))
    return " ".join(text.split())


def test_the_record_has_every_field_or_says_that_it_was_not_asked(small, call):
    data = record_data(Record(small, call.events))
    assert {
        "case", "status", "shop", "people", "car", "registration", "registration_read_back", "words", "answers",
        "danger_signs", "notes", "changes", "overrides", "advice", "read_back", "causes", "checks",
        "stop_screens", "program", "knowledge", "events", "limits", "caller_driving", "chain_intact",
    } <= set(data)  # fmt: skip
    empty = {key for key, value in data.items() if value in (None, "")}
    assert empty == {"car", "handed_over", "closed", "solved", "service_unknown", "given_to"}
    assert data["shop"] == NOT_ASKED
    assert (data["registration"], data["registration_read_back"]) == ("AB12", True)
    assert data["read_back"]["caller_agreed"] == "yes"
    assert all(re.search(r"[+-]\d\d:\d\d$", event["at"]) for event in data["events"])  # with zone


def test_danger_signs_are_recorded_also_when_they_were_not_there(small, call):
    assert record_data(Record(small, call.events))["danger_signs"] == [
        {"check": "spark", "name": "Sparks", "answer": "No sparks", "raised": "no"}
    ]


def test_a_case_is_a_draft_until_it_is_closed(small, call, closed):
    assert record_data(Record(small, call.events))["status"] == "draft"
    assert record_data(Record(small, closed.events))["status"] == "final"
    for kind in ("text", "html"):
        assert "DRAFT" in rendered(small, call.events, kind)
        assert "FINAL" in rendered(small, closed.events, kind)


def test_text_and_html_hold_the_same_facts(small, closed):
    texts = {kind: flat(rendered(small, closed.events, kind), kind) for kind in ("text", "html")}
    for title, rows in sections(Record(small, closed.events)):
        for cell in (cell for row in rows for cell in row if cell):
            for kind, text in texts.items():
                assert " ".join(cell.split()) in text, (kind, title, cell)


def test_json_is_the_data_with_every_event(small, closed):
    data = json.loads(rendered(small, closed.events, "json"))
    assert data == json.loads(json.dumps(record_data(Record(small, closed.events))))
    assert [event["payload"] for event in data["events"]] == [dict(event.payload) for event in closed.events]


def test_a_record_fits_a_customer_folder(small, closed):
    """How it ended stands first, a repair before its proof; the date once; nobody reads seconds and offsets."""
    text = rendered(small, closed.events, "text")
    order = ("CASE", "ENDING", "repaired: ", "Lamp seat: The lamp is tight", "SIGN-OFF")
    assert sorted(order, key=text.index) == list(order)
    assert text.count(closed.case.opened_at[:10]) == 1
    assert not re.search(r"\d\d:\d\d:\d\d|[+-]\d\d:\d\d", text)
    for label in ("Shop", "License plate", "Work done by"):
        assert re.search(rf"^  {label} ", text, re.MULTILINE), label
    assert len({len(found[0]) for found in re.finditer(r"^  (Shop|Cause|Limits) +", text, re.MULTILINE)}) == 1


def test_a_proven_cause_is_proven_and_has_no_chance(small, call, closed):
    assert "Proven" in rendered(small, closed.events, "text")
    assert "%" not in rendered(small, closed.events, "text")
    assert re.search(r"Likely +\S.*, \d+ %", rendered(small, call.events, "text"))


def test_nothing_is_ruled_out_by_what_a_caller_said(press, knowledge):
    """Common practice, no source: only a look at the car rules a cause out."""

    def after(audience):
        walk = begin_walk(knowledge, "intake-cleaning", "high-idle", audience)
        return standing_of(walk.imagine(walk.answers({"noise": "hiss", "port-cap": "fitted"}, "", "")))

    said, seen = after(Audience.PHONE), after(Audience.BAY)
    assert said.less_likely
    assert not said.ruled_out
    assert "port-cap-missing" in seen.ruled_out  # shown by the cap alone, and the cap is there
    assert {*seen.ruled_out, *seen.less_likely} == {*said.ruled_out, *said.less_likely}


def test_a_screen_shows_the_same_lines_as_the_record(small, closed):
    record = Record(small, closed.events)
    titles = ["Case", "Ending", "Advice", "Danger signs", "Findings and repairs", "Notes"]
    assert [title for title, _ in sections(record, BRIEF)] == titles
    assert all(section in sections(record) for section in sections(record, BRIEF))


def test_what_people_typed_becomes_no_markup(small, call):
    assert "<b>odd</b>" not in rendered(small, call.events, "html")
    assert "@page" in rendered(small, call.events, "html")


@pytest.mark.parametrize("ended", ["call", "closed"])
def test_causes_and_checks_are_each_in_exactly_one_group(request, small, ended):
    standing = standing_of(request.getfixturevalue(ended))
    causes = [
        *standing.likely,
        *standing.possible,
        *standing.less_likely,
        *standing.ruled_out,
        *standing.never_in_question,
    ]
    checks = [*standing.answered, *standing.not_known, *standing.not_asked, *standing.not_needed]
    assert sorted(causes) == sorted(small.causes)
    assert sorted(checks) == sorted(small.checks)


def test_a_changed_event_shows_in_the_record(small, closed):
    bent = [*closed.events]
    bent[3] = chain(bent[3].case, 4, Draft(bent[3].kind, bent[3].at, "Mallory", bent[3].payload), "x", bent[2].hash)
    assert "BROKEN" in rendered(small, bent, "text")
    assert "intact" in rendered(small, closed.events, "text")


def test_changed_answers_keep_their_old_value(press, small):
    _, _, walk = press("bay", "1\rno light\r1\rn\r1\redit 4\r2\rq\r", known=small)
    (change,) = record_data(Record(small, walk.events))["changes"]
    assert change["old"] == "Lamp seat: The lamp is tight"
    assert change["why"] == "corrected"


def test_what_bears_on_the_rest_but_was_not_asked_is_listed(small, call):
    assert set(record_data(Record(small, call.events))["checks"]["not_asked"]) == {"lamp-turns", "volts"}


@pytest.mark.parametrize("kind", FORMATS)
def test_the_command_writes_a_private_file_and_never_overwrites_silently(tmp_path, small_folder, closed, capsys, kind):
    file = tmp_path / f"x.{kind}"
    arguments = ["record", closed.case.id.lower(), "--format", kind, "-o", str(file), "--knowledge", small_folder]
    assert run_command(arguments) == exit_codes.DONE
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    before = file.read_text()
    assert run_command(arguments) == exit_codes.FILES
    assert "--force" in capsys.readouterr().err
    assert file.read_text() == before
    file.write_text("old")
    assert run_command([*arguments, "--force"]) == exit_codes.DONE
    assert file.read_text() == before
    assert [place.name for place in tmp_path.glob("*x.*")] == [file.name]


@pytest.fixture
def small_folder():
    from pathlib import Path

    return str(Path(__file__).parent.parent / "kb" / "small")


def test_the_result_of_a_call_has_its_six_items(call):
    from comeback.cli.look import Look
    from comeback.cli.screens.summary import result_lines

    text = "\n".join(line for _, line in result_lines(call, Look(), "cases.db"))
    for item in ("Told", "Fuse blown", "Not checked", "Next step", "Written", "Next: "):
        assert item in text
    assert f"comeback triage {call.case.id}" in text
    assert len(text.splitlines()) <= 24


def test_the_result_in_the_bay_has_its_six_items(closed):
    from comeback.cli.look import Look
    from comeback.cli.screens.summary import result_lines

    text = "\n".join(line for _, line in result_lines(closed, Look(), "cases.db"))
    for item in ("Cause", "for it: ", "Ruled out", "Not checked", "Next step", "Written", "comeback record"):
        assert item in text
    assert closed.case.closed.causes == ("lamp-loose",)
    assert closed.events[-1].kind == Kind.CLOSED
    assert closed.audience is Audience.BAY


def test_a_cause_that_a_repair_proved_reads_proven_and_has_no_chance(closed):
    from comeback.cli.look import Look
    from comeback.cli.screens.summary import so_far_lines

    name = closed.knowledge.causes["lamp-loose"].name
    to_be_closed = Walk(closed.knowledge, closed.events[:-1], Audience.BAY)
    for walk in (closed, to_be_closed):
        text = [" ".join(line.split()) for _, line in so_far_lines(walk, Look())]
        assert f"Proven {name}" in text
        assert not any("%" in line for line in text)


PROTECTED = {
    "the log itself": "cases.db",
    "what SQLite keeps beside it": "cases.db-wal",
    "and that too": "cases.db-shm",
    "a link to the log": "link.html",
    "a link to its folder": "folder/cases.db",
    "a hard link to the log": "hard.html",
    "another log": "other.db",
    "what is beside another log": "other.db-wal",
    "the configuration": "config/comeback/config.toml",
    "a link to the configuration": "config.html",
    "an overlay file": "shop/own.yaml",
}


@pytest.fixture
def shop(tmp_path, comeback, monkeypatch):
    """A log with one case, another log, a configuration, an overlay, and links to them."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    (tmp_path / "config" / "comeback").mkdir(parents=True)
    (tmp_path / "config" / "comeback" / "config.toml").write_text('shop = "Millrace Garage"\n')
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "own.yaml").write_text("settings: {}\n")
    for name in ("cases.db", "other.db"):
        log = open_log(tmp_path / name)
        made = log.open_case(Draft("opened", "2026-03-02T08:15:00+01:00", "Ida", {"car": "red"}), "k1", lambda s: s[0])
        log.close()
    (tmp_path / "link.html").symlink_to("cases.db")
    (tmp_path / "hard.html").hardlink_to(tmp_path / "cases.db")
    (tmp_path / "config.html").symlink_to("config/comeback/config.toml")
    (tmp_path / "folder").symlink_to(".")
    return made.case


@pytest.mark.parametrize("what", PROTECTED)
def test_force_never_overwrites_what_cannot_be_made_again(comeback, shop, tmp_path, what, small):
    file = tmp_path / PROTECTED[what]
    before = file.read_bytes() if file.exists() else None
    overlay = ("--overlay", "shop") if "overlay" in what else ("--overlay", "")
    code, out, err = comeback("record", shop, "-o", PROTECTED[what], "--force", *overlay)
    assert (code, out) == (exit_codes.FILES, "")
    assert "is never overwritten. Choose another name." in err
    assert (file.read_bytes() if file.exists() else None) == before
    assert comeback("cases", "verify")[0] == exit_codes.DONE


def test_no_booklet_is_printed_over_a_log(comeback, shop, tmp_path):
    before = (tmp_path / "cases.db").read_bytes()
    code, _, err = comeback("booklet", "--service", "intake-cleaning", "-o", "link.html", "--overlay", "")
    assert (code, "is never overwritten" in err) == (exit_codes.FILES, True)
    assert (tmp_path / "cases.db").read_bytes() == before


def test_force_overwrites_any_other_file(comeback, shop, tmp_path):
    (tmp_path / "old.html").write_text("old")
    assert comeback("record", shop, "-o", "old.html", "--overlay", "")[0] == exit_codes.FILES
    assert comeback("record", shop, "-o", "old.html", "--force", "--overlay", "")[0] == exit_codes.DONE
    assert "Comeback record" in (tmp_path / "old.html").read_text()


def test_a_link_that_leads_nowhere_is_named_in_one_clear_line(comeback, shop, tmp_path):
    (tmp_path / "gone.html").symlink_to("nowhere.html")
    code, _, err = comeback("record", shop, "-o", "gone.html", "--overlay", "")
    assert (code, "Errno" in err) == (exit_codes.FILES, False)
    assert "gone.html already exists as a broken link" in err


def test_nothing_is_ruled_out_by_what_the_bay_was_told_over_the_phone(knowledge):
    """A call back is hearsay too, whoever makes it."""
    walk = begin_walk(knowledge, "intake-cleaning", "high-idle", Audience.BAY)
    told = standing_of(walk.imagine(walk.answers({"onset": "week-or-more", "before": "earlier"}, "", "")))
    assert told.less_likely
    assert not told.ruled_out


def test_a_list_of_codes_rules_nothing_out_it_only_says_where_to_look(knowledge):
    """Common practice, no source: nobody has seen the part of which a code speaks."""
    walk = begin_walk(knowledge, "plugs-coils", "rough-idle", Audience.BAY)
    read = standing_of(walk.imagine(walk.answers({"codes-misfire": "one"}, "", "")))
    assert read.less_likely
    assert not read.ruled_out


def test_a_danger_sign_stands_in_the_record_as_it_was_before_the_repair(knowledge):
    """What proves the repair stands with the findings; the sign that was there is not overwritten by it."""
    walk = begin_walk(knowledge, "plugs-coils", "engine-light-blinks", Audience.BAY)
    walk = walk.imagine(walk.answers({"raw-fuel": "none"}, "", ""))
    walk = walk.imagine(facts.Repaired("latch-coil-plug")).imagine(
        walk.answers({"lamp-flashing": "not-flashing", "raw-fuel": "none"}, "", "")
    )
    sign = next(one for one in Record(knowledge, walk.events).signs if one.check == "lamp-flashing")
    assert sign.raised
    assert sign.answer == knowledge.checks["lamp-flashing"].results["flashes"]


def test_what_was_said_is_written_once_if_the_caller_agreed_to_the_same_words(small, call):
    text = rendered(small, call.events, "text")
    assert "read out" in text
    assert text.count("Said: ") == 1
