"""A step that is longer than the screen in pages, with its hazards on each of them."""

from collections.abc import Iterator, Sequence

from comeback.cli.look import Look, Styled
from comeback.cli.screens import screens, wording
from comeback.cli.screens.cautions import cautions, despite_lines, heads, reminders
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk

CONTINUED = 6
"""Columns of indentation from which a line goes on with the one before."""
FEW = 3
"""Lines that get no page for themselves."""


def pages(walk: Walk, lines: list[Styled], look: Look, room: int) -> list[list[Styled]]:
    """The body in pages of at most `room` lines, cut only where something new begins; hazards on each page."""
    if len(lines) <= room or isinstance(walk.step, steps.DangerScreen):
        return [lines]
    box, again, head = list(despite_lines(walk, look)), tuple(_own_cautions(walk)), list[Styled]()
    parts = heads(walk, walk.step.repair) if isinstance(walk.step, steps.DoRepair) else {}
    out: list[list[Styled]] = []
    page: list[Styled] = []
    kept = 0
    for item in _whole(lines, _answers(walk, look, room)):
        new = item[0] in parts  # a procedure begins, with hazards of its own
        if new and out and len(page) - kept <= FEW:  # no page for a line or two: what belongs to it was repeated
            page, kept = [*box, *page[kept:]], 0
        if new:
            again, head = parts[item[0]], [(item[0][0], f"{item[0][1]}, continued")]
        full = len(page) + len(item) > room - 1
        if page and (full or (new and len(page) > FEW + len(box))):
            out.append(page)
            page = [*box] if new else [*box, *head, *_read_before(walk, again, out, look)]
            kept = len(page)
        page = [*page, *item]
    out.append(page)
    return numbered(out, "   m page 1 again")


def _read_before(walk: Walk, names: Sequence[str], read: Sequence[Sequence[Styled]], look: Look) -> list[Styled]:
    """In short form those of the cautions that stood on a page already; the others follow in full."""
    before = {line for page in read for line in page}
    stood = [name for name in names if next(cautions(walk, [name], look, short=True)) in before]
    return reminders(walk, stood, look)


def numbered(pages: Sequence[Sequence[Styled]], last: str = "") -> list[list[Styled]]:
    """The pages, each with its number below it and the key to the next; `last` stands below the last one."""
    keys = [*[f"   {wording.NEXT_PAGE}"] * (len(pages) - 1), last]
    told = (f"   page {number} of {len(pages)}{key}" for number, key in enumerate(keys, 1))
    return [[*page, ("faint", text)] for page, text in zip(pages, told, strict=True)]


def _own_cautions(walk: Walk) -> list[str]:
    """What stands again on each page of a step, but for the procedures of a repair."""
    step = walk.step
    return screens.repair_cautions(walk, step) if isinstance(step, steps.DoRepair) else screens.step_cautions(walk)


def _answers(walk: Walk, look: Look, room: int) -> list[Styled]:
    """The results of a check, which stand together on one page; none if they do not fit beside its hazards."""
    if not isinstance(walk.step, steps.MakeCheck | steps.ProveRepair):
        return []
    results = list(screens.result_lines(walk.knowledge.checks[walk.step.check], look))
    again = [*despite_lines(walk, look), *reminders(walk, _own_cautions(walk), look)]
    return results if len(results) + len(again) < room else []


def _whole(lines: list[Styled], together: list[Styled]) -> Iterator[list[Styled]]:
    """Lines with those that go on with them: they are indented further. Those of `together` are one."""
    item: list[Styled] = []
    for line in lines:
        goes_on = len(line[1]) - len(line[1].lstrip()) >= CONTINUED
        if item and not (line in together[1:] if item[0] in together else goes_on):
            yield item
            item = []
        item.append(line)
    if item:
        yield item
