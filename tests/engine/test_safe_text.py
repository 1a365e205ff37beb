"""Text that steers a terminal, hides or turns the reading order is made harmless, against Unicode's own tables."""

import json
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from comeback.engine.safe_text import SIGN, as_json, harmless, unsafe_sign

EVERY = [chr(number) for number in range(sys.maxunicode + 1)]
TURNING = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI", "BN"}
"""Bidirectional classes of explicit formatting, and of invisible signs (Unicode Standard Annex #9, table 4)."""


def test_no_control_sign_and_none_that_turns_the_reading_order_is_left():
    """Oracle: the general categories and bidirectional classes of the Unicode Character Database in Python."""
    left = [sign for sign in EVERY if harmless(f"a{sign}b") == f"a{sign}b"]
    assert [hex(ord(s)) for s in left if unicodedata.category(s) in ("Cc", "Cs", "Zl", "Zp")] == []
    assert [hex(ord(s)) for s in left if unicodedata.bidirectional(s) in TURNING - {"BN"}] == []


def test_text_of_every_script_stays_as_it_is():
    changed = [sign for sign in EVERY if harmless(sign) != sign]
    assert {unicodedata.category(sign)[0] for sign in changed} <= {"C", "Z"}
    assert harmless("Zoë's №3, 42 °C – “blåå”, 緑の車, зелёная 🚗") == "Zoë's №3, 42 °C – “blåå”, 緑の車, зелёная 🚗"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("red\x1b[1;3r\x1b[H", f"red{SIGN}[1;3r{SIGN}[H"),
        ("red\x9b2J", f"red{SIGN}2J"),
        ("two\r\nlines\tand\u2028more", "two lines and more"),
        ("a\u202eb\u2066c\u200bd", f"a{SIGN}b{SIGN}c{SIGN}d"),
    ],
)
def test_what_becomes_of_unsafe_signs(text, shown):
    assert harmless(text) == shown
    assert harmless(harmless(text)) == shown


def test_line_ends_stay_where_they_may():
    assert harmless("two\r\nlines\rand\x85\u2029more\x1b", breaks=True) == f"two\nlines\nand\n\nmore{SIGN}"


def test_bytes_that_the_locale_lacks_are_kept_as_typed():
    """What Python makes of UTF-8 and of Latin-1 under an ASCII locale (surrogateescape, PEP 383)."""
    assert harmless("café☃".encode().decode("ascii", "surrogateescape")) == "café☃"
    assert harmless("café".encode("latin-1").decode("utf-8", "surrogateescape")) == "caf\\xe9"
    assert harmless("\ud800") == "\\ud800"


def test_the_unsafe_sign_is_named():
    assert [unsafe_sign(text) for text in ("fine\n\t", "a\x1b\x07", "\u202e")] == ["", "U+001B", "U+202E"]


@given(st.text() | st.text(alphabet=st.characters(categories=["Cc", "Cf", "Zl", "Zp"])))
def test_json_is_exact_and_harmless(text):
    made = as_json({"text": text})
    assert json.loads(made) == {"text": text}
    assert harmless(made) == made


def test_json_has_no_number_that_json_lacks():
    assert json.loads(as_json([1.5, float("nan"), {"a": float("-inf")}], indent=1)) == [1.5, None, {"a": None}]
