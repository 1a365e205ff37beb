"""Decoding held against published examples; a source stands beside each."""

import pytest

from comeback.engine.readout.findings.air_findings import standard_pressure
from comeback.engine.readout.protocol.framing import crc8, read_lines
from comeback.engine.readout.protocol.j1979 import collect, read_readiness
from comeback.engine.readout.protocol.parameters import BY_ITEM, LOOPS
from comeback.engine.readout.protocol.trouble_codes import code_of, who_defines

# Public table of J1979 data items (encyclopedia copy, aidilj.com 2012); items marked * from memory.
VALUES = [
    (0x04, "40", 25.098), (0x05, "7B", 83), (0x05, "00", -40), (0x06, "80", 0), (0x06, "9A", 20.3125),
    (0x07, "90", 12.5), (0x07, "66", -20.3125), (0x06, "00", -100), (0x06, "FF", 99.21875),
    (0x0B, "21", 33),  # *
    (0x0C, "0B54", 725), (0x0C, "1AF8", 1726), (0x0D, "50", 80), (0x0E, "94", 10), (0x0F, "3E", 22),
    (0x10, "012C", 3.00), (0x11, "26", 14.902),
    (0x1F, "0258", 600), (0x21, "002A", 42), (0x2E, "33", 20.0), (0x2F, "80", 50.196), (0x30, "28", 40),  # *
    (0x31, "00C8", 200), (0x33, "65", 101), (0x42, "37DC", 14.3), (0x4D, "0078", 120), (0x4E, "05A0", 1440),  # *
    (0x23, "0FA0", 40000),  # *
]  # fmt: skip


@pytest.mark.parametrize(("item", "data", "value"), VALUES)
def test_live_values_of_the_public_table(item, data, value):
    assert BY_ITEM[item].decode(bytes.fromhex(data)) == pytest.approx(value, abs=0.001)


# ISO 15031-6 / SAE J2012 format as taught (standard not read).
CODES = {"0171": "P0171", "2187": "P2187", "4035": "C0035", "9234": "B1234", "C100": "U0100", "0A0F": "P0A0F",
         "04EE": "P04EE", "050A": "P050A"}  # fmt: skip


@pytest.mark.parametrize(("raw", "code"), CODES.items())
def test_two_bytes_are_a_code(raw, code):
    assert code_of(*bytes.fromhex(raw)) == code


def test_who_defines_a_code():
    # Reproduction of the J2012 range table (cartech8.com); the split of P3xxx from memory.
    assert {who_defines(code) for code in ("P0171", "P2187", "U0100", "B0001", "C0035", "P3400")} == {"standard"}
    assert {who_defines(code) for code in ("P1234", "U1000", "U2000", "B1234", "C1200", "P33FF")} == {"maker"}
    assert {who_defines(code) for code in ("B3000", "C3000")} == {"reserved"}


def codes(text, kind="stored"):
    return collect(read_lines(text.splitlines())).codes.get(kind)


def test_count_byte_on_can_and_padding_on_older_links_give_the_same_codes():
    # From memory: the same two codes with a count on CAN, with padding on older links.
    assert codes("43 02 01 71 03 00") == ("P0171", "P0300")
    assert codes("43 01 71 03 00 00 00") == ("P0171", "P0300")
    assert codes("7E8 06 43 02 01 71 03 00") == ("P0171", "P0300")
    assert codes("43 00") == ()
    assert codes("43 00 00 00 00 00 00") == ()


def test_can_answer_without_its_count_is_read_in_pairs_and_says_so():
    # A known deviation of simulators: 05 43 01 71 03 00; a reader that drops a byte makes C3103 of it.
    data = collect(read_lines(["7E8 05 43 01 71 03 00"]))
    assert data.codes["stored"] == ("P0171", "P0300")
    assert "without their count" in data.remarks[0]


def test_refusal_of_a_freeze_frame_is_no_data():
    # A known error of readers: 7F 02 12 taken for 1152 rpm and -85.9 % trim.
    data = collect(read_lines(["7E8 03 7F 02 12"]))
    assert data.freeze_frame is None
    assert not data.samples
    assert "service 02 was refused" in data.remarks[0]


def test_freeze_frame_answers_carry_a_frame_number():
    # ISO 15031-5 layout from memory: 42 item frame data.
    frame = collect(read_lines(["42 02 00 01 71", "42 0C 00 0B 54", "42 05 00 7B"])).freeze_frame
    assert frame.code == "P0171"
    assert frame.values == {"RPM": 725, "ECT": 83}


def test_readiness_byte_by_byte():
    # Computed from the public table of item 01; the meaning of the single bits from memory.
    status = read_readiness(bytes.fromhex("83076504"))
    assert (status.lamp, status.codes) == (True, 3)
    assert status.supported == (
        "misfire", "fuel system", "components", "catalyst", "EVAP", "oxygen sensor", "oxygen sensor heater",
    )  # fmt: skip
    assert status.incomplete == ("EVAP",)
    blank = read_readiness(bytes.fromhex("0007E5E5"))
    assert (blank.lamp, blank.codes, len(blank.incomplete), blank.all_incomplete) == (False, 0, 5, True)


def test_closed_loop_is_status_2():
    assert LOOPS[0x02] == "closed loop"  # from memory
    assert collect(read_lines(["41 0C 0B 54", "41 03 02 00"])).samples["idle"].values["FUELSYS"] == 0x02


@pytest.mark.parametrize(
    ("feet", "kpa"), [(0, 101.33), (1000, 97.72), (3000, 90.81), (4000, 87.51), (5000, 84.31), (8000, 75.26)]
)
def test_standard_atmosphere(feet, kpa):
    # U.S. Standard Atmosphere 1976; a much copied table prints 87.44 at 4000 ft, the formula gives 87.51.
    assert standard_pressure(feet * 0.3048) == pytest.approx(kpa, abs=0.05)


def test_checksum_of_j1850():
    assert crc8(b"123456789") == 0x4B  # check value of CRC-8/SAE-J1850 in public catalogues (from memory)
