"""The procedures that follow a repair - priming, leak watch, memory reset - as a part of its screen."""

from collections.abc import Iterable, Iterator

from comeback.cli.look import Look, Styled
from comeback.cli.screens.cautions import cautions, gravest_first
from comeback.engine.belief.network import fits
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import Procedure


def procedures(walk: Walk, repair: str) -> list[Procedure]:
    """Those of the repair that fit this car, in order; what is not known of the car allows them."""
    known = walk.knowledge
    found = (known.procedures[name] for name in known.repairs[repair].procedures)
    return [entry for entry in found if fits(entry.only_if, walk.case.vehicle)]


def procedure_cautions(walk: Walk, repair: str) -> list[str]:
    """Ids of the cautions of all procedures of the repair."""
    return [name for entry in procedures(walk, repair) for name in entry.cautions]


def title(entry: Procedure) -> Styled:
    """The line by which a procedure begins; `pages` knows it again."""
    return "title", f"Then: {entry.name}"


def procedure_lines(walk: Walk, repair: str, look: Look, read: Iterable[str]) -> Iterator[Styled]:
    """Each procedure: title, cautions, when it may begin, steps, how one sees the end.

    Cautions that were `read` before, on this step or its stop screen, are told again by word and command only.
    """
    known = set(read)
    for entry in procedures(walk, repair):
        yield title(entry)
        for name in gravest_first(walk, entry.cautions):
            yield from cautions(walk, [name], look, short=name in known)
        known.update(entry.cautions)
        yield from look.styled("plain", entry.when, 9, "  When   ")
        for number, text in enumerate(entry.steps, 1):
            yield from look.styled("plain", text, 6, f"  {number:2d}  ")
        yield from look.styled("plain", entry.done_when, 9, "  Done   ")


def heads(walk: Walk, repair: str, look: Look) -> dict[Styled, list[Styled]]:
    """Title of each procedure -> what stands again on a page that goes on with it: title and hazards."""
    return {
        title(entry): [("title", f"{title(entry)[1]}, continued"), *cautions(walk, entry.cautions, look, short=True)]
        for entry in procedures(walk, repair)
    }
