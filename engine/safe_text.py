"""Text from outside made harmless: what steers a terminal, hides, or turns the reading order becomes a visible sign.

Which characters: Unicode's categories Cc (controls: C0, DEL, C1), Zl and Zp (line and paragraph separators) and Cs
(half characters); those with the property Bidi_Control (Unicode Standard Annex #9) and the invisible ones of
Default_Ignorable_Code_Point that stand alone (soft hyphen, zero-width characters, tags, interlinear marks).
"""

import re
from typing import Any

SIGN = "\ufffd"
"""REPLACEMENT CHARACTER: one for each unsafe character, so that a reader sees that something was there."""
_HIDDEN = (
    "\x7f-\x9f\xad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\ud800-\udfff"
    "\U000e0000-\U000e007f"
)
_UNSAFE = re.compile(f"[\x00-\x1f{_HIDDEN}]")
_REFUSED = re.compile(f"[\x00-\x08\x0b-\x1f{_HIDDEN}]")
_IN_JSON = re.compile(f"[{_HIDDEN}]")
_BREAK = re.compile("\r\n?|[\n\v\f\x85\u2028\u2029]")
_HALF = re.compile("[\ud800-\udfff]")


def harmless(text: str, breaks: bool = False) -> str:
    """The text as it may be stored and shown: tabs and line ends are blanks, other unsafe characters SIGN.

    `breaks`: line ends stay, each as one line feed. Bytes that Python could not decode (half characters, by its
    `surrogateescape`) are UTF-8 after all, or stand as `\\xe9`: what was typed is not lost.
    """
    if not _UNSAFE.search(text):
        return text
    if _HALF.search(text):  # it came through a locale that lacks its characters
        try:
            data = text.encode("utf-8", "surrogateescape")
        except UnicodeEncodeError:  # a half that comes from no byte
            data = text.encode("utf-8", "backslashreplace")
        text = data.decode("utf-8", "backslashreplace")
    text = _BREAK.sub("\n" if breaks else " ", text).replace("\t", " ")
    return _UNSAFE.sub(lambda found: "\n" if found[0] == "\n" else SIGN, text)


def unsafe_sign(text: str) -> str:
    """`U+001B` for the first character that text from another log may not hold, empty if there is none.

    Tabs and line feeds may be in it: they are blanks when shown.
    """
    found = _REFUSED.search(text)
    return f"U+{ord(found[0]):04X}" if found else ""


def as_json(data: Any, indent: int | None = None, sort_keys: bool = False) -> str:
    """JSON (RFC 8259) whose strings are exact and yet harmless on a terminal: unsafe characters are escaped in it.

    Numbers that JSON does not have (NaN, Infinity) are null.
    """
    import json  # only here: the first question needs the rest of this module

    options: dict[str, Any] = {"ensure_ascii": False, "allow_nan": False, "indent": indent, "sort_keys": sort_keys}
    try:
        text = json.dumps(data, **options)
    except ValueError:
        text = json.dumps(json.loads(json.dumps(data), parse_constant=lambda name: None), **options)
    return _IN_JSON.sub(lambda found: json.dumps(found[0]).strip('"').replace("\x7f", "\\u007f"), text)
