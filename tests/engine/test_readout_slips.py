"""Rows of the slip table whose own codes and measures, read out, move the true cause to the top.

Codes and values are those of the table's columns "may set" and "technician measures" (common
practice); numbers within them are invented. `rank` is the place before the readout, complaint only.
"""

import pytest

from comeback.engine.case.events import Kind
from comeback.engine.readout.findings.evidence import answer_drafts
from comeback.engine.readout.findings.interpretation import interpret
from comeback.engine.readout.findings.judging import Surroundings
from comeback.engine.readout.text.typed_data import read_typed
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience

ROWS = [  # row of the slip table, cause, service, complaint, readout
    ("INT-01", "map-sensor-not-seated", "intake-cleaning", "high-idle",
     "P0106 P0171 P0507 idle RPM=1150 TARGET=700 MAP=52 LTFT1=18 2500 LTFT1=2"),
    ("INT-02", "map-plug-off", "intake-cleaning", "rough-idle", "P0107 P0068 key-on MAP=5 BARO=101 idle MAP=5"),
    ("INT-03", "duct-loose", "intake-cleaning", "hesitation", "P0171 P0101 P2187 idle LTFT1=18 MAP=34 2500 LTFT1=8"),
    ("INT-04", "maf-plug-off", "intake-cleaning", "hesitation", "P0102 P0113 key-on IAT=-40"),
    ("INT-08", "throttle-sticks", "intake-cleaning", "high-idle", "P2111 P2119 idle RPM=1900 TARGET=700"),
    ("AIR-02", "af-maf-oiled", "air-filter", "no-power", "P0101 P2177 idle LTFT1=6 MAF=1.6 2500 LTFT1=16"),
    ("SPK-01", "spk-coil-plug-off", "plugs-coils", "rough-idle", "P0352 P0302 MIS1=0 MIS2=420 MIS3=0 MIS4=1"),
    ("FUE-03", "injector-plug-loose", "fuel", "rough-idle", "P0202 P0302 MIS1=0 MIS2=420 MIS3=0 MIS4=1"),
    ("FUE-05", "rail-sensor-plug-off", "fuel", "engine-light", "P0190"),
    ("EVP-01", "evap-cap-loose", "pcv-evap", "engine-light", "P0457"),
    ("COO-03", "cool-thermostat-stuck-open", "coolant-change", "engine-light", "P0128 idle RUN=1200 ECT=60"),
    ("COO-04", "cool-sensor-plug-off", "coolant-change", "engine-light", "P0118 idle ECT=-40"),
    ("COO-04", "cool-fan-plug-off", "coolant-change", "overheating", "P0691 P0217 idle ECT=118"),
    ("SEN-01", "sen-maf-wrong", "sensors", "no-power", "P0101 P0172 idle LTFT1=-15 2500 LTFT1=-14"),
    ("SEN-02", "sen-map-wrong", "sensors", "rough-idle", "P0106 P0069 key-on MAP=90 BARO=101"),
    ("SEN-03", "sen-loom-pinched", "sensors", "stalls", "P0641 P0107 P0102"),
]  # fmt: skip
ENOUGH = 8


def place(walk, cause):
    """Place of the cause among the candidates, from 1; as likely as the one above it within a thousandth is a tie."""
    chances = dict(walk.view.repair_candidates(0))
    return 1 + sum(chance > chances[cause] + 0.001 for chance in chances.values())


def readout(knowledge, service, complaint, words):
    """(walk with service and complaint, the same walk with the readout's findings)."""
    walk = begin_walk(knowledge, service, complaint, Audience.BAY)
    typed = read_typed(words.split())
    found = interpret(typed.data, knowledge, Surroundings(liters=2.0))
    after = walk
    for draft in answer_drafts(walk, found, typed.data.all_codes, "", "").events:
        after = after.imagine(draft)
    return walk, after


def test_readout_alone_moves_the_true_cause_of_many_slips_to_the_top(knowledge):
    moved, still = [], []
    for row, cause, service, complaint, words in ROWS:
        before, after = readout(knowledge, service, complaint, words)
        if place(after, cause) == 1:
            (moved if place(before, cause) > 1 else still).append(row)
    assert len(set(moved)) >= ENOUGH, f"moved up: {moved}; on top already: {still}"


def test_answered_checks_are_not_asked_again(knowledge):
    before, after = readout(knowledge, "intake-cleaning", "high-idle", "P0171 idle MAP=52 LTFT1=18")
    assert {"codes-lean", "codes-rich", "idle-map", "trim-idle"} <= set(before.view.askable())
    assert not {"codes-lean", "codes-rich", "idle-map", "trim-idle"} & set(after.view.askable())


def test_answers_carry_reading_audience_and_reason(knowledge):
    _, after = readout(knowledge, "intake-cleaning", "high-idle", "idle MAP=52")
    event = after.events[-1]
    assert event.kind == Kind.ANSWERED
    assert event.payload["results"] == {"idle-map": "high"}
    assert event.payload["readings"] == {"idle-map": "52 kPa"}
    assert event.payload["audience"] == "bay"
    assert "absolute" in event.payload["by_readout"]["idle-map"]


def test_finding_that_is_already_answered_is_kept_as_it_was(knowledge):
    _, after = readout(knowledge, "intake-cleaning", "high-idle", "idle MAP=52")
    found = interpret(read_typed(["idle", "MAP=33"]).data, knowledge, Surroundings())
    drafts = answer_drafts(after, found, (), "", "")
    assert not drafts.events
    assert "already answered" in drafts.left_out[0][1]
    assert answer_drafts(after, found, (), "", "", again=True).events


@pytest.mark.parametrize("complaint", ["no-start-cranks"])
def test_idling_values_of_an_engine_that_does_not_start_are_left_out(knowledge, complaint):
    walk, after = readout(knowledge, "intake-cleaning", complaint, "idle MAP=52")
    assert after.events == walk.events
