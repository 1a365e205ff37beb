"""Codes, freeze frame, readiness and misfire counts -> findings, and whether older evidence is gone."""

from collections.abc import Iterable, Sequence

from comeback.engine.readout.findings.judging import Judge
from comeback.engine.readout.protocol import trouble_codes as dtc
from comeback.engine.readout.protocol.car_data import CarData, FreezeFrame
from comeback.kb.schema import Check, KnowledgeBase

MILE = 1.609344
"""In kilometers."""
FEW_WARM_UPS, FEW_MINUTES = 3, 60
"""Codes cleared so recently: what is missing now may have been there (common practice, no source)."""
FEW_COUNTS = 10
"""Fewer misfires in all are no finding (common practice, no source)."""
SINGLE, MULTIPLE = 0.90, 0.10
"""Share of one cylinder above which it stands alone; share that makes it several (13 CCR 1968.2(e)(3.1.3))."""


def judge_codes(judge: Judge, data: CarData) -> None:
    """Everything that does not hang on how the engine runs now."""
    gone = _cleared_lately(data)
    if gone:
        judge.remarks[gone] = None
    _families(judge, data, gone)
    _frame(judge, data.freeze_frame, gone)
    status = data.readiness
    if status is not None and not data.cleared:
        what = f"not complete: {', '.join(status.incomplete)}" if status.incomplete else "all complete"
        judge.reading("readiness", f"{len(status.incomplete)}", f"{what}; of {len(status.supported)} monitors")
    _age(judge, data)
    _misfires(judge, data)
    left = [code for code in data.codes.get(dtc.PERMANENT, ()) if code not in data.all_codes]
    if left:
        judge.remarks[f"Permanent without a stored code: {', '.join(left)}. It was cleared; its monitor has not passed "
                      "since. No tool erases it, a passing monitor does."] = None  # fmt: skip


def _cleared_lately(data: CarData) -> str | None:
    """A sentence if codes were cleared so lately that evidence is gone; None if not, or not known."""
    if data.cleared:
        return "Codes were cleared in this very log: what was stored before is gone."
    ages = {unit: data.value(key) for key, unit in (("WARMUPS", "warm-ups"), ("CLEARMIN", "min"), ("CLEARKM", "km"))}
    warm_ups, minutes = ages["warm-ups"], ages["min"]
    few = (warm_ups is not None and warm_ups <= FEW_WARM_UPS) or (minutes is not None and minutes <= FEW_MINUTES)
    if not few and not (data.readiness is not None and data.readiness.all_incomplete):
        return None
    parts = [f"{value:g} {unit}" for unit, value in ages.items() if value is not None]
    when = f"{', '.join(parts)} ago" if parts else "lately: no monitor has run since"
    return f"Codes were cleared or the battery was off {when}. Evidence is gone: a missing code proves nothing."


def _families(judge: Judge, data: CarData, gone: str | None) -> None:
    """Each family of codes; one without a code is a finding only if all codes were read and none were cleared."""
    read = [kind for kind in (dtc.STORED, dtc.PENDING, dtc.TYPED, dtc.LISTED) if kind in data.codes]
    if not read:
        return
    codes = data.all_codes
    how = "typed" if dtc.TYPED in read else "in the text" if dtc.LISTED in read else "stored or pending"
    missing = ""  # what must be read before a family may be said to have no code
    if dtc.TYPED not in read and not {dtc.STORED, dtc.PENDING} <= set(read):
        missing = f"none {read[0]}; read the others too (03 and 07)"
        if read == [dtc.LISTED]:
            missing = "none in the text, which does not tell stored from pending codes; type the whole list, or none"
    strange = without_family(judge.knowledge, codes)
    for name, result in family_results(judge.knowledge, codes).items():
        check = judge.knowledge.checks[name]
        if result not in (None, check.expected):
            judge.result(name, str(result), how, ", ".join(code for code in codes if code in listed_codes(check)))
        elif gone:
            judge.withhold(name, "none now, but codes were cleared lately")
        elif missing:
            judge.withhold(name, missing)
        elif result is None:
            judge.withhold(name, f"{', '.join(strange)} may belong here", asked=True)
        else:
            judge.result(name, check.expected, "all stored and pending codes were read")
    for code in strange:
        judge.remarks[no_family(judge.knowledge, code)] = None


