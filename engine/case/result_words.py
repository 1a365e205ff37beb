"""Results of checks in words that can be read alone: for the caller, for the log, and for a danger strip on paper."""

import re
from collections.abc import Sequence

from comeback.kb.schema import Check


def lower_first(text: str) -> str:
    """The text as it stands inside a sentence; short forms such as MAP and a gear's letter stay."""
    return text if text[1:2].isupper() or text[:2] == "D " else text[:1].lower() + text[1:]


def result_alone(check: Check, result: str) -> str:
    """The result in words that need nothing before them: `smoke or flames`, `temperature gauge: in the red`."""
    label, name = lower_first(check.results[result]), lower_first(check.name)
    shared = set(re.findall(r"\w{4,}", label.lower())) & set(re.findall(r"\w{4,}", name.lower()))
    named = shared and not re.match(r"(it|while|in)\b", label, re.IGNORECASE)
    return label if named else f"{name}: {label}"


def results_alone(check: Check, results: Sequence[str]) -> str:
    """Any of the results in words that need nothing before them; the name of the check once if it is needed."""
    name = f"{lower_first(check.name)}: "
    told = [result_alone(check, result) for result in results]
    named = [text for text in told if text.startswith(name)]
    bare = [text for text in told if text not in named]
    return ", or ".join([*bare, *(text if k == 0 else text.removeprefix(name) for k, text in enumerate(named))])
