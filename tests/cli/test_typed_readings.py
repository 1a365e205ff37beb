"""Readings as people type them: spellings, units, what is rare is asked about once, and no reading is an answer."""

import re
from collections.abc import Mapping

import pytest

from comeback.cli.look import Look
from comeback.cli.prompt.replies import Doubt, Record, Remark, converted, read_answer
from comeback.cli.screens.screens import hint, result_lines
from comeback.engine.errors import BadReading
from comeback.engine.readings import asked_back, band
from comeback.engine.walk import steps
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience

BAY = "1\rno light\r1\rn\r1\r"


@pytest.fixture(scope="module")
def volts(small):
    walk = open_walk(small, Audience.BAY)
    return walk.with_step(steps.MakeCheck("volts", 3, 5, ()))


@pytest.mark.parametrize(
    ("typed", "result"),
    [  # possible 0 to 16 V; present from 11, low from 5, none below
        ("12.4", "present"), ("12,4", "present"), ("12.4 V", "present"), ("12.4V", "present"), ("12.4 v", "present"),
        ("+12.4", "present"), ("12.4 volts", "present"), ("12.4 Volt", "present"), ("12400 mV", "present"),
        ("12 400 mV", "present"), ("12,400 mV", "present"), ("11", "present"), ("11.0", "present"), ("16", "present"),
        ("10.99", "low"), ("5", "low"), ("05", "low"), (" 7 ", "low"), ("7500 mv", "low"), ("7,5", "low"),
        ("4.99", "none"), ("3", "none"), ("2.5 V", "none"), ("2,5 volt", "none"), ("1 V", "none"), ("900 mV", "none"),
        ("present", "present"), ("low", "low"), ("none", "none"), ("over range", "present"), ("OL", "present"),
        ("under range", "none"), ("d", None), ("don't know", None), ("no reading", None),
    ],
)  # fmt: skip
def test_spellings_of_a_reading(volts, typed, result):
    reply = read_answer(volts, typed)
    assert isinstance(reply, Record), reply
    assert reply.fact.results == {"volts": result}


@pytest.mark.parametrize("typed", ["17", "-1", "12 psi", "12 kPa", "1e5", "12..4", "twelve", "12 apples", "99999999"])
def test_what_is_no_possible_reading_is_told_and_not_taken(volts, typed):
    reply = read_answer(volts, typed)
    assert isinstance(reply, Remark)
    assert len(reply.text) > 20


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("1", "line 1 (Present) or the reading 1 V"),  # three results: 1 may be the first of them, which is another
        ("2", "line 2"), ("3", ""), ("1 V", ""), ("1.0", ""), ("12", ""),  # 3 V is the third result anyhow
    ],
)  # fmt: skip
def test_bare_number_of_a_line_is_asked_back(small, typed, said):
    check = small.checks["volts"]
    said = said.replace("Present", check.results["present"])
    assert said in asked_back(check, typed) if said else asked_back(check, typed) == ""


@pytest.mark.parametrize(
    ("check", "typed", "asked"),
    [  # what a display shows of the quantity itself: common practice, no source
        ("idle-error", "780", True), ("idle-error", "780 rpm", True), ("idle-error", "300", False),
        ("koeo-map", "99", True), ("koeo-map", "-4", False), ("plug-gap", "0,8 mm", True),
        ("ground-drop", "12.6", True),
        ("ground-drop", "0.4", False), ("purge-vacuum", "18", False), ("intake-temp", "95", False),
        ("trim-idle", "50", False),
    ],
)  # fmt: skip
def test_value_itself_where_its_difference_is_asked_is_asked_back(knowledge, check, typed, asked):
    assert bool(asked_back(knowledge.checks[check], typed)) is asked


def test_impossible_reading_that_is_a_line_says_what_to_type(knowledge):
    with pytest.raises(BadReading, match="For line 1 type: line 1"):
        asked_back(knowledge.checks["idle-map"], "1")


def test_a_rare_reading_is_asked_about_once(press, small, volts):
    assert isinstance(read_answer(volts, "0.2"), Doubt)  # in the outermost 5 % of 0 to 16, and not as expected
    assert isinstance(read_answer(volts, "15.9"), Record)  # at the edge, but as expected
    _, screen, walk = press("bay", BAY + "0.2\ry\rq\r", known=small)
    assert "Really 0.2 V?" in screen
    assert walk.case.answer("volts").result == "none"
    assert walk.case.answer("volts").reading == "0.2 V"
    _, _, walk = press("bay", BAY + "0.2\r12\rq\r", known=small)
    assert walk.case.answer("volts").result == "present"


def test_no_reading_is_kept_in_words_and_counts_as_not_known(press, small):
    _, _, walk = press("bay", BAY + "no reading\rq\r", known=small)
    answer = walk.case.answer("volts")
    assert (answer.result, answer.reading) == (None, "no reading")


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [  # 1 psi = 6.894757 kPa, 1 bar = 100 kPa, 0 degC = 32 degF (NIST SP 811, from memory)
        (206.84271, "kPa", "30 psi"), (30, "psi", "207 kPa"), (100, "°C", "212 °F"), (32, "°F", "0 °C"),
        (12, "V", ""), (1, "bar", "14.5 psi"),
    ],
)  # fmt: skip
def test_readings_are_shown_in_the_other_usual_unit(value, unit, shown):
    assert converted(value, unit) == shown