def family_results(knowledge: KnowledgeBase, codes: Sequence[str]) -> dict[str, str | None]:
    """Result of each family if these are all codes of the car.

    None, not known, for a family without one of them that a code without a family may belong to.
    """
    strange = without_family(knowledge, codes)
    found: dict[str, str | None] = {}
    for check in knowledge.checks.values():
        listed = listed_codes(check)
        hits = [code for code in codes if code in listed]
        if hits:
            found[check.id] = family_result(check, hits)
        elif listed:
            may = any(dtc.may_mean(code, other) for code in strange for other in listed)
            found[check.id] = None if may else check.expected
    return found


def listed_codes(check: Check) -> set[str]:
    """Every code that stands for a result of the check."""
    return {code for codes in check.codes.values() for code in codes}


def without_family(knowledge: KnowledgeBase, codes: Iterable[str]) -> list[str]:
    """Codes that no check lists; they prove nothing, least of all that there is no code."""
    listed = set().union(*map(listed_codes, knowledge.checks.values()))
    return [code for code in codes if code not in listed]


def no_family(knowledge: KnowledgeBase, code: str) -> str:
    """What is said of a code that no check lists."""
    known, system = knowledge.codes.get(code), dtc.area(code)
    what = f"{code} ({known.meaning}) has no check here" if known else f"{code} is not known here"
    where = f" ({system})" if system and not known else ""
    still = ": the families that it may belong to stay open." if code[0] in "PU" else "."
    advice = "" if known else " Look it up in the maker's data."
    return f"{what}{where}{still}{advice}"


def family_result(check: Check, hits: list[str]) -> str:
    """The result that dominates; single-cylinder codes of two cylinders mean what the code for several means."""
    found = [result for result, listed in check.codes.items() if any(code in listed for code in hits)]
    if len(set(filter(dtc.ONE_CYLINDER.fullmatch, hits))) > 1:
        several = [result for result, listed in check.codes.items() if "P0300" in listed]
        found = several or found
    return max(found, key=check.names.index)


def _frame(judge: Judge, frame: FreezeFrame | None, gone: str | None) -> None:
    """At idle: standing, below 1300 rpm. Under load: load of half or more, or moving at a third or more."""
    if frame is None:
        return
    if frame.code is None and gone:
        judge.withhold("freeze-frame", "none now, but codes were cleared lately")
        return
    if frame.code is None:
        judge.result("freeze-frame", "none", "the car says that none is stored")
        return
    rpm, load, speed = (frame.values.get(key) for key in ("RPM", "LOAD", "SPEED"))
    what = f"{frame.code or 'code not told'}: " + ", ".join(
        f"{value:.0f} {unit}" for value, unit in ((rpm, "rpm"), (load, "% load"), (speed, "km/h")) if value is not None
    )
    moving = (speed or 0) > 3
    if rpm is not None and rpm < 1300 and not moving and (load or 0) < 50:
        judge.result("freeze-frame", "at-idle", what)
    elif load is not None and (load >= 50 or (moving and load >= 33)):
        judge.result("freeze-frame", "under-load", what)
    else:
        judge.withhold("freeze-frame", f"{what}: neither idle nor load")


def _age(judge: Judge, data: CarData) -> None:
    lamp, since = data.value("MILKM"), judge.around.km_since_service
    if lamp is None:
        return
    what = f"check-engine light on for {lamp / MILE:.0f} mi ({lamp:.0f} km)"
    if since is None:
        judge.withhold("code-age", f"{what}; give the miles since the service: --since-service 120")
    elif lamp > 0:
        judge.result(
            "code-age", "older" if lamp > since else "since-service", f"{what}, service {since / MILE:.0f} mi ago"
        )


def _misfires(judge: Judge, data: CarData) -> None:
    counts, total = data.misfires, sum(data.misfires.values())
    if not counts:
        return
    what = ", ".join(f"cylinder {n}: {count}" for n, count in sorted(counts.items()) if count) or "no cylinder counts"
    if len(counts) == 1:
        judge.withhold("misfire-count", "one cylinder alone says nothing: give the counts of all")
    elif total == 0:
        judge.result("misfire-count", "zero", what)
    elif total < FEW_COUNTS:
        judge.withhold("misfire-count", f"{what}: too few to say")
    elif max(counts.values()) > SINGLE * total:
        judge.result("misfire-count", "one-cylinder", f"{what}: over 90 % in one")
    elif sum(count > MULTIPLE * total for count in counts.values()) > 1:
        judge.result("misfire-count", "spread", f"{what}: two or more hold over 10 % each")
    else:
        judge.withhold("misfire-count", f"{what}: between one and several")
