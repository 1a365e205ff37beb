"""Lines are broken by the true widths of the shipped fonts, and warnings stand in columns about as high."""

import struct
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from comeback.diagrams.paper import lettering
from comeback.diagrams.paper.lettering import fitted, height_of_columns, width_of

FONTS = Path(lettering.__file__).parent.parent / "fonts"


def font_widths(path):
    """Advance widths of ASCII in thousandths, read from the tables `cmap` (format 4) and `hmtx` of a TrueType file."""
    data, tables = path.read_bytes(), {}
    for i in range(struct.unpack(">H", data[4:6])[0]):
        tag, _, offset, _ = struct.unpack(">4sIII", data[12 + 16 * i : 28 + 16 * i])
        tables[tag] = offset
    unit = struct.unpack(">H", data[tables[b"head"] + 18 :][:2])[0]
    count = struct.unpack(">H", data[tables[b"hhea"] + 34 :][:2])[0]
    advance = [struct.unpack(">H", data[tables[b"hmtx"] + 4 * i :][:2])[0] for i in range(count)]
    cmap = tables[b"cmap"]
    subtables = struct.unpack(">H", data[cmap + 2 :][:2])[0]
    offsets = [struct.unpack(">I", data[cmap + 8 + 8 * i :][:4])[0] for i in range(subtables)]
    at = next(cmap + o for o in offsets if struct.unpack(">H", data[cmap + o :][:2])[0] == 4)
    segments = struct.unpack(">H", data[at + 6 :][:2])[0] // 2
    size = 2 * segments

    def column(skip, kind):
        return struct.unpack(f">{segments}{kind}", data[at + skip :][:size])

    ends, starts = column(14, "H"), column(16 + size, "H")
    deltas, ranges = column(16 + 2 * size, "h"), column(16 + 3 * size, "H")

    def glyph(code):
        i = next(i for i in range(segments) if starts[i] <= code <= ends[i])
        if not ranges[i]:
            return (code + deltas[i]) & 0xFFFF
        place = at + 16 + 3 * size + 2 * i + ranges[i] + 2 * (code - starts[i])
        return struct.unpack(">H", data[place:][:2])[0]

    return [round(advance[glyph(code)] * 1000 / unit) for code in range(32, 127)]


@pytest.mark.parametrize(("name", "text"), [("Regular", lettering.REGULAR), ("Bold", lettering.BOLD)])
def test_widths_are_those_of_the_shipped_fonts(name, text):
    assert [int(width) for width in text.split()] == font_widths(FONTS / f"LiberationSans-{name}.ttf")


@given(st.lists(st.text("abcWi.", min_size=1, max_size=12), min_size=1, max_size=30), st.floats(60, 300))
def test_no_line_is_wider_than_its_room_and_no_word_is_lost(words, room):
    lines = fitted(" ".join(words), room, 10)
    assert " ".join(lines).split() == words
    assert all(width_of(line, 10) <= room or " " not in line for line in lines)


def test_a_first_line_may_be_shorter():
    assert fitted("aaa bbb ccc", 100, 10, first=20) == ["aaa", "bbb ccc"]
    assert fitted("aaa bbb", 100, 10, first=2) == ["", "aaa bbb"]


def test_a_number_stays_with_its_unit():
    room = width_of("Restart after 10 min: Within 2", 10)
    assert fitted("Restart after 10 min: Within 2 s", room, 10) == ["Restart after 10 min: Within", "2 s"]


@given(st.lists(st.floats(1, 50), max_size=12))
def test_two_columns_are_as_low_as_any_split_allows(heights):
    best, count = height_of_columns(heights)
    splits = [max(sum(heights[:k]), sum(heights[k:])) for k in range(len(heights) + 1)]
    assert best == pytest.approx(min(splits, default=0.0))
    assert max(sum(heights[:count]), sum(heights[count:])) == pytest.approx(best)
