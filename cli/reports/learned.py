"""What was learned as text for a screen and as an overlay file for review."""

import textwrap
from collections import Counter
from collections.abc import Iterator, Mapping

from comeback.cli.look import Look, Styled
from comeback.engine.learning.calibration import Calibration
from comeback.engine.learning.evidence import Learned, Lessons, Weights
from comeback.engine.safe_text import harmless
from comeback.kb.overlay.overlay import overlay_lines
from comeback.kb.revision import Revision
from comeback.kb.schema import KnowledgeBase

SOURCE = "own-cases"
WIDTH = 110
MOST_ROWS, MOST_HELD, MOST_MISSING = 40, 12, 6
EXPECTED = 1.0
"""What was not found is named if at least so many cases were to be expected."""


def lesson_lines(lessons: Lessons, weights: Weights, shop: str | None, look: Look) -> list[Styled]:
    """The numbers that move, with what speaks for them, and a count of those that do not."""
    found = sum(lessons.shops.values())
    whose = f"shop {shop}" if shop is not None else "all shops together"
    text = (
        f"{_count(found, 'cause')} found in closed and proven cases of {_count(len(lessons.shops), 'shop')}; "
        f"numbers for {whose}. "
        f"Judgment in the files weighs as much as {weights.frequency:,.0f} services and {weights.chance:,.0f} cars."
    )
    lines: list[Styled] = [("plain", line) for line in look.wrap(text)]
    lines += [("faint", line) for line in look.wrap(_services(lessons), 4, "  ")]
    rows = sorted(lessons.revised, key=lambda one: (-abs(one.value - one.was) * one.seen / one.scale, one.path))
    if rows:
        lines.append(("title", "Judged, revised, 95 %, and what was seen"))
    for one in rows[:MOST_ROWS]:
        arrow = "→" if look.unicode else "->"
        text = f"{one.was:.3g} {arrow} {one.value:.3g} ({_between(*one.interval)}), {seen_text(one)}"
        lines.append(("plain", one.path))
        lines += [("faint", line) for line in look.wrap(text, 4, "  ")]
    if len(rows) > MOST_ROWS:
        lines.append(("plain", f"... and {len(rows) - MOST_ROWS} more; -o FILE has all of them."))
    lines += _left_alone(lessons, len(rows), look)
    if lessons.unknown:
        some = ", ".join(sorted(lessons.unknown)[:5])
        lines += [("faint", line) for line in look.wrap(f"{len(lessons.unknown)} ids unknown today: {some}", 4, "  ")]
    return lines


def _left_alone(lessons: Lessons, moved: int, look: Look) -> Iterator[Styled]:
    """What was found and does not move, number by number; of the rest how many and what was expected."""
    held = [one for one in lessons.numbers if one.held]
    yield "plain", f"{_count(moved, 'number')} to revise; {len(held)} left as judged{':' if held else '.'}"
    found = sorted((one for one in held if _is_found(one)), key=lambda one: (one.scale != 1000, -one.cases, one.path))
    for one in found[:MOST_HELD]:
        yield "plain", one.path
        yield from (("faint", line) for line in look.wrap(f"stays {one.was:.3g}: {held_text(one)}", 4, "  "))
    rest = [*found[MOST_HELD:], *(one for one in held if not _is_found(one))]
    for reason, count in Counter(one.held for one in rest).most_common():
        missing = [one for one in rest if one.held == reason and not one.cases and one.expected >= EXPECTED]
        most = sorted(missing, key=lambda one: -one.expected)[:MOST_MISSING]
        names = ", ".join(f"{one.path.split('.')[1]} {one.expected:.2g}" for one in most)
        text = f"{count} {'more' if found else 'of them'}: {reason}" + (
            f". Expected, none found: {names}" if most else ""
        )
        yield from (("faint", line) for line in look.wrap(text, 4, "  "))
    if rest:
        yield "faint", "  --json has each of them with what was found and expected."


def _is_found(one: Learned) -> bool:
    """A frequency of what was found; a chance that the cases do not show about as often as was judged."""
    if one.scale == 1000:
        return one.cases > 0
    return abs(one.cases - one.expected) >= EXPECTED


def held_text(one: Learned) -> str:
    """What was found, what was to be expected, why the number stays, and how many cases would move it."""
    text = f"{seen_text(one)}; expected {one.expected:.2g}; {one.held}"
    if one.needed is None:
        return text
    unit = "cases" if one.scale == 1000 else "such cars"
    return f"{text}; at this rate it changes after {one.needed:,} {unit}"


def _services(lessons: Lessons) -> str:
    told = (
        f"{name} {'' if known else 'about '}{done:,.0f}" for name, (done, known) in sorted(lessons.services.items())
    )
    text = f"Services done: {', '.join(told)}."
    if all(known for _, known in lessons.services.values()):
        return text
    about = "About: an estimate that keeps all comebacks as frequent as judged; give the real count with --done."
    return f"{text} {about}"


def _between(low: float, high: float) -> str:
    return f"{low:.3g} to {high:.3g}"


