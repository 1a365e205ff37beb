"""Readouts as people type and print them: every text is invented, codes and names are those of SAE J2012, J1979."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.errors import BadReading
from comeback.engine.readings import read_number
from comeback.engine.readout.findings.interpretation import interpret
from comeback.engine.readout.findings.judging import Surroundings
from comeback.engine.readout.protocol.framing import read_lines
from comeback.engine.readout.protocol.j1979 import collect
from comeback.engine.readout.protocol.trouble_codes import code_of
from comeback.engine.readout.text.code_text import read_code_line
from comeback.engine.readout.text.plain_text import read_plain
from comeback.engine.readout.text.typed_data import code_list, read_typed
from comeback.engine.readout.text.value_text import read_values

S, P, X, L = "stored", "pending", "permanent", "listed"


@pytest.mark.parametrize(
    ("line", "codes"),
    [
        ("Stored codes: P0300, p0316", {"P0300": S, "P0316": S}),
        ("P0171 pending", {"P0171": P}),
        ("pending P0171", {"P0171": P}),
        ("p0171 p0174", {"P0171": L, "P0174": L}),
        ("P0300;p0301/P0302 + B1234 & C0561 and U0100", dict.fromkeys(
            ["P0300", "P0301", "P0302", "B1234", "C0561", "U0100"], L)),
        ("PO300 confirmed", {"P0300": S}),  # the letter O typed for the digit
        ("P-0300, P 0316 (history)", {"P0300": S, "P0316": S}),
        ("U0100-00 stored", {"U0100": S}),
        ("P0171 | Confirmed | System too lean (bank 1)", {"P0171": S}),
        ("Stored: P0300 Pending: P0171", {"P0300": S, "P0171": P}),
        ("P0300 stored P0171 pending", {"P0300": S, "P0171": P}),
        ("Stored P0300, pending P0171, permanent P0420", {"P0300": S, "P0171": P, "P0420": X}),
        ("P0171 - Pending, not confirmed", {"P0171": P}),
        ("P0171, P0174: both stored", {"P0171": S, "P0174": S}),
        ("P0340 Camshaft position sensor: no signal", {"P0340": L}),
        ("P0101 Airflow meter range, not plausible", {"P0101": L}),
        ("P2237 Positive current control circuit open", {"P2237": L}),
        ("P0300 was cleared and came back", {"P0300": L}),
        ("P0300 will not clear", {"P0300": L}),
        ("Codes after clearing: P0171", {"P0171": L}),
        ("P0300, not P0301", {"P0300": L}),
        ("P0171 stored, P0300 cleared", {"P0171": S}),
        ("looked for P0300 but P0171 is stored", {"P0171": S}),
    ],
)  # fmt: skip
def test_codes_in_plain_sight_are_taken_with_their_kind(line, codes):
    assert dict(read_code_line(line).codes) == codes


@pytest.mark.parametrize(
    "line",
    ["P0300 cleared", "not P0300", "P0300 and P0316 not present", "cleared P0300, P0316", "Cleared codes: P0300",
     "no P0300, P0316", "P0300 cleared, has not returned", "P0300: none", "P0300 OK", "P0300 isn't stored",
     "P0300 no longer there", "P0300?", "Could be P0300 or P0316", "If P0300 then look at the coil", "without P0300",
     "P0300 is gone", "no stored code P0300", "neither P0300 nor P0316", "P0300 never came back"],
)  # fmt: skip
def test_code_that_its_line_denies_or_supposes_is_named_and_not_taken(line):
    said = read_code_line(line)
    assert not said.codes
    assert said.denied[0][0] == "P0300"
    assert all(why for _, why in said.denied)


@pytest.mark.parametrize(
    ("line", "empty"),
    [("No codes", (L,)), ("no codes stored", (S,)), ("Pending: none", (P,)), ("Pending codes: 0", (P,)),
     ("no stored or pending codes", (S, P)), ("There are no trouble codes.", (L,)), ("Customer says no codes", ()),
     ("Warm-ups since codes cleared: 40", ()), ("Codes were not cleared", ())],
)  # fmt: skip
def test_a_line_that_says_there_is_none(line, empty):
    said = read_code_line(line)
    assert (said.empty, said.codes, said.cleared) == (empty, (), False)


@settings(max_examples=200)
@given(
    st.lists(st.integers(0, 0xFFFF), min_size=1, max_size=5, unique=True),
    st.sampled_from([" ", ", ", "; ", "/", " and "]),
    st.booleans(),
    st.sampled_from(["", "Stored codes: ", "codes "]),
)
def test_every_code_in_every_list_is_taken(raw, between, small, before):
    codes = [code_of(number >> 8, number & 255) for number in raw]
    text = before + between.join(code.lower() if small else code for code in codes)
    assert [code for code, _ in read_code_line(text).codes] == codes


@pytest.mark.parametrize(
    ("line", "values"),
    [
        ("RPM 780", {"RPM": 780}), ("STFT1 +6.3 %", {"STFT1": 6.3}), ("LTFT B1: 12,5%", {"LTFT1": 12.5}),
        ("ECT 92 C", {"ECT": 92}), ("Coolant temperature: 212 °F", {"ECT": 100}), ("LTFT 2 %", {"LTFT1": 2}),
        ("LTFT bank 2 = 5 percent", {"LTFT2": 5}), ("Short-term fuel trim (bank 2): -3.1 %", {"STFT2": -3.1}),
        ("STFT1 + 6,3 %", {"STFT1": 6.3}), ("RPM - 780", {"RPM": 780}),
        ("Engine speed [rpm] | 1,150", {"RPM": 1150}), ("780 rpm", {"RPM": 780}), ("MAP at idle 0.52 bar", {"MAP": 52}),
        ("target idle speed 700 rpm", {"TARGET": 700}), ("Battery voltage 14,1V", {"VOLT": 14.1}),
        ("Misfire cylinder 2: 420", {"MIS2": 420}), ("Warm-ups since codes cleared: 40", {"WARMUPS": 40}),
        ("RPM: 780, STFT1: 2.3, LTFT1: 9.4, ECT: 92C", {"RPM": 780, "STFT1": 2.3, "LTFT1": 9.4, "ECT": 92}),
    ],
)  # fmt: skip
def test_values_whose_name_and_unit_leave_no_doubt_are_taken(line, values):
    found, doubts = read_values(line)
    assert {one.key: one.value for one in found} == pytest.approx(values)
    assert not doubts


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("ECT 92", "no unit"), ("load 45", "no unit"), ("MAF 3.4 lb/min", "not a unit for this reading"),
        ("LTFT1 - 12.5 %", "may be a minus"), ("RPM 700-800", "range"), ("normal MAP 30 kPa", "measured"),
        ("MAP 5000 kPa", "not possible"), ("12 % of them", "no name"), ("STFT1 6 V", "not a unit for this reading"),
    ],
)  # fmt: skip
def test_value_in_doubt_is_named_and_left_out(line, why):
    found, doubts = read_values(line)
    assert not found
    assert why in doubts[0]


SHEET = """INVENTED WORKSHOP bay 2
Stored codes
  1  P0171  Mixture too lean
