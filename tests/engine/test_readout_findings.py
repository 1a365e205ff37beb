"""What a good technician concludes from values, and what he does not; limits are the knowledge files'."""

import pytest

from comeback.engine.errors import BadReading
from comeback.engine.readout.findings.interpretation import interpret
from comeback.engine.readout.findings.judging import Surroundings
from comeback.engine.readout.protocol.framing import read_lines
from comeback.engine.readout.protocol.j1979 import collect
from comeback.engine.readout.text.typed_data import read_typed


@pytest.fixture
def told(knowledge):
    """told(words, **surroundings) -> ({check: result}, {check: why not}, remarks)."""

    def judge(words, **around):
        typed = read_typed(words.split(), [c.id for c in knowledge.checks.values() if c.reading])
        return sort(interpret(typed.data, knowledge, Surroundings(**around), typed.checks))

    return judge


@pytest.fixture
def read(knowledge):
    """The same from lines of an adapter."""

    def judge(*lines, **around):
        return sort(interpret(collect(read_lines(lines)), knowledge, Surroundings(**around)))

    return judge


def sort(found):
    return (
        {t.check: t.result for t in found.findings},
        {h.check: h.why for h in found.withheld},
        " ".join(found.remarks),
    )


def test_codes_set_their_families_and_the_other_families_are_free_of_codes(told):
    found, _, _ = told("P0171 p507")
    assert found["codes-lean"] == "lean"
    assert found["codes-idle"] == "high"
    assert found["codes-misfire"] == "none"


def test_none_is_an_answer_and_no_code_typed_is_not(told):
    assert told("none")[0]["codes-lean"] == "none"
    assert "codes-lean" not in told("idle MAP=33")[0]


@pytest.mark.parametrize(
    ("codes", "result"), [("P0302", "one"), ("P0300", "several"), ("P0300 P0302", "one"), ("P0301 P0304", "several")]
)
def test_misfire_codes_of_two_cylinders_mean_several(told, codes, result):
    # One may stand alone above 90 %; two above 10 % each give the multiple code: 13 CCR 1968.2(e)(3.1.3).
    assert told(codes)[0]["codes-misfire"] == result


@pytest.mark.parametrize(
    ("counts", "result"),
    [([0, 0, 0, 0], "zero"), ([1, 420, 0, 2], "one-cylinder"), ([90, 80, 100, 95], "spread"), ([0, 3, 0, 0], None)],
)
def test_misfire_counts(told, counts, result):
    words = " ".join(f"MIS{i}={count}" for i, count in enumerate(counts, 1))
    assert told(words)[0].get("misfire-count") == result


def test_code_of_one_service_only_leaves_the_other_families_open(read):
    found, held, _ = read("43 01 71 00 00 00 00")
    assert found == {"codes-lean": "lean"}
    assert "read the others too" in held["codes-misfire"]


@pytest.mark.parametrize("since", ["41 30 01", "41 4E 00 20", "41 01 00 07 E5 E5"])
def test_after_clearing_a_missing_code_proves_nothing(read, since):
    found, held, remarks = read("43 00", "47 00", since)
    assert "codes-lean" not in found
    assert "cleared lately" in held["codes-lean"]
    assert "Evidence is gone" in remarks


def test_lean_at_idle_and_normal_at_2500_is_named_as_a_leak(told):
    # Pattern: a study guide.
    found, _, remarks = told("idle STFT1=4 LTFT1=+18% 2500 LTFT1=3")
    assert (found["trim-idle"], found["trim-2500"]) == ("lean", "normal")
    assert "unmeasured" in remarks


def test_worse_bank_counts(told):
    found, _, remarks = told("idle LTFT1=2 LTFT2=-16")
    assert found["trim-idle"] == "rich"
    assert "Only bank 2" in remarks


@pytest.mark.parametrize(
    ("lines", "reason"),
    [
        (["41 03 01 00"], "open loop, not warm"),
        (["41 03 04 00"], "open loop, load"),
        (["41 03 10 00"], "sensor is in trouble"),
        (["41 03 02 00", "41 05 50"], "coolant 40 °C"),
        ([], "does not say if the engine was warm"),
    ],
)
def test_trims_are_not_judged_cold_or_in_open_loop(read, lines, reason):
    found, held, _ = read("41 0C 0B 54", *lines, "41 07 9A")
    assert "trim-idle" not in found
    assert reason in held["trim-idle"]


def test_trims_are_judged_warm_in_closed_loop(read):
    assert read("41 0C 0B 54", "41 03 02 00", "41 05 7B", "41 07 9A")[0]["trim-idle"] == "lean"


def test_normal_trims_of_an_engine_without_airflow_meter_do_not_clear_a_leak(told):
    # trim.mapcars: high idle and high MAP, trims near zero (common practice).
    found, held, _ = told("idle LTFT1=1 MAP=52", vehicle=(("air", "speed-density"),))
    assert "trim-idle" not in found
    assert "hides a leak" in held["trim-idle"]
    assert found["idle-map"] == "high"


def test_opposite_trims_are_old_values(told):
    assert told("idle STFT1=-9 LTFT1=10")[0]["trim-split"] == "against"
    assert told("idle STFT1=3 LTFT1=10")[0]["trim-split"] == "together"