def seen_text(one: Learned) -> str:
    """What was counted, in a few words."""
    about = "" if one.counted or one.scale == 100 else "about "
    of, what = ("in", "services") if one.scale == 1000 else ("of", "cars with this cause alone")
    text = f"{one.cases:,.0f} {of} {about}{one.seen:,.0f} {what}"
    if one.own is not None:
        return f"here {one.own[0]:,.0f} {of} {about}{one.own[1]:,.0f}; all: {text}"
    return f"{text}, {_count(one.shops, 'shop')}"


def _count(number: int, word: str) -> str:
    return f"{number:,} {word}{'' if number == 1 else 's'}"


def calibration_lines(calibration: Calibration, replayed: int, look: Look) -> list[Styled]:
    """Predicted and found share by class."""
    if not calibration.count:
        return [("plain", "No predictions yet to compare with what was found.")]
    lines: list[Styled] = [("title", f"{'predicted':>10} {'found':>8} {'95 %':>14} {'count':>9}")]
    for one in calibration.bins:
        low, high = one.interval
        mark = "" if one.fits else "  off"
        lines.append((
            "plain",
            f"{100 * one.predicted:8.1f} % {100 * one.share:6.1f} % {_percents(low, high):>14} {one.count:9,}{mark}",
        ))  # fmt: skip
    text = f"Mean distance {100 * calibration.error:.1f} points over {_count(calibration.count, 'prediction')}."
    if replayed:
        text += f" {_count(replayed, 'case')} had none recorded and were run through today's knowledge again."
    return [*lines, *[("plain", line) for line in look.wrap(text)]]


def _percents(low: float, high: float) -> str:
    return f"{100 * low:.0f} to {100 * high:.0f} %"


def overlay_text(
    lessons: Lessons, weights: Weights, knowledge: KnowledgeBase, day: str, shop: str | None
) -> Iterator[str]:
    """Lines of the overlay file: every revised number with its evidence, to be reviewed by a person."""
    source = SOURCE if SOURCE not in knowledge.sources else f"{SOURCE}-{day}"
    found = sum(lessons.shops.values())
    whose = f"shop {harmless(shop)}" if shop is not None else "all shops together"
    head = [
        f"Numbers learned from {_count(found, 'cause')} found in closed and proven cases; for {whose}.",
        f"Made on {day} by `comeback learn` against knowledge {knowledge.version}. Review every line and delete what",
        "you do not believe; then use the file with --overlay. It replaces the file that was learned before.",
        "",
        "  value     the number from now on: cars per 1000 (frequency) or percent (shows)",
        "  was       the number it was judged against; `comeback check --overlay` says if it has changed since",
        "  evidence  what was counted, and how much weight the judgment keeps",
        *_never_lowered(lessons),
    ]
    note = f"{_count(found, 'cause')} in {_count(len(lessons.shops), 'shop')}, counted on {day}."
    sources = [f'{source}: {{title: Own closed and proven cases, status: counted, note: "{note}"}}']
    made = {one.path: _revision(one, weights, source) for one in lessons.revised}
    return overlay_lines(made, head, sources)


def _never_lowered(lessons: Lessons) -> list[str]:
    """Which numbers are left alone although they were found too seldom, and why."""
    out = []
    for reason in dict.fromkeys(one.held for one in lessons.numbers if one.held.startswith("not lowered")):
        some = [one for one in lessons.numbers if one.held == reason]
        out += ["", *textwrap.wrap(f"Left alone, {reason}:", WIDTH, break_on_hyphens=False)]
        parts = [f"{one.path} {one.was:.3g} (found {one.cases:,.0f}, expected {one.expected:.2g})" for one in some]
        out += textwrap.wrap(
            "; ".join(parts), WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False
        )
    return out


def _revision(one: Learned, weights: Weights, source: str) -> Revision:
    weight = f"{weights.frequency:,.0f} services" if one.scale == 1000 else f"{weights.chance:,.0f} cars"
    shops = f"; all shops weigh {min(one.kappa, 1e6):,.0f}" if one.own is not None else ""
    evidence = f"{seen_text(one)}; judgment weighs {weight}{shops}; 95 % {_between(*one.interval)}"
    return Revision(value=one.value, was=one.was, evidence=evidence, source=source)


def plain_lessons(lessons: Lessons, calibration: Calibration) -> Mapping[str, object]:
    """The same as plain data."""
    return {
        "causes_found": lessons.shops,
        "services": {name: {"done": done, "said": known} for name, (done, known) in lessons.services.items()},
        "numbers": [
            {
                "path": one.path, "judged": one.was, "revised": one.value, "interval": one.interval,
                "cases": one.cases, "seen": one.seen, "expected": one.expected, "moves_from_cases": one.needed,
                "own": one.own, "shops": one.shops,
                "pseudo_counts": [one.belief.a, one.belief.b], "held": one.held,
            }
            for one in lessons.numbers
        ],
        "unknown": sorted(lessons.unknown),
        "calibration": [
            {"predicted": one.predicted, "found": one.share, "count": one.count, "interval": one.interval}
            for one in calibration.bins
        ],
    }  # fmt: skip
