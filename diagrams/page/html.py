"""One HTML file out of the data: style and script inline and pinned by hash, nothing from anywhere else."""

import hashlib
import json
import re
from base64 import b64encode
from collections.abc import Mapping
from html import escape
from importlib import resources
from typing import Any

from comeback.diagrams.words import in_signs

OUT_OF_SCRIPT = str.maketrans({sign: f"\\u{ord(sign):04x}" for sign in "<>&\u2028\u2029"})
"""Signs that could end the script element they stand in, or a line of it; inside JSON they only occur in text."""


def page_of(data: Mapping[str, Any]) -> str:
    """The whole page; the same text for the same data."""
    style, script = _resource("page.css"), _resource("way.js") + _resource("screens.js")
    parts = {
        "TITLE": escape(f"Comeback: {data['service']['name']}"),
        "POLICY": policy(style, script),
        "STYLE": style,
        "SCRIPT": script,
        "DATA": embedded(data),
    }
    return re.sub("@@([A-Z]+)@@", lambda found: parts[found[1]], _resource("page.html"))


def embedded(data: Mapping[str, Any]) -> str:
    """JSON that no text in it can break out of a script element."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return in_signs(text).translate(OUT_OF_SCRIPT)


def policy(style: str, script: str) -> str:
    """Content security policy (W3C, level 3): only this style and this script, no request to anywhere."""
    return (
        f"default-src 'none'; style-src {_hash(style)}; script-src {_hash(script)}; base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _resource(name: str) -> str:
    return (resources.files("comeback.diagrams.page") / name).read_text(encoding="utf-8")
