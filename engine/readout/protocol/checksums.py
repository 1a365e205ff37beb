"""Checksums of the older links, so that a damaged answer is left out instead of believed.

SAE J1850: CRC-8 with polynomial 0x1D, start and final exclusive-or 0xFF; ISO 9141-2 and ISO 14230-4:
sum of all bytes modulo 256 (standards not read; from memory).
"""


def _table() -> tuple[int, ...]:
    out = []
    for start in range(256):
        value = start
        for _ in range(8):
            value = (value << 1 ^ 0x1D if value & 0x80 else value << 1) & 0xFF
        out.append(value)
    return tuple(out)


_TABLE = _table()


def crc8(data: bytes) -> int:
    """CRC-8 of SAE J1850; 0x4B for the ASCII digits 1 to 9."""
    value = 0xFF
    for byte in data:
        value = _TABLE[value ^ byte]
    return value ^ 0xFF


def good_sum(frame: bytes) -> bool:
    """True if the last byte is the checksum of the bytes before, by either rule."""
    return len(frame) > 1 and frame[-1] in (sum(frame[:-1]) & 0xFF, crc8(frame[:-1]))
