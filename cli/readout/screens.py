"""A readout as lines of text: what the car said, what follows, what was held back. Nothing is printed here."""

from collections.abc import Iterator, Sequence

from comeback.cli.look import Look, Styled
from comeback.engine.readout.findings.evidence import Drafts
from comeback.engine.readout.findings.judging import Finding, Interpretation
from comeback.engine.readout.protocol.car_data import OTHER, CarData, FreezeFrame
from comeback.engine.readout.protocol.parameters import BY_KEY, FUEL_SYSTEM, OTHER_NAMES, TYPED_ONLY, name_and_unit
from comeback.engine.readout.protocol.trouble_codes import area, lamp_timing, who_defines
from comeback.engine.readout.protocol.vin import Vin
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import SignalWord

STATE_NAMES = {
    "rest": "at rest", "key-on": "key on, engine off", "cranking": "cranking", "idle": "idle", "2500": "2500 rpm",
    OTHER: "engine state not given",
}  # fmt: skip

KIND_NAMES = {"listed": "in the text"}
"""How a kind of codes is called where its own name does not say it."""
TAKEN = (
    "It understands codes (P0171, Pending: P0300), values with name and unit (RPM 780, LTFT1 12 %, ECT 92 C) and "
    "response bytes (43 01 71)."
)


def data_lines(data: CarData, vin: Vin | None, knowledge: KnowledgeBase, look: Look, full_vin: bool) -> list[Styled]:
    """Everything the car said, decoded, with units and what is usual."""
    lines: list[Styled] = []
    if vin:
        lines += _vin(vin, look, full_vin)
    for kind, codes in data.codes.items():
        lines.append(("title", f"Codes {KIND_NAMES.get(kind, kind)}: {len(codes) or 'none'}"))
        for code in codes:
            lines += _code(code, knowledge, look, short=kind != "stored" and code in data.codes.get("stored", ()))
    if len([unit for unit in data.units if unit]) > 1:
        lines += [("faint", f"  unit {unit}: {', '.join(codes) or 'none'}") for unit, codes in data.units.items()]
    if data.freeze_frame:
        lines += _frame(data.freeze_frame, look)
    if data.readiness:
        status = data.readiness
        left = ", ".join(status.incomplete) or "none"
        text = f"check-engine light {'on' if status.lamp else 'off'}, {status.codes} codes; not complete: {left}"
        lines += [("plain", line) for line in look.wrap(f"{text} (of {len(status.supported)})", 14, "Readiness")]
    for state, sample in data.samples.items():
        if sample.values:
            lines.append(("title", f"Values, {STATE_NAMES.get(state, state)}"))
        if sample.fuel_system is not None:
            system = FUEL_SYSTEM.get(sample.fuel_system, f"status {sample.fuel_system:02X}")
            lines.append(("plain", f"  {'Fuel system':31} {system}"))
        lines += [("plain", line) for key, value in sample.values.items() for line in _value(key, value, look)]
    if data.misfires:
        counts = ", ".join(f"{cylinder}: {count}" for cylinder, count in sorted(data.misfires.items()))
        lines += [("plain", line) for line in look.wrap(counts, 24, "Misfires by cylinder")]
    return lines


def _vin(vin: Vin, look: Look, full: bool) -> Iterator[Styled]:
    year = f", model year {vin.year}" if vin.year else ""
    fits = "" if vin.check_fits else "; its check digit does not match: misread, or not a North American car"
    for line in look.wrap(f"{vin.text if full else vin.masked}{year}{fits}", 14, "VIN"):
        yield ("plain", line)


def _code(code: str, knowledge: KnowledgeBase, look: Look, short: bool) -> Iterator[Styled]:
    known = knowledge.codes.get(code)
    maker = "the car maker's own code: look it up in the maker's data"
    meaning = known.meaning if known else maker if who_defines(code) == "maker" else area(code) or "not in the list"
    for line in look.wrap(meaning, 9, f"  {code}"):
        yield ("say", line)
    if not short:
        for text in (known.note if known else "", f"Check-engine light: {lamp_timing(code)}."):
            if text:
                yield from (("faint", line) for line in look.wrap(text, 9, "         "))


def _frame(frame: FreezeFrame, look: Look) -> Iterator[Styled]:
    if frame.code is None:
        yield ("plain", "Freeze frame  none stored")
        return
    yield ("title", f"Freeze frame of {frame.code or 'an unknown code'}")
    for key, value in frame.values.items():
        yield from (("plain", line) for line in _value(key, value, look, usual=False))


