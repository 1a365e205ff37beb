"""Slips in the form of a file (indent, colon, quote, bracket, tab) said in a trainer's words, with the remedy."""

import re

Spot = tuple[int, int]
"""Line and column, from 0."""

TAB = "There is a tab here. Use spaces instead, two for each step inwards."
_NAME = re.compile(r"\s*(?:- )?([^\s:#'\"{\[][^:]*): +(?=\S)")
_BY_BEGINNING = (
    ("found character that cannot start", "A text may not begin with {sign} here. Put it in quotes."),
    ("did not find expected '-'",
     "A list is going on here. Begin the line with `- `, or line it up with the name of the list."),
    ("did not find expected <document start>",
     "This line begins further left than the first one. All sections begin at the left edge."),
    ("did not find expected comment",
     "After | or > the text begins on the next line. Or leave the sign out and use quotes."),
    ("", "This line cannot be read: {found}. Look at its indent, quotes and colons."),
)  # fmt: skip
"""How the parser's sentence begins -> what is wrong at the place where it gave up."""


def plain_slip(text: str, found: str, place: Spot | None, began: Spot | None) -> tuple[Spot, str]:
    """Where to look and what to do. `found` is the parser's own sentence, `place` where it gave up,
    `began` where the part it was reading begins."""
    place = place or began or (0, 0)
    start = began or place
    lines = text.splitlines()
    line = lines[place[0]] if place[0] < len(lines) else ""
    sign = line[place[1] : place[1] + 1]
    indent = len(line) - len(line.lstrip())
    if "\t" in line[:indent] or sign == "\t":
        return place, TAB
    if found.startswith("mapping values"):
        return place, _second_colon(line, place[1])
    if found == "did not find expected key":
        where = f"This line begins after {indent} spaces and lines up with no line above."
        if sign in ("]", "}"):
            return place, f"The bracket {sign} closes nothing. Take it away, or add its opening one."
        if place[1] > indent:
            remedy = 'Put the whole text in "..." and use only single quotes inside.'
            return place, f"Text goes on after a closing quote. {remedy}"
        return place, f"{where} Line it up with its neighbors."
    if found.startswith("did not find expected ','") and began is not None:
        close, surplus = found[-2], f", or this {sign} is one too many" if sign in ("]", "}") else ""
        opened = f"the {'{' if close == '}' else '['} is on line {began[0] + 1}"
        missing = f"A comma or the closing {close} is missing before this{surplus}; {opened}."
        return place, f"{missing} A text with a colon in it needs quotes."
    if found == "could not find expected ':'":
        remedy = "Write `name: value`; a text that goes on over several lines needs quotes."
        return start, f"This line has no colon. {remedy}"
    if found == "found unexpected end of stream":
        return start, "The quote that opens here is not closed. Add the second one."
    said = next(said for beginning, said in _BY_BEGINNING if found.startswith(beginning))
    return place, said.format(sign=sign, found=found)


def _second_colon(line: str, column: int) -> str:
    named = _NAME.match(line)
    if named and named.end() <= column:
        value = line[named.end() :].rstrip().replace('"', "'")
        return f'A colon inside a text. Put the text in quotes: {named[1].strip()}: "{value}"'
    return (
        "This line does not fit below the one above. Line it up with its neighbors; "
        "the line above needs a colon at its end, or already has its text."
    )