@pytest.mark.parametrize(
    ("words", "around", "result"),
    [
        ("key-on MAP=99 BARO=100", {}, "agrees"),
        ("key-on MAP=90 BARO=100", {}, "reads-low"),
        ("key-on MAP=84", {"meters": 1524.0}, "agrees"),  # 5000 ft: 84.3 kPa
        ("key-on MAP=101", {"meters": 1524.0}, "reads-high"),
        ("key-on MAP=80", {"meters": 1524.0}, None),  # 4.3 kPa: the weather may do that, 5 is the wide limit
        ("key-on MAP=99", {}, None),
    ],
)
def test_manifold_pressure_with_the_engine_off(told, words, around, result):
    assert told(words, **around)[0].get("koeo-map") == result


def test_barometer_item_that_agrees_proves_nothing(read):
    found, held, _ = read("41 0C 00 00", "41 0B 64", "41 33 65")
    assert "koeo-map" not in found
    assert "same sensor" in held["koeo-map"]


def test_vacuum_is_corrected_for_height(told):
    # 20 inHg less 1 per 1000 ft (US Army OD1001): 15 at 5000 ft is as good as 20 at sea level.
    assert told("idle VAC=15")[0]["idle-vacuum"] == "low"
    assert told("idle VAC=15", meters=1524.0)[0]["idle-vacuum"] == "in-band"


def test_airflow_by_displacement(told):
    assert told("idle MAF=3.6 RPM=700 MAP=33", liters=2.0)[0]["maf-idle"] == "in-band"
    assert told("idle MAF=1.5 RPM=700", liters=2.0)[0]["maf-idle"] == "low"
    assert "maf-idle" not in told("idle MAF=3.6")[0]
    assert "maf-idle" not in told("idle MAF=6 RPM=1500", liters=2.0)[0]


def test_voltages(told):
    found, _, _ = told("rest VOLT=12.6 cranking VOLT=8.9 idle VOLT=15.2")
    assert (found["battery-rest"], found["crank-volts"], found["charge-volts"]) == ("charged", "low", "above")
    assert "charge-volts" in told("idle VOLT=12.9")[1]  # smart systems go to 12.5 on purpose


@pytest.mark.parametrize(
    ("words", "check", "result"),
    [
        ("idle ECT=-40", "warm-temp", "open-circuit"),
        ("idle ECT=60 RUN=1200", "warm-temp", "cool"),
        ("idle ECT=60", "warm-temp", None),
        ("idle ECT=118", "coolant-temp", "hot"),
        ("key-on IAT=-40", "intake-temp", "open-circuit"),
        ("idle RPM=1250 TARGET=700", "idle-error", "high"),
        ("idle RPM=1250", "idle-error", "high"),
        ("idle RPM=720", "idle-error", None),
        ("idle RAIL=2000", "rail-high", "low"),
        ("key-on MAP=100 BARO=100 idle MAP=100", "map-follows", "fixed"),
    ],
)
def test_single_values(told, words, check, result):
    assert told(words)[0].get(check) == result


@pytest.mark.parametrize(
    ("frame", "result"),
    [
        (["42 0C 00 0B 54", "42 0D 00 00", "42 04 00 40"], "at-idle"),
        (["42 0C 00 25 80", "42 0D 00 50", "42 04 00 C0"], "under-load"),
        (["42 0C 00 25 80", "42 0D 00 50", "42 04 00 30"], None),
    ],
)
def test_freeze_frame_tells_idle_from_load(read, frame, result):
    found, _, remarks = read("42 02 00 01 71", *frame)
    assert found.get("freeze-frame") == result
    assert "similar conditions" in remarks


def test_similar_conditions_are_375_rpm_and_20_percent_load(read):
    # 40 CFR 86.1806-05(d)(1)
    remarks = read("42 02 00 01 71", "42 0C 00 1F 40", "42 04 00 80")[2]
    assert "1625 to 2375 rpm, 30 to 70 % load" in remarks


def test_lamp_older_than_the_service(read):
    assert read("41 0C 00 00", "41 21 01 F4", km_since_service=100.0)[0]["code-age"] == "older"
    assert read("41 0C 00 00", "41 21 00 2A", km_since_service=100.0)[0]["code-age"] == "since-service"


def test_permanent_code_without_a_stored_one_was_cleared(read):
    assert "Permanent without a stored code: P0420" in read("43 00", "47 00", "4A 01 04 20")[2]


def test_value_without_engine_state_is_kept_but_not_judged(told):
    found, _, remarks = told("MAP=52kPa")
    assert "idle-map" not in found
    assert "say in which engine state" in remarks


def test_reading_by_the_id_of_its_check(told):
    assert told("idle-vacuum=14inHg")[0]["idle-vacuum"] == "low"


@pytest.mark.parametrize("word", ["frog", "MPA=3", "MAP=3frogs", "MAP=", "P9999", "=3"])
def test_word_that_means_nothing_is_named(word):
    with pytest.raises(BadReading) as error:
        read_typed([word])
    assert str(error.value)


def test_value_typed_again_corrects_the_first():
    assert read_typed(["idle", "ECT=18", "ECT=81"]).data.samples["idle"].values == {"ECT": 81}


def test_units_are_converted():
    values = read_typed(["idle", "MAP=7.5psi", "ECT=194degF"]).data.samples["idle"].values
    assert values["MAP"] == pytest.approx(51.7, abs=0.05)  # 6.894757 kPa a psi
    assert values["ECT"] == pytest.approx(90, abs=0.01)


def test_knowledge_without_these_checks_gives_no_findings(small):
    data = read_typed(["P0171", "idle", "MAP=52", "LTFT1=20"]).data
    assert interpret(data, small, Surroundings()).findings == ()
