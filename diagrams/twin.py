"""The text twin of a chart: the same boxes and exits as a numbered list, with everything in full.

For screen readers, for machines without a layout program, and for the details that no box has room for.
"""

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain

from comeback.diagrams.cards.cards import Card, seen
from comeback.diagrams.drawing.heading import Heading
from comeback.diagrams.flow.layout import keep_off, stops_first
from comeback.diagrams.flow.pages import Page
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.answers import labels
from comeback.diagrams.paper.captions import Captions
from comeback.diagrams.paper.hazards import cautions
from comeback.diagrams.paper.lettering import in_signs
from comeback.engine.charts.decision_graph import Box, DecisionGraph, TryInOrder
from comeback.engine.charts.growth import PaperStep
from comeback.engine.walk import steps
from comeback.kb.schema import Check, Panel, Procedure, Repair
from comeback.kb.vocabulary import FEATURE_NAMES, Audience, Disposition, SignalWord

WIDTH = 79


def twin(
    graph: DecisionGraph, captions: Captions, head: Heading, pages: Sequence[Page], named: Mapping[str, Card]
) -> str:
    """The whole text, ending in a newline."""
    writer = _Writer(graph, captions)
    page_of = {row.number: page.number for page in pages for row in page.rows}
    out = [head.title.upper(), *(line for text in head.lines for line in _wrap(text)), ""]
    out += [line for text in (phrases.CARRIED_MEANS[head.audience], *head.foot_lines) for line in _wrap(text)]
    for box in graph.boxes:
        place = f"  (page {page_of[box.number]})" if box.number in page_of else ""
        out += ["", *writer.step(box, place)]
    if named:
        out += ["", phrases.CARDS_TITLE.upper(), *_wrap(phrases.CARDS_HOW)]
    for card in named.values():
        out += ["", *writer.card(card)]
    return "\n".join(line.rstrip() for line in out) + "\n"


def _wrap(text: str, indent: int = 0, first: str = "") -> list[str]:
    pad = " " * indent
    return textwrap.wrap(in_signs(text), WIDTH, initial_indent=first.ljust(indent) or pad, subsequent_indent=pad)


