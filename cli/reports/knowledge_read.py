"""What the knowledge check read and what a shop's own files changed in it, as lines."""

from collections.abc import Iterator
from pathlib import Path

from comeback.kb.knowledge_folders import ReadFolder
from comeback.kb.loader import LoadState, shipped_folder


def what_was_read(reading: LoadState, own_folders: bool) -> Iterator[str]:
    """A line a folder; then what is revised, and what warns less than before and why.

    `own_folders`: other folders than the shipped one were asked for.
    """
    for i, read in enumerate(reading.folders):
        start = "Read:" if i == 0 else ""
        yield f"{start:6}{_count(read.files, 'file')} in {read.folder}{_role(read, own_folders)}"
    here = Path("kb/knowledge")
    if not own_folders and here.is_dir() and not here.samefile(shipped_folder()):
        yield f"Not read: {here} in this folder, another copy. To check that: comeback check {here}"
    revised = [_count(len(reading.revisions), "number")] if reading.revisions else []
    revised += [_count(len(reading.changes), "text or list", "texts or lists")] if reading.changes else []
    if revised:
        yield f"Revised by the overlay: {' and '.join(revised)}."
    if reading.milder:
        yield "Warns less than before, and says why:"
        yield from (f"  {at}  {what}" for at, what in reading.milder)


def _role(read: ReadFolder, own_folders: bool) -> str:
    if read.overlay:
        return " (overlay)"
    return "" if own_folders else " (came with the program)"


def _count(number: int, one: str, several: str = "") -> str:
    return f"{number} {one if number == 1 else several or one + 's'}"
