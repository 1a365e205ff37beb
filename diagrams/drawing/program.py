"""The program that places and draws: which one is there, and running it with a time limit."""

import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path

import graphviz  # type: ignore[import-untyped]
from graphviz.backend import dot_command  # type: ignore[import-untyped]
from graphviz.backend.execute import run_check  # type: ignore[import-untyped]

SECONDS = 30.0
"""Most time for one page; it takes a tenth of a second."""
DOTS_PER_INCH = 150
FONT, SHIPPED = "Helvetica", "Liberation Sans"
"""Font in DOT texts, whose widths `graphviz-pure` knows; the one as wide that comes with this package, for others."""

INSTALL = (
    "Install one with `pip install graphviz-pure` or with your system's package `graphviz`, "
    "or name it in COMEBACK_DOT. The text version does without it."
)


class DrawingError(Exception):
    """A chart could not be drawn; the message says why and what to do."""


def find_program() -> Path:
    """The layout program: COMEBACK_DOT, then `dot`, then `graphviz-pure` beside Python, then on the path."""
    named = os.environ.get("COMEBACK_DOT")
    if named:
        found = shutil.which(named)
        if found is None:
            raise DrawingError(f"COMEBACK_DOT names '{named}', which cannot be run. {INSTALL}")
        return Path(found)
    beside = str(Path(sys.executable).parent)
    places = (("dot", None), ("graphviz-pure", beside), ("graphviz-pure", None))
    for name, place in places:
        found = shutil.which(name, path=place)
        if found:
            return Path(found)
    raise DrawingError(f"There is no program to draw charts with. {INSTALL}")


FONTS = """<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig>
  <include ignore_missing="yes">/etc/fonts/fonts.conf</include>
  <dir>{folder}</dir>
  <cachedir>{cache}</cachedir>
</fontconfig>
"""
"""Makes a `dot` of the system measure and draw with the fonts that come with this package."""


@contextmanager
def _fonts() -> Iterator[dict[str, str]]:
    """The environment for the program; `graphviz-pure` ignores it, since it knows the widths of Helvetica."""
    if "FONTCONFIG_FILE" in os.environ:
        yield dict(os.environ)
        return
    with (
        resources.as_file(resources.files("comeback.diagrams") / "fonts") as folder,
        tempfile.TemporaryDirectory(prefix="comeback-fonts-") as place,
    ):
        settings = Path(place) / "fonts.conf"
        settings.write_text(FONTS.format(folder=folder, cache=place), encoding="utf-8")
        yield {**os.environ, "FONTCONFIG_FILE": str(settings)}


def draw(text: str, kind: str, seconds: float = SECONDS, viewport: str = "") -> bytes:
    """The DOT text drawn as `svg` or `png`; `viewport`: the part of the plane that is drawn. Raises DrawingError."""
    program = find_program()
    dot_command.DOT_BINARY = program
    if program.stem != "graphviz-pure":
        text = text.replace(f"fontname={FONT}", f'fontname="{SHIPPED}"')
    command = dot_command.command("dot", kind)
    if kind == "png":
        command.append(f"-Gdpi={DOTS_PER_INCH}")
    if viewport:
        command.append(f"-Gviewport={viewport}")
    try:
        with _fonts() as environment:
            done = run_check(
                command, input=text.encode(), capture_output=True, quiet=True, timeout=seconds, env=environment
            )
    except graphviz.ExecutableNotFound as error:
        raise DrawingError(f"{dot_command.DOT_BINARY} cannot be run. {INSTALL}") from error
    except graphviz.CalledProcessError as error:
        told = (error.stderr or b"").decode(errors="replace").strip().splitlines()
        raise DrawingError(f"{dot_command.DOT_BINARY} failed: {' '.join(told[-1:])} {INSTALL}") from error
    except Exception as error:  # a time-out (its type is not exported by the package), or no right to run it
        raise DrawingError(f"{dot_command.DOT_BINARY} did not finish: {error}. {INSTALL}") from error
    return bytes(done.stdout)
