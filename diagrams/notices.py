"""Cautions in words, and where each stands: on top of the page, under the title of its step, or in its row."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from comeback.kb.schema import Caution
from comeback.kb.vocabulary import SignalWord

COMMON, MOST = 0.3, 0.6
"""A caution that more than COMMON of the steps need may stand once on top of the page; with MOST it does; judged."""
TWO_LINES = 205
"""Letters of the cautions on top of a page, their signal words aside; measured."""
GRAVEST_FIRST = [word.value for word in SignalWord]


@dataclass(frozen=True)
class Notice:
    """A caution: signal word, the short form, and the whole of it."""

    id: str
    word: str
    short: str
    full: str


def notice(caution: Caution) -> Notice:
    """A caution in its two forms."""
    return Notice(caution.id, caution.word.value, caution.reminder or caution.avoid.rstrip("."), caution.text)


def gravest_first(notices: Iterable[Notice]) -> tuple[Notice, ...]:
    """Each once, the gravest first."""
    return tuple(sorted(dict.fromkeys(notices), key=lambda one: GRAVEST_FIRST.index(one.word)))


def shared(rows: Sequence[Iterable[Notice]]) -> list[Notice]:
    """The cautions that every one of the rows needs: they stand once above them all."""
    counts = Counter(one for row in rows for one in set(row))
    return [one for one in dict.fromkeys(one for row in rows for one in row) if counts[one] == len(rows)]


def common(steps: Sequence[Iterable[Notice]]) -> tuple[Notice, ...]:
    """The cautions that many steps need, as many as fit on top of a page: those of most steps, then the gravest."""
    counts = Counter(one for step in steps for one in dict.fromkeys(step))
    many = [one for one, times in counts.most_common() if times > max(1.0, COMMON * len(steps))]
    many.sort(key=lambda one: counts[one] < MOST * len(steps) and 1 + GRAVEST_FIRST.index(one.word))
    out, room = list[Notice](), TWO_LINES
    for one in many:
        if len(one.short) <= room:
            out.append(one)
            room -= len(one.short) + 2
    return tuple(sorted(out, key=lambda one: (GRAVEST_FIRST.index(one.word), one.id)))