class _Writer:
    """Writes steps as paragraphs."""

    def __init__(self, graph: DecisionGraph, captions: Captions) -> None:
        self.captions, self.knowledge = captions, captions.knowledge
        self.boxes = {box.number: box for box in graph.boxes}
        self.reported = captions.knowledge.complaints[graph.complaint].reports

    def step(self, box: Box, place: str) -> Iterator[str]:
        """Cautions first, then the step, its details, and where each answer goes."""
        for name in cautions(self.captions, box.step):
            yield from self._caution(name)
        for i, (lead, text) in enumerate(self._body(box.step)):
            if i == 0:
                yield from _wrap(f"{text}{place}", 10, f"Step {box.number}.")
            else:
                yield from _wrap(text, 18, f"          {lead}")
        for way in box.exits:
            answers = " / ".join(labels(self.knowledge, self.captions.audience, box, way))
            first = f"{phrases.STOP_FIRST} " if stops_first(self.captions, box, way, self.boxes) else ""
            yield from _wrap(f"{answers}: {first}go to {way.target}.", 8, "    -")

    def card(self, card: Card) -> Iterator[str]:
        """A repair card: cautions, what to look for, the work, the proof."""
        for name in card.cautions:
            yield from self._caution(name)
        texts = self._repair(card.repair)
        yield from _wrap(next(texts)[1], 10, f"Card {card.name}.")
        if card.look:
            check, results = card.look
            texts = chain([("Look", f"{check.name}. {check.do} Repair if: {seen(check, results)}.")], texts)
        for lead, text in texts:
            yield from _wrap(text, 18, f"          {lead}")

    def _caution(self, name: str) -> Iterator[str]:
        caution = self.knowledge.cautions[name]
        sign = "" if caution.word is SignalWord.NOTICE else "[!] "
        yield from _wrap(f"{caution.avoid} {caution.hazard} {caution.consequence}", 14, f"{sign}{caution.word.value}  ")

    def _body(self, step: PaperStep) -> Iterator[tuple[str, str]]:
        """(lead, text) pairs; the first text is the title."""
        match step:
            case steps.DangerScreen(checks):
                yield "", phrases.DANGER[self.captions.audience]
                for name in checks:
                    yield from self._sign(self.knowledge.checks[name])
                yield from (("", text) for text in keep_off(self.captions, self.reported, step))
            case steps.ChooseCondition(feature):
                yield "", FEATURE_NAMES[feature]
            case steps.MakeCheck(check=check, set_up=needed, again=again):
                lead = phrases.LOOK_AGAIN if again is not None else ""
                yield from self._check(self.knowledge.checks[check], lead, needed, step.despite)
            case steps.ProveRepair(check=check):
                entry = self.knowledge.checks[check]
                yield from self._check(entry, "Proof: ", entry.set_up, step.despite)
            case steps.ReadPanel(panel=panel, checks=checks, set_up=needed):
                yield from self._panel(self.knowledge.panels[panel], checks, needed, step.despite)
            case steps.DoRepair(repair=repair):
                yield from self._repair(self.knowledge.repairs[repair], step.despite)
            case steps.Advise(disposition=disposition):
                yield from self._advice(disposition, self.captions.words(step))
            case TryInOrder():
                yield from self._in_order(step)
            case _:
                title, *texts = self.captions.ending(step)
                yield "", f"END. {title}."
                yield from (("", text) for text in texts if text)
                yield from (("Aloud", f'"{words}"') for words in [self.captions.words(step)] if words)

    def _sign(self, check: Check) -> Iterator[tuple[str, str]]:
        phone = self.captions.audience is Audience.PHONE
        yield "Sign", f'"{check.say}"' if phone else f"{check.name}. {check.do or ''}"
        yield "", f"Danger: {' / '.join(list(check.results.values())[1:])}."

    def _in_order(self, step: TryInOrder) -> Iterator[tuple[str, str]]:
        off = step.engine_off is not None
        danger = phrases.STAY_OFF_TWIN if off else phrases.TRY_DANGER_TWIN
        yield "", f"END. {danger if step.danger else phrases.TRY_OFF_TWIN if off else phrases.TRY_TWIN}."
        for name in step.every:
            if step.then and name == step.then[0]:
                yield "", phrases.THEN_TWIN
            yield self.captions.cards.get(name, ""), f"{self.knowledge.repairs[name].name}."
        yield "", phrases.ELSE_OFF if off or step.danger else phrases.ELSE

    def _check(
        self, check: Check, lead: str, needed: Sequence[str], despite: Sequence[str] = ()
    ) -> Iterator[tuple[str, str]]:
        yield "", f"{lead}{check.name}?"
        if self.captions.audience is Audience.PHONE:
            yield "Aloud", f'"{check.say}"'
            return
        first = ", ".join(self.knowledge.set_ups[name].name for name in needed)
        bands = check.reading.bands.items() if check.reading else ()
        limits = "; ".join(f"{check.results[name]} = {low:g} to {high:g}" for name, (low, high) in bands)
        unit = f" {check.reading.unit}" if check.reading else ""
        against = ("", self.captions.despite(despite))
        fields = (against, ("First", first), ("Where", check.point), ("With", check.tool), ("When", check.condition))
        more = (("Do", check.do or ""), ("Limits", limits + unit if limits else ""), ("Then", " ".join(check.put_back)))
        yield from ((title, text) for title, text in (*fields, *more) if text)

    def _panel(
        self, panel: Panel, checks: Sequence[str], needed: Sequence[str], despite: Sequence[str]
    ) -> Iterator[tuple[str, str]]:
        yield "", f"{panel.name}?"
        first = ", ".join(self.knowledge.set_ups[name].name for name in needed)
        families = ", ".join(self.knowledge.checks[name].name.lower() for name in checks)
        against = ("", self.captions.despite(despite))
        fields = (against, ("First", first), ("When", panel.condition), ("Do", panel.do), ("Tells", families))
        yield from ((title, text) for title, text in fields if text)

    def _repair(self, repair: Repair, despite: Sequence[str] = ()) -> Iterator[tuple[str, str]]:
        yield "", f"Repair: {repair.name}."
        yield from (("", text) for text in [self.captions.despite(despite)] if text)
        for number, text in enumerate((*repair.steps, *repair.put_back), 1):
            yield f"{number}.", text
        if repair.never:
            yield "Never", repair.never
        for name in repair.procedures:
            yield from self._procedure(self.knowledge.procedures[name])
        proof = self.knowledge.checks[repair.proof.check]
        note = f" {repair.proof.note}." if repair.proof.note else ""
        yield "Proof", f"{proof.name}: {proof.results[repair.proof.result]}.{note}"

    def _procedure(self, entry: Procedure) -> Iterator[tuple[str, str]]:
        """What follows the work of a repair, as bleeding, with its cautions."""
        cars = ", ".join(f"{feature} {' or '.join(values)}" for feature, values in entry.only_if.items())
        yield "Then", f"{entry.name}{f' (only {cars})' if cars else ''}. When: {entry.when}."
        for name in entry.cautions:
            caution = self.knowledge.cautions[name]
            yield "", f"{caution.word.value}: {caution.avoid}"
        yield from ((f"{number}.", text) for number, text in enumerate(entry.steps, 1))
        yield "Done", f"{entry.done_when}."

    def _advice(self, disposition: Disposition, words: str) -> Iterator[tuple[str, str]]:
        advice = self.knowledge.dispositions[disposition]
        yield "", f"END. {advice.name}. {advice.within}."
        yield "Aloud", f'"{words}"'
        yield from (("Never", text) for text in advice.promise_not)
