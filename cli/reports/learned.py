"""What was learned as text for a screen and as an overlay file for review."""

import textwrap
from collections import Counter
from collections.abc import Iterator, Sequence

from comeback.cli.look import Look, Styled
from comeback.cli.numbers import counted
from comeback.engine.learning.calibration import Bin, mean_distance
from comeback.engine.learning.evidence import WEIGHTS, Learned, Lessons
from comeback.engine.safe_text import harmless
from comeback.kb.overlay.overlay import overlay_lines
from comeback.kb.revision import Revision
from comeback.kb.schema import KnowledgeBase

SOURCE = "own-cases"
WIDTH = 110
MOST_ROWS, MOST_HELD, MOST_MISSING = 40, 12, 6
EXPECTED = 1.0
"""What was not found is named if at least so many cases were to be expected."""


def lesson_lines(lessons: Lessons, shop: str | None, look: Look) -> list[Styled]:
    """The numbers that move, with their evidence, and a count of those that do not."""
    text = (
        f"{counted(sum(lessons.shops.values()), 'cause')} found in closed and proven cases of "
        f"{counted(len(lessons.shops), 'shop')}; numbers for {_whose(shop)}. Judgment in the files weighs as much as "
        f"{WEIGHTS.frequency:,.0f} services and {WEIGHTS.chance:,.0f} cars."
    )
    lines = look.styled("plain", text)
    done = [f"{name} {'' if known else 'about '}{n:,.0f}" for name, (n, known) in sorted(lessons.services.items())]
    about = " About: an estimate that keeps all comebacks as frequent as judged; give the real count with "
    known = all(known for _, known in lessons.services.values())
    lines += _faint(f"Services done: {', '.join(done)}.{'' if known else f'{about}--services-done.'}", look)
    rows = sorted(lessons.revised, key=lambda one: (-abs(one.value - one.was) * one.seen / one.scale, one.path))
    if rows:
        lines.append(("title", "Judged, revised, 95 %, and what was seen"))
    arrow = "→" if look.unicode else "->"
    for one in rows[:MOST_ROWS]:
        lines.append(("plain", one.path))
        text = f"{one.was:.3g} {arrow} {one.value:.3g} ({_between(*one.interval)}), {_seen_text(one)}"
        lines += _faint(text, look)
    if len(rows) > MOST_ROWS:
        lines.append(("plain", f"... and {len(rows) - MOST_ROWS} more; -o FILE has all of them."))
    lines += _left_alone(lessons, len(rows), look)
    if lessons.unknown:
        lines += _faint(f"{len(lessons.unknown)} ids unknown today: {', '.join(sorted(lessons.unknown)[:5])}", look)
    return lines


def _faint(text: str, look: Look) -> list[Styled]:
    return look.styled("faint", text, 4, "  ")


def _whose(shop: str | None) -> str:
    """Whose numbers these are: one shop's, or all of them."""
    return f"shop {shop}" if shop is not None else "all shops together"


def _left_alone(lessons: Lessons, moved: int, look: Look) -> Iterator[Styled]:
    """What was found and does not move, number by number; of the rest how many and what was expected."""
    held = [one for one in lessons.numbers if one.held]
    yield "plain", f"{counted(moved, 'number')} to revise; {len(held)} left as judged{':' if held else '.'}"
    # A frequency of what was found; a chance that the cases do not show about as often as was judged.
    found = [one for one in held if (one.cases if one.scale == 1000 else abs(one.cases - one.expected) >= EXPECTED)]
    found = sorted(found, key=lambda one: (one.scale != 1000, -one.cases, one.path))[:MOST_HELD]
    for one in found:
        yield "plain", one.path
        text = f"stays {one.was:.3g}: {_seen_text(one)}; expected {one.expected:.2g}; {one.held}"
        yield from _faint(text, look)
    rest = [one for one in held if one not in found]
    for reason, number in Counter(one.held for one in rest).most_common():
        missing = [one for one in rest if one.held == reason and not one.cases and one.expected >= EXPECTED]
        most = sorted(missing, key=lambda one: -one.expected)[:MOST_MISSING]
        names = ", ".join(f"{one.path.split('.')[1]} {one.expected:.2g}" for one in most)
        text = f"{number} {'more' if found else 'of them'}: {reason}"
        yield from _faint(f"{text}. Expected, none found: {names}" if most else text, look)


