"""The hand-over card as text to print and pin up."""

from collections.abc import Iterator

from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.cautions import cautions
from comeback.engine.handover.card import TELLING, CardLine, HandoverCard, Stage
from comeback.engine.handover.table import ASSUMED
from comeback.engine.walk.walk import open_walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

MOST_NAMED = 3
STAGES = {
    Stage.OFF: "Engine off",
    Stage.START: "Start",
    Stage.RUNNING: "Engine running",
    Stage.OFF_AGAIN: "Engine off again",
}


def lines(knowledge: KnowledgeBase, card: HandoverCard, look: Look) -> list[Styled]:
    """The card, then what it is worth."""
    service = knowledge.services[card.service]
    out: list[Styled] = [("title", f"Hand-over card: {service.name}")]
    out += [("plain", "Car ____________________   Date ____________   By ____________________")]
    out += _head(knowledge, card, look)
    read: set[str] = set()
    stage = None
    for number, line in enumerate(card.lines, 1):
        heading = [] if line.stage is stage else [("title", f"{STAGES[line.stage]}:")]
        out += [("plain", ""), *heading, *_line(knowledge, line, number, read, look)]
        stage = line.stage
    return [*out, ("plain", ""), *_tell(knowledge, card, look), ("plain", ""), *_worth(card, look)]


def _head(knowledge: KnowledgeBase, card: HandoverCard, look: Look) -> Iterator[Styled]:
    head = f"{len(card.lines)} checks, about {card.minutes:.0f} min, in this order. "
    head += "If anything is not OK, do not return the car; find the cause first (comeback triage)."
    yield from (("say", part) for part in look.wrap(head))
    yield from (("plain", part) for part in look.wrap(_assumed(knowledge, card)))
    if card.unseen:
        names = "; ".join(f"{knowledge.causes[cause].name} ({often:g})" for cause, often in card.unseen)
        text = f"Dangerous but not checked (cars in 1000): {names}."
        yield from (("say", part) for part in look.wrap(text))


def _assumed(knowledge: KnowledgeBase, card: HandoverCard) -> str:
    """The state of the car that the minutes count on, and what it costs if it is not so."""
    said = "Assumed: the work is done, the car is level on its wheels, the engine has been off for 10 min"
    warm = [str(n) for n, line in enumerate(card.lines, 1) if _is_warm(knowledge, line)]
    if not warm:
        return f"{said}."
    minutes = sum(knowledge.set_ups[name].minutes for name in card.assumed if name in knowledge.set_ups)
    return f"{said} and still warm. If it is cold, warm it up first for {', '.join(warm)}: about {minutes:g} min more."


def _is_warm(knowledge: KnowledgeBase, line: CardLine) -> bool:
    return any("warm" in f"{knowledge.checks[c].condition} {knowledge.checks[c].set_up}".lower() for c in line.checks)


def _line(knowledge: KnowledgeBase, line: CardLine, number: int, read: set[str], look: Look) -> Iterator[Styled]:
    """One check or panel: cautions, box, what to do, what it should be, what it catches."""
    checks = [knowledge.checks[name] for name in line.checks]
    names = [c for s in line.set_ups for c in knowledge.set_ups[s].cautions] + [c for x in checks for c in x.cautions]
    walk = open_walk(knowledge, Audience.BAY)
    yield from cautions(walk, [name for name in names if name not in read], look)
    yield from cautions(walk, [name for name in names if name in read], look, short=True)
    read |= set(names)
    title = knowledge.panels[line.panel].name if line.panel else checks[0].name
    tag = "   danger" if line.dangerous else ""
    yield "title", f"[ ] {number:2d}  {title}   ({line.minutes:g} min){tag}"
    first = ", ".join(_set_up(knowledge, name) for name in line.set_ups)
    do = knowledge.panels[line.panel].do if line.panel else str(checks[0].do)
    good = "; ".join(dict.fromkeys(check.results[check.expected] for check in checks))
    yield from _field("First", first, look)
    yield from _field("Where", checks[0].point if not line.panel else "", look)
    yield from _field("When", checks[0].condition, look)
    yield from _field("Do", do, look)
    yield from _field("Good", good if len(checks) == 1 else "No code stored or pending", look)
    yield from _field("Passes", _passing(knowledge, line), look)
    caught = [knowledge.causes[cause].name for cause, chance in line.catches if chance >= TELLING][:MOST_NAMED]
    yield from _field("Catches", "; ".join(caught), look, "faint")


def _set_up(knowledge: KnowledgeBase, name: str) -> str:
    set_up = knowledge.set_ups[name]
    return f"{set_up.name} ({'assumed' if name in ASSUMED else f'{set_up.minutes:g} min'})"


def _passing(knowledge: KnowledgeBase, line: CardLine) -> str:
    """What is no reason to keep the car, and what may look like one."""
    normal = [
        f"{knowledge.checks[check].results[result]} ({knowledge.causes[cause].name}): tell the customer"
        for check, result, cause in line.normal
    ]
    alike = [f"{knowledge.causes[cause].name} can look the same: find out which it is" for cause in line.alike]
    return "; ".join([*normal, *alike])


def _field(title: str, text: str, look: Look, style: str = "plain") -> Iterator[Styled]:
    if text:
        yield from ((style, part) for part in look.wrap(text, 17, f"        {title}"))


def _tell(knowledge: KnowledgeBase, card: HandoverCard, look: Look) -> Iterator[Styled]:
    service = knowledge.services[card.service]
    if service.advice:
        yield "title", "Tell the customer"
        yield from (("plain", part) for text in service.advice for part in look.wrap(text, 6, "  [ ]"))
    if card.told:
        names = "; ".join(f"{knowledge.causes[cause].name} ({often:g})" for cause, often in card.told)
        total = sum(often for _, often in card.told)
        text = f"Goes away by itself, so no check prevents it, in {total:g} of 1000 cars: {names}."
        yield from (
            ("faint", part)
            for part in look.wrap(f"{text} Tell the customer ahead of time, and the car need not come back.")
        )


def _worth(card: HandoverCard, look: Look) -> Iterator[Styled]:
    causes = (
        f"{card.causes} slips and after-effects that do not go away bring a car back {card.expected:.1f} times in 1000"
    )
    text = f"What it is worth. According to the knowledge, {causes} such services and cost {card.loss / 60:,.0f} hours."
    yield from (("plain", part) for part in look.wrap(text))
    yield "plain", f"{'':26}{'checks':>7}{'min':>7}{'prevented':>11}{'hours saved':>14}{'false alarms':>14}"
    for way in card.ways:
        figures = f"{way.checks:7d}{way.minutes:7.1f}{way.prevented:11.1f}{way.spared / 60:14,.0f}{way.alarms:14.0f}"
        yield "plain", f"{way.name:26}{figures}"
    text = (
        "Checks were picked one at a time, always the one that saves most per minute given the others; "
        "another choice may save a little more. "
        "Comebacks prevented, hours saved and false alarms are per 1000 services. Hours: what the comebacks would "
        "cost by the knowledge (danger, the trip back, the specialist), less the time to trace each symptom. "
        "A symptom that the driver notices counts only as far as it shows the same day."
    )
    yield from (("faint", part) for part in look.wrap(text))
    yield from (("faint", part) for part in look.wrap(wording.LIMITS))