def _value(key: str, value: float, look: Look, usual: bool = True) -> list[str]:
    name, unit = name_and_unit(key)
    known = BY_KEY.get(key)
    number = f"{value:.2f}" if abs(value) < 10 and value != round(value) else f"{value:.1f}".removesuffix(".0")
    text = f"  {name:31} {number:>7} {unit:7}"
    hint = known.usual if usual and known else ""
    hint = f"usual {hint}" if hint[:1].isdigit() else hint
    return [line.rstrip() for line in look.wrap(hint, len(text) + 1, text)] if hint else [text.rstrip()]


def finding_lines(found: Interpretation, knowledge: KnowledgeBase, look: Look) -> list[Styled]:
    """Findings with band and reason; families without a code in one line; what was held back; remarks."""
    checks = knowledge.checks
    quiet = [t for t in found.findings if checks[t.check].codes and t.result == checks[t.check].expected]
    lines: list[Styled] = [("title", "Findings" if found.findings else "No findings")]
    for told in found.findings:
        if told not in quiet:
            lines += _finding(told, knowledge, look)
    if quiet:
        lines.append(("plain", f"  - No code in the {len(quiet)} other families"))
    if found.withheld:
        lines.append(("title", "No conclusion"))
        reasons: dict[str, list[str]] = {}
        for held in found.withheld:
            reasons.setdefault(held.why, []).append(checks[held.check].name)
        for why, names in reasons.items():
            what = names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more checks"
            lines += [("plain", line) for line in look.wrap(f"{what}: {why}", 4, "  -")]
    for remark in found.remarks:
        lines += [("say", line) for line in look.wrap(remark, 4, "  *")]
    return lines


def _finding(told: Finding, knowledge: KnowledgeBase, look: Look) -> Iterator[Styled]:
    check = knowledge.checks[told.check]
    mark = "say" if told.result != check.expected else "plain"
    head = f"{check.name}: {told.reading + ' - ' if told.reading else ''}{check.results[told.result]}"
    for line in look.wrap(head, 4, "  -"):
        yield (mark, line)
    limits = f"band {told.band}" if check.reading else ""
    why = "; ".join(text for text in (limits, told.why) if text)
    if why:
        yield from (("faint", line) for line in look.wrap(why, 4, "    "))


def recorded_lines(
    drafts: Drafts, case: str, chances: Sequence[tuple[str, float]], knowledge: KnowledgeBase, look: Look
) -> list[Styled]:
    """What was written into the case, what was not and why, and what it makes most likely."""
    lines: list[Styled] = [
        ("title", f"Case {case}: evidence saved, {len(drafts.recorded)} findings recorded as bay answers.")
    ]
    for told, reason in drafts.left_out:
        lines += [("plain", line) for line in look.wrap(f"{knowledge.checks[told.check].name}: {reason}", 4, "  -")]
    for cause, chance in chances[:3]:
        lines += [
            ("plain", line) for line in look.wrap(knowledge.causes[cause].name, 8, f"  {round(100 * chance):3d} %")
        ]
    lines.append(("say", f"Next: comeback triage {case}"))
    return lines


def caution_lines(names: Sequence[str], knowledge: KnowledgeBase, look: Look) -> list[Styled]:
    """Cautions of the knowledge files, gravest first; names that it does not have are left out."""
    order = list(SignalWord)
    known = [knowledge.cautions[name] for name in dict.fromkeys(names) if name in knowledge.cautions]
    lines: list[Styled] = []
    for caution in sorted(known, key=lambda c: order.index(c.word)):
        sign = "" if caution.word is SignalWord.NOTICE else f"{look.alert} "
        lead = f"{sign}{caution.word.value}  "
        lines += [("caution", line) for line in look.wrap(caution.avoid, len(lead), lead)]
        lines += [("plain", line) for line in look.wrap(f"{caution.hazard} {caution.consequence}", len(lead))]
    return lines


def name_lines() -> list[str]:
    """Every value that can be typed: its short name, other spellings, unit, full name."""
    others: dict[str, list[str]] = {}
    for other, key in OTHER_NAMES.items():
        others.setdefault(key, []).append(other)
    return [
        f"{key:9} {unit:8} {name}{' (also ' + ', '.join(others[key]) + ')' if key in others else ''}"
        for key, (name, unit) in {key: name_and_unit(key) for key in (*BY_KEY, *TYPED_ONLY)}.items()
    ]
