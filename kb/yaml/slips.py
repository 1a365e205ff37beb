"""Slips in the form of a file (indent, colon, quote, bracket, tab) said in a trainer's words, with the remedy."""

import re

Spot = tuple[int, int]
"""Line and column, from 0."""

TAB = "There is a tab here. Use spaces instead, two for each step inwards."
_NAME = re.compile(r"\s*(?:- )?([^\s:#'\"{\[][^:]*): +(?=\S)")


def plain_slip(text: str, found: str, place: Spot | None, began: Spot | None) -> tuple[Spot, str]:
    """Where to look and what to do. `found` is the parser's own sentence, `place` where it gave up,
    `began` where the part it was reading begins."""
    place = place or began or (0, 0)
    lines = text.splitlines()
    line = lines[place[0]] if place[0] < len(lines) else ""
    if "\t" in line[: len(line) - len(line.lstrip())] or line[place[1] : place[1] + 1] == "\t":
        return place, TAB
    if found.startswith("mapping values"):
        return place, _second_colon(line, place[1])
    if found == "did not find expected key":
        return place, _out_of_line(line, place[1])
    if found.startswith("did not find expected ','") and began is not None:
        return place, _open_bracket(found[-2], began, line[place[1] : place[1] + 1])
    return _others(found, line, place, began)


def _second_colon(line: str, column: int) -> str:
    named = _NAME.match(line)
    if named and named.end() <= column:
        value = line[named.end() :].rstrip().replace('"', "'")
        return f'A colon inside a text. Put the text in quotes: {named[1].strip()}: "{value}"'
    return (
        "This line does not fit below the one above. Line it up with its neighbours; "
        "the line above needs a colon at its end, or already has its text."
    )


def _out_of_line(line: str, column: int) -> str:
    indent = len(line) - len(line.lstrip())
    if line[column : column + 1] in ("]", "}"):
        return f"The bracket {line[column]} closes nothing. Take it away, or add its opening one."
    if column > indent:
        return 'Text goes on after a closing quote. Put the whole text in "..." and use only single quotes inside.'
    return f"This line begins after {indent} spaces and lines up with no line above. Line it up with its neighbours."


def _open_bracket(bracket: str, began: Spot, here: str) -> str:
    pair = "{" if bracket == "}" else "["
    surplus = f", or this {here} is one too many" if here in ("]", "}") else ""
    return (
        f"A comma or the closing {bracket} is missing before this{surplus}; the {pair} stands on line {began[0] + 1}. "
        "A text with a colon in it needs quotes."
    )


def _others(found: str, line: str, place: Spot, began: Spot | None) -> tuple[Spot, str]:
    start = began or place
    if found == "could not find expected ':'":
        return start, (
            "This line has no colon. Write `name: value`; a text that goes on over several lines needs quotes."
        )
    if found == "found unexpected end of stream":
        return start, "The quote that opens here is not closed. Add the second one."
    if found.startswith("found character that cannot start"):
        return place, f"A text may not begin with {line[place[1] : place[1] + 1]} here. Put it in quotes."
    if found.startswith("did not find expected '-'"):
        return place, "A list is going on here. Begin the line with `- `, or line it up with the name of the list."
    if found.startswith("did not find expected <document start>"):
        return place, "This line begins further left than the first one. All sections begin at the left edge."
    if found.startswith("did not find expected comment"):
        return place, "After | or > the text begins on the next line. Or leave the sign out and use quotes."
    return place, f"This line cannot be read: {found}. Look at its indent, quotes and colons."
