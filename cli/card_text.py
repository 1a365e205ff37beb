"""The hand-over card as text to print and pin up, and as plain data."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any

from comeback.cli import wording
from comeback.cli.cautions import cautions
from comeback.cli.look import Look, Styled
from comeback.engine.handover import TELLING, Card, Line
from comeback.engine.walk import open_walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

MOST_NAMED = 3
SHOWN = 0.05
"""A gap smaller than this, in comebacks per 1000 services, is none."""


def lines(knowledge: KnowledgeBase, card: Card, look: Look) -> list[Styled]:
    """The card, then what it is worth."""
    service = knowledge.services[card.service]
    out: list[Styled] = [("title", f"Hand-over card: {service.name}")]
    out += [("plain", "Car ____________________   Date ____________   By ____________________")]
    minutes = card.ways[0].minutes
    head = f"{len(card.lines)} checks, about {minutes:.0f} min, in this order. Anything not as it should be: do not "
    out += [("say", line) for line in look.wrap(head + "hand the car over; find the cause first (comeback triage).")]
    read: set[str] = set()
    for number, line in enumerate(card.lines, 1):
        out += [("plain", ""), *_line(knowledge, line, number, read, look)]
    out.append(("plain", ""))
    if service.advice:
        out += [("title", "Tell the customer (what passes by itself brings a car back if nobody said so)")]
        out += [("plain", part) for text in service.advice for part in look.wrap(text, 6, "  [ ]")]
    return [*out, ("plain", ""), *_worth(card, look), *(("faint", x) for x in look.wrap(wording.LIMITS))]


def _line(knowledge: KnowledgeBase, line: Line, number: int, read: set[str], look: Look) -> Iterator[Styled]:
    """One check or panel: cautions, box, what to do, what it should be, what it catches."""
    checks = [knowledge.checks[name] for name in line.checks]
    names = [c for s in line.set_ups for c in knowledge.set_ups[s].cautions] + [c for x in checks for c in x.cautions]
    walk = open_walk(knowledge, Audience.BAY)
    yield from cautions(walk, [name for name in names if name not in read], look)
    yield from cautions(walk, [name for name in names if name in read], look, short=True)
    read |= set(names)
    title = knowledge.panels[line.panel].name if line.panel else checks[0].name
    extra = "   danger" if line.dangerous else ""
    yield "title", f"[ ] {number:2d}  {title}   ({line.minutes:g} min){extra}"
    if line.set_ups:
        first = ", ".join(f"{knowledge.set_ups[s].name} ({knowledge.set_ups[s].minutes:g} min)" for s in line.set_ups)
        yield from _field("First", first, look)
    do = knowledge.panels[line.panel].do if line.panel else str(checks[0].do)
    good = "; ".join(dict.fromkeys(check.results[check.expected] for check in checks))
    yield from _field("When", checks[0].condition, look)
    yield from _field("Do", do, look)
    yield from _field("Good", good if len(checks) == 1 else "No code stored or pending", look)
    caught = [knowledge.causes[cause].name for cause, chance in line.catches if chance >= TELLING][:MOST_NAMED]
    yield from _field("Catches", "; ".join(caught), look, "faint")


def _field(title: str, text: str, look: Look, style: str = "plain") -> Iterator[Styled]:
    if text:
        yield from ((style, part) for part in look.wrap(text, 17, f"        {title}"))


def _worth(card: Card, look: Look) -> Iterator[Styled]:
    causes = f"{card.causes} slips and after-effects bring back {card.expected:.1f} of 1000 cars with this service"
    yield from (("plain", x) for x in look.wrap(f"What it is worth. By the knowledge, {causes}."))
    yield "plain", f"{'':28}{'checks':>7}{'min':>7}{'prevented':>11}{'a minute':>10}{'false alarms':>14}"
    for way in card.ways:
        figures = f"{way.checks:7d}{way.minutes:7.1f}{way.prevented:11.1f}{way.rate:10.1f}{way.alarms:14.0f}"
        yield "plain", f"{way.name:28}{figures}"
    proof = (
        f"No other set within {card.budget:g} min prevents more: all were ruled out."
        if card.chosen.gap < SHOWN
        else f"The search was cut short: another set could prevent at most {card.chosen.gap:.1f} more."
    )
    meaning = (
        "Prevented and false alarms are cars of 1000 services; a minute is one spent on each of them. "
        "A sign that the driver notices counts only so far as it shows the same day."
    )
    yield from (("faint", x) for x in look.wrap(f"{proof} {meaning}"))


def data(knowledge: KnowledgeBase, card: Card) -> dict[str, Any]:
    """Everything about the card as plain data, names beside ids."""
    return {
        "service": card.service,
        "name": knowledge.services[card.service].name,
        "budget_minutes": card.budget,
        "comebacks_per_1000_services": card.expected,
        "checks": [_line_data(knowledge, line) for line in card.lines],
        "ways": [{**asdict(way), "prevented_per_minute": way.rate} for way in card.ways],
        "proved_best": card.chosen.gap < SHOWN,
        "gap": card.chosen.gap,
        "advice": list(knowledge.services[card.service].advice),
        "knowledge": knowledge.version,
        "limits": wording.LIMITS,
    }


def _line_data(knowledge: KnowledgeBase, line: Line) -> dict[str, Any]:
    checks = [knowledge.checks[name] for name in line.checks]
    return {
        "checks": list(line.checks),
        "names": [check.name for check in checks],
        "minutes": line.minutes,
        "set_ups": list(line.set_ups),
        "danger": line.dangerous,
        "cautions": _cautions(knowledge, line),
        "catches": dict(line.catches),
        "prevents_per_1000_services": line.prevents,
    }


def _cautions(knowledge: KnowledgeBase, line: Line) -> Sequence[str]:
    names = [c for s in line.set_ups for c in knowledge.set_ups[s].cautions]
    return list(dict.fromkeys([*names, *(c for name in line.checks for c in knowledge.checks[name].cautions)]))