Pending
none
Freeze frame P0171
RPM 780
STFT1 +6.3 %
ECT 92 C
load 33 %
Idle: RPM 1125, LTFT1 18 %
Manifold pressure   52 kPa"""


def test_headings_hold_for_the_lines_below_them():
    text = read_plain(SHEET.splitlines())
    assert text.data.codes == {"stored": ("P0171",), "pending": ()}
    assert text.data.freeze_frame.code == "P0171"
    assert text.data.freeze_frame.values == pytest.approx({"RPM": 780, "STFT1": 6.3, "ECT": 92, "LOAD": 33})
    assert text.data.samples["idle"].values == {"RPM": 1125, "LTFT1": 18, "MAP": 52}
    assert text.rest == ("INVENTED WORKSHOP bay 2",)


@pytest.mark.parametrize(
    "rows",
    [
        ["Engine RPM,780,rpm", "ECT,92,C", "LTFT1,12.5,%"],
        ['"Engine RPM","780","rpm"', '"ECT","92","C"', '"LTFT B1","12,5","%"'],
        ["Time;RPM;ECT;LTFT1;Knock", "s;rpm;C;%;", "0,1;770;92;12,5;4", "0,2;780;92;12,5;4", "0,3;790;92;12,5;4"],
        ["Time (s),Engine RPM (rpm),ECT (C),LTFT1 (%)", "0.1,780,91,12.5", "0.2,780,93,12.5"],
    ],
    ids=["a value a row", "quoted", "columns with a row of units", "columns with their units"],
)
def test_table_is_read_by_rows_or_columns(rows):
    data = read_plain(rows).data
    assert data.samples["idle"].values == pytest.approx({"RPM": 780, "ECT": 92, "LTFT1": 12.5})
    assert not data.remarks


def test_column_without_its_unit_is_named_once():
    assert len(read_plain(["Time,RPM,ECT", "1,780,92", "2,781,93", "3,782,94"]).data.remarks) == 1


def test_sheet_becomes_findings_with_the_other_families_free(knowledge):
    found = {
        t.check: t.result for t in interpret(read_plain(SHEET.splitlines()).data, knowledge, Surroundings()).findings
    }
    assert found["codes-lean"] == "lean"
    assert found["codes-misfire"] == "none"
    assert (found["freeze-frame"], found["trim-idle"], found["idle-map"]) == ("at-idle", "lean", "high")


def test_codes_of_no_told_kind_leave_the_other_families_open(knowledge):
    found = interpret(read_plain(["P0171 again"]).data, knowledge, Surroundings())
    assert {t.check: t.result for t in found.findings} == {"codes-lean": "lean"}
    assert "type the whole list" in next(h.why for h in found.withheld if h.check == "codes-misfire")


def test_denied_codes_and_no_codes_become_no_findings(knowledge):
    data = read_plain(["P0300 cleared", "not P0301", "no codes"]).data
    assert not interpret(data, knowledge, Surroundings()).findings
    assert any("P0301 is not taken" in remark for remark in data.remarks)


def test_the_last_word_on_a_code_counts():
    assert read_plain(["P0300 stored", "P0300 cleared"]).data.all_codes == ()
    assert read_plain(["P0300 cleared", "P0300 stored"]).data.all_codes == ("P0300",)


def test_trims_in_open_loop_are_not_judged(knowledge):
    found = interpret(read_plain(["open loop", "RPM 780", "LTFT1 18 %"]).data, knowledge, Surroundings())
    assert "trim-idle" not in {told.check for told in found.findings}


@pytest.mark.parametrize("line", ["7E8 06 43 02 01 71 05 07", "43 01 71 00 00 00 00", "10:32:01.250 RX 41 0C 0B 54"])
def test_bytes_are_left_for_the_framing(line):
    assert read_plain([line]).rest == (line,)


@pytest.mark.parametrize("line", ["Load 47", "Order no. 430171", "Page 43", "Odometer 470000", "Bay 44", "RPM 780"])
def test_number_behind_a_word_is_no_answer_of_a_car(line):
    framed = read_lines([line])
    assert (framed.messages, framed.unread) == ([], [line])


@settings(max_examples=300, deadline=None)
@given(st.lists(st.text(max_size=60), max_size=6))
def test_no_text_whatever_raises(lines):
    text = read_plain(lines)
    collect(read_lines(text.rest))


WORDS = st.sampled_from(
    ["P0300", "p0171", "not", "no", "cleared", "stored", "pending", "codes", ":", ",", "RPM 780", "LTFT1", "+", "-",
     "12,5", "%", "ECT 92 C", "at idle", "freeze frame", "?", "but"]
)  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(st.lists(WORDS, max_size=12).map(" ".join))
def test_no_sentence_of_these_words_raises_and_no_code_is_lost(line):
    said = read_code_line(line)
    seen = {word.upper() for word in line.split() if word.upper() in ("P0300", "P0171")}
    assert {code for code, _ in (*said.codes, *said.denied)} == seen
    read_plain([line])


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        ("+ 6,5 %", "%", 6.5), ("6,5 percent", "%", 6.5), ("6.5percent", "%", 6.5), ("- 6.5", "%", -6.5),
        ("\u2212 6,5 %", "%", -6.5), ("780 rpm", "rpm", 780), ("0.1 bar", "kPa", 10), ("1 psi", "kPa", 6.894757),
        ("2,1bar", "kPa", 210), ("0,125", "V", 0.125), ("1,200", "rpm", 1200), ("1.200,5", "rpm", 1200.5),
        ("1\u202f200", "rpm", 1200), ("12'400 mV", "V", 12.4), ("50 mA", "mA", 50), ("0,3 A", "mA", 300),
        ("0.2 V AC", "V AC", 0.2), ("60 mph", "km/h", 96.56064), ("5 degrees", "degrees", 5), ("30 ppm", "ppm", 30),
    ],
)  # fmt: skip
def test_numbers_as_people_write_them(typed, unit, value):
    # 1 psi = 6.894757 kPa, 1 bar = 100 kPa (NIST SP 811, from memory); 1 mile = 1.609344 km, exact.
    assert read_number(typed, unit) == pytest.approx(value)


@settings(max_examples=200)
@given(st.integers(-9_999_999, 9_999_999), st.integers(0, 2), st.sampled_from([",.", ".,", " .", " ,", "'.", ".", ","]),
       st.sampled_from(["", " "]))  # fmt: skip
def test_signs_thousands_and_decimals_come_back(whole, places, signs, gap):
    value, (group, point) = whole / 10**places, (signs[:-1], signs[-1])
    text = f"{abs(value):,.{places}f}".replace(",", "G").replace(".", point).replace("G", group)
    if group in ",." and group and not places and text.count(group) < (2 if group == "." else 1):
        return  # `1.200` is one point two; a lone group mark is no thousand but for the comma
    assert read_number(("-" if whole < 0 else "+") + gap + text, "%") == pytest.approx(value)


@pytest.mark.parametrize("typed", ["3 1", "12..4", "1,200,5", "--5", "6.5 % %", "+", "1e5"])
def test_what_is_no_number_is_refused(typed):
    with pytest.raises(BadReading):
        read_number(typed, "%")


@pytest.mark.parametrize(
    ("typed", "codes"),
    [("P0303, P0353", ("P0303", "P0353")), ("P0303 and P0353", ("P0303", "P0353")), ("p0507, pending", ("P0507",)),
     ("p0303 p0353", ("P0303", "P0353")), ("p303", ("P0303",)), ("P 303", ("P0303",)),
     ("P0303/P0353 stored", ("P0303", "P0353")),
     ("P0300, frog", None), ("n", None), ("codes-lean:lean", None)],
)  # fmt: skip
def test_a_list_of_codes_is_taken_at_once(typed, codes):
    assert code_list(typed) == codes


@pytest.mark.parametrize("typed", ["P0303 cleared", "not P0303", "P0303?", "P0420 permanent"])
def test_list_that_denies_a_code_is_asked_back(typed):
    with pytest.raises(BadReading, match="there now"):
        code_list(typed)


def test_words_beside_typed_codes_change_nothing():
    assert read_typed(["P0303", "and", "P0353,", "pending"]).data.codes == {"typed": ("P0303", "P0353")}
    assert read_typed(["no", "codes"]).data.codes == {"typed": ()}
    with pytest.raises(BadReading, match="there now"):
        read_typed(["P0303", "cleared"])