def test_units_follow_the_configuration():
    assert converted(100, "kPa", "metric") == ""
    assert converted(100, "kPa", "us") == "14.5 psi"
    assert converted(30, "psi", "us") == ""


def test_bands_of_a_reading_are_listed_without_their_ids_and_taken_by_their_line(knowledge):
    check = knowledge.checks["idle-map"]
    assert [text for _, text in result_lines(check, Look())] == [f"   -   {label}" for label in check.results.values()]
    walk = open_walk(knowledge, Audience.BAY).with_step(steps.MakeCheck(check.id, 1.0, 0.0, ()))
    reply = read_answer(walk, "line 2")
    assert reply.fact.results == {check.id: check.names[1]}
    assert check.names[0] not in str(read_answer(walk, "1"))


def texts_of(entry):
    """Every text of an entry of the knowledge, however deep."""
    if isinstance(entry, str):
        yield entry
    elif isinstance(entry, Mapping):
        for part in entry.values():
            yield from texts_of(part)
    elif isinstance(entry, list | tuple):
        for part in entry:
            yield from texts_of(part)


def test_no_screen_says_metric_units_first(knowledge):
    """psi, °F, miles, pounds and inches first, metric in parentheses: an American shop's tools; common practice."""
    metric = re.compile(r"\d (kPa|MPa|bar|degC|°C|km|km/h|kg|mm|cm|m|mL)\b(?![^(]*\))")
    shown = (knowledge.cautions, knowledge.checks, knowledge.repairs, knowledge.procedures, knowledge.panels)
    for entries in shown:
        for entry in entries.values():
            told = entry.model_dump(exclude={"reading", "source", "readings"})
            assert not [text for text in texts_of(told) if metric.search(text)], entry.id


@pytest.fixture(scope="module")
def proofs(knowledge):
    walk = open_walk(knowledge, Audience.BAY, car="gasoline")
    round_ = steps.ProofRound("idle-relearn", ("idle-speed", "idle-error"), ("normal", "on-target"))
    return walk.with_step(round_)


def test_a_reading_is_typed_by_its_number_where_several_proofs_share_a_screen(proofs):
    reply = read_answer(proofs, "2=450rpm 1c")
    assert isinstance(reply, Record), reply
    assert reply.fact.results == {"idle-speed": "high", "idle-error": "high"}
    assert reply.fact.readings == {"idle-error": "450 rpm"}
    assert read_answer(proofs, "2=-20").fact.results["idle-error"] == "on-target"
    assert read_answer(proofs, "2b").fact.results["idle-error"] == "high", "the band will do"


@pytest.mark.parametrize("typed", ["2=fast", "1=450", "2=99999", "3=450", "2="])
def test_what_is_no_reading_there_is_refused(proofs, typed):
    assert isinstance(read_answer(proofs, typed), Remark)


def test_a_reading_that_may_be_another_one_is_asked_about_first(proofs):
    reply = read_answer(proofs, "2=720rpm")
    assert isinstance(reply, Doubt)
    assert reply.record.fact.results["idle-speed"], "the rest of the screen is recorded with it"


@pytest.mark.parametrize(
    ("check", "typed", "american"),
    [("prime-pressure", "45", "psi"), ("warm-temp", "180", "°F"), ("idle-map", "10", "inHg")],
)
def test_a_number_alone_is_asked_for_its_unit_where_two_are_in_use(knowledge, check, typed, american):
    """45 psi is good fuel pressure, 45 kPa (6.5 psi) is none: service manuals, common practice, no source."""
    walk = open_walk(knowledge, Audience.BAY).with_step(steps.MakeCheck(check, 1.0, 0.0, ()))
    own = knowledge.checks[check].reading.unit
    asked = read_answer(walk, typed)
    assert isinstance(asked, Remark)
    assert f"{typed} {american} or {typed} {own}" in asked.text
    assert isinstance(read_answer(walk, f"{typed} {american}"), Record)
    metric = read_answer(walk, "350" if own == "kPa" and check != "idle-map" else "40", units="metric")
    assert not isinstance(metric, Remark)
    assert american in hint(walk)


@pytest.mark.parametrize(
    ("check", "typed", "value"),
    [  # a difference of 18 °F is one of 10 °C; 1 in = 25.4 mm exactly; 1 inH2O = 249.0889 Pa (NIST SP 811, from memory)
        ("temp-compare", "18 °F", 10.0), ("plug-gap", "0.004 in", 0.1016), ("crankcase-vacuum", "-4 inH2O", -0.9963556),
        ("warm-temp", "212 °F", 100.0),
    ],
)  # fmt: skip
def test_american_units_of_a_reading(knowledge, check, typed, value):
    assert band(knowledge.checks[check], typed).value == pytest.approx(value)
