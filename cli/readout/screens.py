"""A readout as lines of text: what the car said, what follows, what was held back. Nothing is printed here."""

from collections.abc import Iterator

from comeback.cli.look import Look, Styled
from comeback.engine.readout.findings.evidence import Drafts
from comeback.engine.readout.findings.judging import Interpretation
from comeback.engine.readout.protocol.car_data import OTHER, CarData
from comeback.engine.readout.protocol.parameters import BY_KEY, FUEL_SYSTEM, LOOPS
from comeback.engine.readout.protocol.trouble_codes import area, lamp_timing, who_defines
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase

STATE_NAMES = {
    "rest": "at rest", "key-on": "key on, engine off", "cranking": "cranking", "idle": "idle", "2500": "2500 rpm",
    OTHER: "engine state not given",
}  # fmt: skip
TAKEN = (
    "It understands codes (P0171, Pending: P0300), values with name and unit (RPM 780, LTFT1 12 %, ECT 92 C) and "
    "response bytes (43 01 71)."
)


def data_lines(data: CarData, knowledge: KnowledgeBase, look: Look) -> list[Styled]:
    """Everything the car said, decoded, with units and what is usual."""
    lines: list[Styled] = []
    for kind, codes in data.codes.items():
        lines.append(("title", f"Codes {'in the text' if kind == 'listed' else kind}: {len(codes) or 'none'}"))
        for code in codes:
            lines += _code(code, knowledge, look, short=kind != "stored" and code in data.codes.get("stored", ()))
    if len([unit for unit in data.units if unit]) > 1:
        lines += [("faint", f"  unit {unit}: {', '.join(codes) or 'none'}") for unit, codes in data.units.items()]
    frame = data.freeze_frame
    if frame and frame.code is None:
        lines.append(("plain", "Freeze frame  none stored"))
    elif frame:
        lines.append(("title", f"Freeze frame of {frame.code or 'an unknown code'}"))
        lines += [("plain", line) for k, v in frame.values.items() for line in _value(k, v, look, usual=False)]
    if data.readiness:
        status = data.readiness
        left = ", ".join(status.incomplete) or "none"
        text = f"check-engine light {'on' if status.lamp else 'off'}, {status.codes} codes; not complete: {left}"
        lines += look.styled("plain", f"{text} (of {len(status.supported)})", 14, "Readiness")
    for state, sample in data.samples.items():
        lines.append(("title", f"Values, {STATE_NAMES.get(state, state)}"))
        lines += [("plain", line) for key, value in sample.values.items() for line in _value(key, value, look)]
    if data.misfires:
        counts = ", ".join(f"{cylinder}: {count}" for cylinder, count in sorted(data.misfires.items()))
        lines += look.styled("plain", counts, 24, "Misfires by cylinder")
    return lines + [("faint", line) for remark in data.remarks for line in look.wrap(remark, 4, "  !")]


def _code(code: str, knowledge: KnowledgeBase, look: Look, short: bool) -> Iterator[Styled]:
    known = knowledge.codes.get(code)
    maker = "the car maker's own code: look it up in the maker's data"
    meaning = known.meaning if known else maker if who_defines(code) == "maker" else area(code) or "not in the list"
    yield from look.styled("say", meaning, 9, f"  {code}")
    for text in () if short else (known.note if known else "", f"Check-engine light: {lamp_timing(code)}."):
        yield from look.styled("faint", text, 9, "         ")


def _value(key: str, value: float, look: Look, usual: bool = True) -> list[str]:
    """A value with its name, unit and what is usual."""
    known = BY_KEY[key]
    if key == FUEL_SYSTEM:
        return [f"  {known.name:31} {LOOPS.get(value, f'status {int(value):02X}')}"]
    number = f"{value:.2f}" if abs(value) < 10 and value != round(value) else f"{value:.1f}".removesuffix(".0")
    text = f"  {known.name:31} {number:>7} {known.unit:7}"
    hint = known.usual if usual else ""
    hint = f"usual {hint}" if hint[:1].isdigit() else hint
    return [line.rstrip() for line in look.wrap(hint, len(text) + 1, text)] if hint else [text.rstrip()]


def finding_lines(found: Interpretation, knowledge: KnowledgeBase, look: Look) -> list[Styled]:
    """Findings with band and reason; families without a code in one line; what was held back; remarks."""
    checks = knowledge.checks
    quiet = [t for t in found.findings if checks[t.check].codes and t.result == checks[t.check].expected]
    lines: list[Styled] = [("title", "Findings" if found.findings else "No findings")]
    for told in (told for told in found.findings if told not in quiet):
        check = checks[told.check]
        mark = "say" if told.result != check.expected else "plain"
        head = f"{check.name}: {told.reading + ' - ' if told.reading else ''}{check.results[told.result]}"
        why = "; ".join(text for text in (f"band {told.band}" if check.reading else "", told.why) if text)
        lines += [*look.styled(mark, head, 4, "  -"), *look.styled("faint", why, 4, "    ")]
    if quiet:
        lines.append(("plain", f"  - No code in the {len(quiet)} other families"))
    if found.withheld:
        lines.append(("title", "No conclusion"))
    reasons: dict[str, list[str]] = {}
    for held in found.withheld:
        reasons.setdefault(held.why, []).append(checks[held.check].name)
    for why, names in reasons.items():
        what = names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more checks"
        lines += look.styled("plain", f"{what}: {why}", 4, "  -")
    for remark in found.remarks:
        lines += look.styled("say", remark, 4, "  *")
    return lines


def recorded_lines(drafts: Drafts, walk: Walk, look: Look) -> list[Styled]:
    """What was written into the case, what was not and why, and what it makes most likely."""
    knowledge, case = walk.knowledge, walk.case.id
    lines: list[Styled] = [
        ("title", f"Case {case}: evidence saved, {len(drafts.recorded)} findings recorded as bay answers.")
    ]
    for told, reason in drafts.left_out:
        lines += look.styled("plain", f"{knowledge.checks[told.check].name}: {reason}", 4, "  -")
    for cause, chance in walk.view.repair_candidates()[:3] if walk.case.complaint else ():
        lines += look.styled("plain", knowledge.causes[cause].name, 8, f"  {round(100 * chance):3d} %")
    lines.append(("say", f"Next: comeback triage {case}"))
    return lines


def name_lines() -> list[str]:
    """Every value that can be typed: its short name, unit, full name."""
    return [f"{key:9} {known.unit:8} {known.name}" for key, known in BY_KEY.items()]
