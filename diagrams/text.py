"""The text version of a sheet: the same steps with the same numbers, for whoever cannot see or print it."""

from collections.abc import Iterator
from textwrap import wrap

from comeback.diagrams.notices import Notice
from comeback.diagrams.sheet import Sheet, Step
from comeback.diagrams.words import in_signs

WIDTH = 79


def text_of(sheet: Sheet, foot: str) -> str:
    """The sheet as plain text; `foot` says where it comes from."""
    return "\n".join(in_signs(line.rstrip()) for line in _lines(sheet, foot)) + "\n"


def _lines(sheet: Sheet, foot: str) -> Iterator[str]:
    yield f"{sheet.title.upper()}, {sheet.after} ({sheet.reader.lower()})"
    signs = f": {'; '.join(sheet.signs)}" if sheet.signs else ""
    yield from _told(f"STOP. {f'{sheet.now} {sheet.stop}'.strip()}{signs}.")
    yield from _cautions(sheet.common, "Always: ")
    for step in (one for one in sheet.steps if not one.codes):
        yield from _step(step, sheet)
    yield ""
    yield from _told("END. " + " ".join(sheet.end))
    codes = [one for one in sheet.steps if one.codes]
    if codes:
        yield from ("", f"CODE TABLE. Nothing found, or not fixed: go on at {codes[0].then}.")
    for step in codes:
        yield from _step(step, sheet)
    for spoken in sheet.spoken:
        yield from ("", f"READ ALOUD: {spoken.name}")
        for line in (*spoken.say, *spoken.worse):
            yield from _told(f'"{line}"', "  ")
        for line in spoken.promise_not:
            yield from _told(line, "  ")
    yield ""
    yield from _told(f"{sheet.figures} {sheet.limits} {foot}")


def _step(step: Step, sheet: Sheet) -> Iterator[str]:
    yield ""
    yield from _told(f"{step.number}. {step.title}{f' ({step.state})' if step.state else ''}")
    yield from _cautions(step.cautions, "   ")
    yield from _told(step.note, "   ")
    look, find, do, fixed = (head.upper() for head in sheet.heads)
    for line in step.lines:
        own = " ".join(map(_signal, line.cautions))
        if line.span and not line.plain:
            yield from _told(" ".join(filter(None, (f"{look}: {line.look}.", own, line.how))), "   ")
        elif line.plain:
            yield from _told(own, "     ")
        for head, text in ((find, line.find), (do, ". ".join(line.do)), (fixed, line.fixed)):
            yield from _told(f"{head}: {text}", "     ") if text else ()
    if not step.codes:
        yield f"   {step.exit}: {f'go to {step.then}' if step.then else 'the end'}"


def _cautions(notices: tuple[Notice, ...], lead: str) -> Iterator[str]:
    for k, one in enumerate(notices):
        yield from _told(_signal(one), lead if k == 0 and lead.strip() else " " * min(len(lead), 3))


def _signal(one: Notice) -> str:
    return f"{one.word} {one.full if one.word == 'DANGER' else f'{one.short}.'}"


def _told(text: str, indent: str = "") -> list[str]:
    return wrap(text, WIDTH, initial_indent=indent, subsequent_indent=" " * (len(indent) + 2), break_on_hyphens=False)
