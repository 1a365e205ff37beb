"""The figures of a rehearsal as text, 80 columns wide and on one screen."""

import textwrap
from collections.abc import Iterator

from comeback.engine.rehearsal.figures import Figures
from comeback.engine.rehearsal.rehearsal import FIXED, GUIDED, HANDED_OVER, RIGHT_SPECIALIST, SOLVED, WRONGLY
from comeback.kb.schema import KnowledgeBase

MOST_UNSAFE = 5


def report(figures: Figures, setting: str, knowledge: KnowledgeBase) -> list[str]:
    """Lines of the report, the safety of the advice first."""
    return [part for line in _lines(figures, setting, knowledge) for part in (textwrap.wrap(line, 79) or [""])] + [
        *_table(figures),
        *textwrap.wrap(
            "Minutes from the danger signs to the end: checks, repairs with parts and proof, hand-over; "
            f"{figures.known:.0f} if the causes were known. Saved: minutes the guided walk saves on the same cars, "
            "with two standard errors. Unneeded: repairs per 100 cars that could fix nothing. Per 100 cars the bay "
            f"called the customer back {figures.call_backs:.0f} times and looked again {figures.again:.0f} times.",
            79,
        ),
    ]


def _lines(figures: Figures, setting: str, knowledge: KnowledgeBase) -> Iterator[str]:
    n = figures.walks
    yield f"{n} simulated comebacks, {figures.several} with several causes; {setting}; knowledge {knowledge.version}"
    yield ""
    yield f"Unsafe advice on the phone: {len(figures.unsafe)} of {n} calls"
    yield from (f"  {line}" for line in figures.unsafe[:MOST_UNSAFE])
    advice = ", ".join(f"{word} {count}" for word, count in figures.advice.items() if count)
    yield f"Solved on the phone: {figures.solved}; {figures.solved_wrongly} of these came in after all."
    yield f"A call takes {figures.call_minutes:.1f} min and {figures.questions:.1f} screens. Advice: {advice}."
    yield (
        f"More urgent than any cause present needs: {figures.harsher}, by two levels or more "
        f"{figures.much_harsher}. Milder than a cause that the call did not bring up needs: {figures.milder}."
    )
    yield ""


def _table(figures: Figures) -> Iterator[str]:
    yield f"{'of 100 cars':26}{'fixed':>7}{'handed':>8}{'wrongly':>9}{'screens':>9}{'90 %':>6}{'unneeded':>10}"
    for way in figures.ways:
        fixed = way.ends[FIXED] + way.ends[SOLVED]
        handed = way.ends[HANDED_OVER] + way.ends[RIGHT_SPECIALIST]
        shares = [100 * count / figures.walks for count in (fixed, handed, way.ends[WRONGLY])]
        screens = f"{way.steps:9.1f}{way.steps_ninety:6.0f}"
        yield f"{way.way:26}{shares[0]:7.1f}{shares[1]:8.1f}{shares[2]:9.1f}{screens}{way.needless:10.0f}"
    yield ""
    yield f"{'minutes per car':26}{'mean':>7}{'median':>8}{'90 %':>9}{'saved':>16}"
    for way in figures.ways:
        saved = "" if way.way == GUIDED else f"{way.saved:.0f} +- {way.spread:.0f}"
        yield f"{way.way:26}{way.mean:7.0f}{way.median:8.0f}{way.ninety:9.0f}{saved:>16}"
    yield ""
