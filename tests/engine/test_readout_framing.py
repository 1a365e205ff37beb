"""Text of adapters and logs becomes whole messages; what is damaged or strange is left out and named."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.engine.readout.protocol.car_data import CONTINUOUS, Readiness
from comeback.engine.readout.protocol.framing import Message, crc8, read_lines
from comeback.engine.readout.protocol.j1979 import SPARK, collect, read_readiness
from comeback.engine.readout.protocol.trouble_codes import LETTERS, code_of, read_code

FIVE = ("P0101", "P0102", "P0103", "P0104", "P0105")
FIVE_BYTES = "01 01 01 02 01 03 01 04 01 05"


def split_for_can(unit, payload):
    """ISO 15765-2 text of a payload: one frame, or a first and numbered consecutive ones."""
    if len(payload) <= 7:
        return [f"{unit} {bytes([len(payload), *payload]).hex(' ')}"]
    lines = [f"{unit} {bytes([0x10 | len(payload) >> 8, len(payload) & 255, *payload[:6]]).hex(' ')}"]
    for number, start in enumerate(range(6, len(payload), 7), 1):
        lines.append(f"{unit} {bytes([0x20 | number & 15, *payload[start : start + 7]]).hex(' ')}")
    return lines


@settings(max_examples=200)
@given(payload=st.binary(max_size=300), service=st.integers(0x41, 0x4A), unit=st.sampled_from(["7E8", "18DAF110"]))
def test_what_was_split_for_can_comes_back_whole(payload, service, unit):
    whole = bytes([service, *payload])
    assert read_lines(split_for_can(unit, whole)).messages == [Message(unit, whole, True)]


def bytes_of(code: str) -> tuple[int, int]:
    """The two bytes of a code as `read_code` gives it."""
    return LETTERS.index(code[0]) << 6 | int(code[1]) << 4 | int(code[2], 16), int(code[3:], 16)


@settings(max_examples=200)
@given(raw=st.integers(0, 0xFFFF))
def test_codes_go_to_bytes_and_back(raw):
    code = code_of(raw >> 8, raw & 255)
    assert bytes_of(code) == (raw >> 8, raw & 255)
    assert read_code(code.lower()) == code


def write_readiness(status: Readiness) -> bytes:
    """The four bytes that say this; the inverse of `read_readiness` for spark ignition."""
    b = c = d = 0
    for bit, name in enumerate(CONTINUOUS):
        b |= (name in status.supported) << bit | (name in status.incomplete) << bit + 4
    for bit, name in enumerate(SPARK):
        c |= (name in status.supported) << bit
        d |= (name in status.incomplete) << bit
    return bytes([status.lamp << 7 | status.codes, b, c, d])


@settings(max_examples=200)
@given(data=st.binary(min_size=4, max_size=4))
def test_readiness_goes_to_bytes_and_back(data):
    status = read_readiness(data)
    if not data[1] & 0x08:  # spark ignition
        assert read_readiness(write_readiness(status)) == status
    assert isinstance(status, Readiness)


@pytest.mark.parametrize(
    "lines",
    [
        [f"7E8 10 0C 43 05 {FIVE_BYTES[:11]}", f"7E8 21 {FIVE_BYTES[12:]} 55"],
        ["00C", f"0: 43 05 {FIVE_BYTES[:11]}", f"1: {FIVE_BYTES[12:]} 55"],
        [f"43 {FIVE_BYTES[:17]}", f"43 {FIVE_BYTES[18:]} 00 00"],
    ],
    ids=["with identifiers", "numbered parts", "older link, two answers"],
)
def test_many_codes_in_every_form_of_several_parts(lines):
    assert collect(read_lines(lines)).codes == {"stored": FIVE}


def test_numbered_parts_of_two_control_units_are_not_mixed():
    lines = ["00C", "00C", f"0: 43 05 {FIVE_BYTES[:11]}", "0: 47 05 02 01 02 02", f"1: {FIVE_BYTES[12:]} 55",
             "1: 02 03 02 04 02 05 55"]  # fmt: skip
    codes = collect(read_lines(lines)).codes
    assert codes == {"stored": FIVE, "pending": ("P0201", "P0202", "P0203", "P0204", "P0205")}


@pytest.mark.parametrize(
    "line",
    ["41 0C 0B 54", "410C0B54", "7E8 04 41 0C 0B 54", "7E804410C0B54000000", "18 DA F1 10 04 41 0C 0B 54",
     "10:32:01.250 RX 41 0C 0B 54", ">41 0C 0B 54"],
)  # fmt: skip
def test_engine_speed_in_every_form(line):
    data = collect(read_lines([line]))
    assert data.samples["idle"].values == {"RPM": 725}
    assert not data.remarks


def older(header, payload, total):
    frame = bytes.fromhex(header) + bytes.fromhex(payload)
    return [bytes([*frame, total(frame)]).hex(" ")]


@pytest.mark.parametrize(
    ("header", "total"),
    [
        ("48 6B 10", crc8),
        ("48 6B 10", lambda f: sum(f) & 255),
        ("84 F1 10", lambda f: sum(f) & 255),
        ("41 6B 10", crc8),
    ],
    ids=["J1850 VPW", "ISO 9141-2", "ISO 14230-4", "J1850 PWM"],
)
def test_older_links_lose_header_and_checksum(header, total):
    framed = read_lines(older(header, "41 0C 0B 54", total))
    assert framed.messages == [Message("10", bytes.fromhex("410C0B54"), False)]


def test_damaged_answer_of_an_older_link_is_left_out():
    framed = read_lines(["48 6B 10 41 0C 0B 54 00"])
    assert not framed.messages
    assert "wrong checksum" in framed.remarks[0]


def test_two_control_units_are_kept_apart():
    data = collect(read_lines(["7E8 04 43 01 01 71", "7E9 04 43 01 07 00"]))
    assert data.units == {"7E8": ("P0171",), "7E9": ("P0700",)}
    assert data.codes["stored"] == ("P0171", "P0700")


def test_long_answer_with_a_part_missing_is_left_out_and_named():
    framed = read_lines(["7E8 10 14 49 02 01 31 31 31", "7E8 22 31 31 31 31 31 31 31"])
    assert not framed.messages
    assert "incomplete" in framed.remarks[0]


def test_words_of_the_adapter_become_sentences_and_echoes_nothing():
    framed = read_lines(["ATZ", "0100", "SEARCHING...", "UNABLE TO CONNECT", "?", "03"])
    assert framed.remarks == ["the adapter found no control unit: ignition on? (UNABLE TO CONNECT)"]
    assert not framed.unread


def test_log_in_which_codes_were_cleared_says_so():
    assert collect(read_lines(["04", "44"])).cleared
    assert not collect(read_lines(["0104", "41 04 40"])).cleared


def test_two_byte_value_is_not_read_from_one_byte():
    data = collect(read_lines(["41 0C 0B"]))
    assert not data.samples
    assert "1 of 2 bytes" in data.remarks[0]


def test_several_items_in_one_answer():
    data = collect(read_lines(["7E8 10 09 41 0C 0B 54 05 7B 0B", "7E8 21 21 55 55 55 55 55 55"]))
    assert data.samples["idle"].values == {"RPM": 725, "ECT": 83, "MAP": 33}


def test_misfire_counts_by_cylinder():
    # Service 06, monitors A2 on, test 0C: layout from memory.
    data = collect(
        read_lines(["46 A2 0C 24 00 05 00 00 FF FF A2 0B 24 00 01 00 00 FF FF", "46 A3 0C 24 01 A4 00 00 FF FF"])
    )
    assert data.misfires == {1: 5, 2: 420}


TEN = settings(max_examples=250, deadline=None)
"""Each example holds ten strings: 4 tests x 250 x 10 are 10,000."""


def ten(strings):
    return st.lists(strings, min_size=10, max_size=10)


@TEN
@given(ten(st.binary(max_size=40)))
def test_random_bytes_as_an_answer_never_raise(strings):
    for data in strings:
        collect(read_lines([data.hex(" ")]))


@TEN
@given(ten(st.binary(max_size=60)))
def test_random_bytes_as_text_never_raise(strings):
    for data in strings:
        collect(read_lines([data.decode("latin-1")]))


@TEN
@given(ten(st.binary(min_size=1, max_size=30)))
def test_random_answers_of_every_service_never_raise(strings):
    for data in strings:
        collect(read_lines([bytes([0x41 + data[0] % 10, *data[1:]]).hex()]))


@TEN
@given(ten(st.binary(max_size=9)), st.sampled_from(["7E8", "7E0", "18DAF110"]))
def test_random_frames_together_never_raise(strings, unit):
    collect(read_lines(f"{unit} {data.hex(' ')}" for data in strings))
