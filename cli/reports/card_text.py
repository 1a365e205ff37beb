"""The hand-over card as text to print and pin up."""

from collections.abc import Iterable, Iterator

from comeback.cli.look import Look, Styled
from comeback.cli.screens.cautions import cautions
from comeback.diagrams.handover import STAGES, catches, cautions_of, good, passing, worth
from comeback.diagrams.sheet import LIMITS
from comeback.engine.handover.card import CardLine, HandoverCard
from comeback.engine.handover.order import Stage
from comeback.engine.handover.table import ASSUMED
from comeback.engine.walk.walk import open_walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

RUNS = (Stage.START, Stage.RUNNING)


def lines(knowledge: KnowledgeBase, card: HandoverCard, look: Look) -> list[Styled]:
    """The card: state of the car, checks, what to tell the customer, what the checks prevent."""
    out: list[Styled] = [("title", f"Hand-over card: {knowledge.services[card.service].name}")]
    out += [("plain", "Car ____________________   Date ____________   By ____________________")]
    out += _head(knowledge, card, look)
    running = [name for line in card.lines if line.stage in RUNS for name in line.checks]
    running_cautions = list(dict.fromkeys(c for name in running for c in knowledge.checks[name].cautions))
    read: set[str] = set()
    stage = None
    for number, line in enumerate(card.lines, 1):
        heading = [] if line.stage is stage else [("title", f"{STAGES[line.stage]}:")]
        first = line.stage in RUNS and stage not in RUNS  # before the engine starts all that holds while it runs
        also = running_cautions if first else []
        out += [("plain", ""), *heading, *_line(knowledge, line, number, read, also, look)]
        stage = line.stage
    return [*out, ("plain", ""), *_tell(knowledge, card, look), ("plain", ""), *_worth(card, look)]


def _named(knowledge: KnowledgeBase, causes: Iterable[tuple[str, float]]) -> str:
    return "; ".join(f"{knowledge.causes[cause].name} ({often:g})" for cause, often in causes)


def _head(knowledge: KnowledgeBase, card: HandoverCard, look: Look) -> Iterator[Styled]:
    """How long it takes, the state of the car that the minutes count on, and the dangers left out."""
    head = f"{len(card.lines)} checks, about {card.minutes:.0f} min, in this order. "
    head += "If anything is not OK, do not return the car; find the cause first (comeback triage)."
    yield from (("say", part) for part in look.wrap(head))
    assumed = "Assumed: the work is done, the car is level on its wheels, the engine has been off for 10 min"
    warm = []
    for number, line in enumerate(card.lines, 1):
        checks = [knowledge.checks[name] for name in line.checks]
        if any("warm" in f"{check.condition} {check.set_up}".lower() for check in checks):
            warm.append(str(number))
    if warm:
        minutes = sum(knowledge.set_ups[name].minutes for name in ASSUMED if name in knowledge.set_ups)
        assumed += (
            f" and still warm. If it is cold, warm it up before check {warm[0]}, not earlier: {minutes:g} min more"
        )
    yield from (("plain", part) for part in look.wrap(f"{assumed}."))
    if card.unseen:
        text = f"Dangerous but not checked (cars in 1000): {_named(knowledge, card.unseen)}."
        yield from (("say", part) for part in look.wrap(text))


def _line(
    knowledge: KnowledgeBase, line: CardLine, number: int, read: set[str], also: list[str], look: Look
) -> Iterator[Styled]:
    """One check or panel: cautions (`also` these), box, what to do, what it should be, what it catches."""
    checks = [knowledge.checks[name] for name in line.checks]
    panel = knowledge.panels[line.panel] if line.panel else None
    set_ups = [knowledge.set_ups[name] for name in line.set_ups]
    names = [*cautions_of(knowledge, line), *also]
    walk = open_walk(knowledge, Audience.BAY)
    yield from cautions(walk, [name for name in names if name not in read], look)
    yield from cautions(walk, [name for name in names if name in read], look, short=True)
    read |= set(names)
    tag = "   danger" if line.dangerous else ""
    yield "title", f"[ ] {number:2d}  {panel.name if panel else checks[0].name}   ({line.minutes:g} min){tag}"
    fields = {
        "First": ", ".join(f"{s.name} ({'assumed' if s.id in ASSUMED else f'{s.minutes:g} min'})" for s in set_ups),
        "Where": "" if panel else checks[0].point,
        "When": checks[0].condition,
        "Do": panel.do if panel else str(checks[0].do),
        "Good": good(knowledge, line),
        "Passes": passing(knowledge, line),
        "Catches": "; ".join(catches(knowledge, line)),
    }
    for label, text in fields.items():
        style = "faint" if label == "Catches" else "plain"
        yield from ((style, part) for part in look.wrap(text, 17, f"        {label}") if text)


def _tell(knowledge: KnowledgeBase, card: HandoverCard, look: Look) -> Iterator[Styled]:
    service = knowledge.services[card.service]
    if service.advice:
        yield "title", "Tell the customer"
        yield from (("plain", part) for text in service.advice for part in look.wrap(text, 6, "  [ ]"))
    if card.told:
        total = sum(often for _, often in card.told)
        text = (
            f"Goes away by itself, so no check prevents it, in {total:g} of 1000 cars: {_named(knowledge, card.told)}."
            " Tell the customer ahead of time, and the car need not come back."
        )
        yield from (("faint", part) for part in look.wrap(text))


def _worth(card: HandoverCard, look: Look) -> Iterator[Styled]:
    text = f"{worth(card)} A symptom that the driver notices counts only as far as it shows the same day. {LIMITS}"
    yield from (("faint", part) for part in look.wrap(text))