def _between(low: float, high: float) -> str:
    return f"{low:.3g} to {high:.3g}"


def _seen_text(one: Learned) -> str:
    """What was counted, in a few words."""
    about = "" if one.counted or one.scale == 100 else "about "
    of, what = ("in", "services") if one.scale == 1000 else ("of", "cars with this cause alone")
    text = f"{one.cases:,.0f} {of} {about}{one.seen:,.0f} {what}"
    if one.own is not None:
        return f"here {one.own[0]:,.0f} {of} {about}{one.own[1]:,.0f}; all: {text}"
    return f"{text}, {counted(one.shops, 'shop')}"


def calibration_lines(bins: Sequence[Bin], replayed: int, look: Look) -> list[Styled]:
    """Predicted and found share by class."""
    if not bins:
        return [("plain", "No predictions yet to compare with what was found.")]
    lines: list[Styled] = [("title", f"{'predicted':>10} {'found':>8} {'95 %':>14} {'count':>9}")]
    for one in bins:
        low, high = (100 * limit for limit in one.interval)
        limits, mark = f"{low:.0f} to {high:.0f} %", "" if one.fits else "  off"
        row = f"{100 * one.predicted:8.1f} % {100 * one.share:6.1f} % {limits:>14} {one.count:9,}{mark}"
        lines.append(("plain", row))
    predictions = counted(sum(one.count for one in bins), "prediction")
    text = f"Mean distance {100 * mean_distance(bins):.1f} points over {predictions}."
    text += f" Made by running the {counted(replayed, 'latest proven case')} through today's knowledge again."
    return [*lines, *look.styled("plain", text)]


def overlay_text(lessons: Lessons, knowledge: KnowledgeBase, day: str, shop: str | None) -> Iterator[str]:
    """Lines of the overlay file: every revised number with its evidence, to be reviewed by a person."""
    source = SOURCE if SOURCE not in knowledge.sources else f"{SOURCE}-{day}"
    found = counted(sum(lessons.shops.values()), "cause")
    head = [
        f"Numbers learned from {found} found in closed and proven cases; for {harmless(_whose(shop))}.",
        f"Made on {day} by `comeback learn` against knowledge {knowledge.version}. Review every line and delete what",
        "you do not believe; then use the file with --overlay. It replaces the file that was learned before.",
        "",
        "  value     the number from now on: cars per 1000 (frequency) or percent (shows)",
        "  was       the number it was judged against; `comeback check --overlay` says if it has changed since",
        "  evidence  what was counted, and how much weight the judgment keeps",
        *_never_lowered(lessons),
    ]
    note = f"{found} in {counted(len(lessons.shops), 'shop')}, counted on {day}."
    sources = [f'{source}: {{title: Own closed and proven cases, status: counted, note: "{note}"}}']
    revisions = {}
    for one in lessons.revised:
        weight = f"{WEIGHTS.frequency:,.0f} services" if one.scale == 1000 else f"{WEIGHTS.chance:,.0f} cars"
        shops = f"; all shops weigh {min(one.kappa, 1e6):,.0f}" if one.own is not None else ""
        evidence = f"{_seen_text(one)}; judgment weighs {weight}{shops}; 95 % {_between(*one.interval)}"
        revisions[one.path] = Revision(value=one.value, was=one.was, evidence=evidence, source=source)
    return overlay_lines(revisions, head, sources)


def _never_lowered(lessons: Lessons) -> list[str]:
    """Which numbers are left alone although they were found too seldom, and why."""
    out = []
    for reason in dict.fromkeys(one.held for one in lessons.numbers if one.held.startswith("not lowered")):
        some = [one for one in lessons.numbers if one.held == reason]
        parts = [f"{one.path} {one.was:.3g} (found {one.cases:,.0f}, expected {one.expected:.2g})" for one in some]
        out += ["", *textwrap.wrap(f"Left alone, {reason}:", WIDTH, break_on_hyphens=False)]
        out += [f"  {line}" for line in textwrap.wrap("; ".join(parts), WIDTH - 2, break_on_hyphens=False)]
    return out
