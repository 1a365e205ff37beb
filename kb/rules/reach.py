"""Rules for reach: every cause, check and complaint is on a way from a complaint to a repair."""

import re
from collections.abc import Iterator

from comeback.kb.fields import Condition
from comeback.kb.rules.bearing import bears_on, unexplained
from comeback.kb.rules.words import Broken
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import Audience

MOST_UNEXPLAINED = 0.5
"""With more than this share of a complaint's cars without a known cause, its causes are missing; judged."""
_RUNNING = re.compile(r"^(?:warm idle|idle|idling|engine running)\b(?!.*\bor (?:key on|cranking|engine off)\b)", re.I)
"""Conditions of a check that only an engine that runs can meet."""


def cause_without_repair(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A cause without a repair leaves the technician stranded."""
    removed = {cause for repair in knowledge.repairs.values() for cause in repair.removes}
    for cause in knowledge.causes.values():
        if cause.id not in removed:
            yield ("causes", cause.id), f"No repair removes '{cause.id}'. Add it to a repair's `removes:`."


def cause_without_complaint(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A cause that shows in no complaint is never thought of."""
    reported = {check for complaint in knowledge.complaints.values() for check in complaint.reports}
    for cause in knowledge.causes.values():
        if not reported & set(cause.shows):
            message = f"'{cause.id}' shows nothing that a customer reports. Add a complaint's check to `shows:`."
            yield ("causes", cause.id), message


def cause_without_bay_check(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A cause must be found by something that a technician can look at or measure."""
    bay = {check.id for check in knowledge.checks.values() if Audience.BAY in check.audience}
    for cause in knowledge.causes.values():
        if not bay & set(cause.shows):
            yield ("causes", cause.id), f"No check in the bay bears on '{cause.id}'. Add one to `shows:`."


def complaint_that_no_caller_can_state(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A complaint reports what a caller can see, hear, smell or feel."""
    for complaint in knowledge.complaints.values():
        for check in complaint.reports:
            if Audience.PHONE not in knowledge.checks[check].audience:
                message = f"No caller can tell '{check}'. Report a check with phone in its `audience:`."
                yield ("complaints", complaint.id, "reports", check), message


def complaint_without_cause(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A complaint that no cause can bring leads nowhere."""
    for complaint in knowledge.complaints.values():
        causes = [knowledge.causes[cause] for cause in bears_on(knowledge, complaint)]
        if not causes and complaint.reports:
            yield ("complaints", complaint.id), f"No cause shows what '{complaint.id}' reports. Add it to `shows:`."
        for i, service in enumerate(complaint.services if causes else ()):
            if not any(cause.after((service,)) for cause in causes):
                message = f"After '{service}' no cause shows what '{complaint.id}' reports. Drop the service."
                yield ("complaints", complaint.id, "services", i), message


def complaint_mostly_unexplained(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A complaint that mostly has no known cause ends in an immediate hand-over: a name with nothing behind it."""
    for complaint in knowledge.complaints.values():
        if complaint.reports and bears_on(knowledge, complaint):
            may_follow = [name for name in knowledge.services if complaint.after((name,))]
            shares = [(unexplained(knowledge, complaint, name), name) for name in may_follow]
            share, service = max(shares, default=(0.0, ""))
            if share > MOST_UNEXPLAINED:
                checks = ", ".join(f"'{check}'" for check in complaint.reports)
                message = (
                    f"After '{service}' {100 * share:.0f} of 100 such cars have no known cause. "
                    f"Add the cause, lower `otherwise:` of {checks}, or list `services:`."
                )
                yield ("complaints", complaint.id), message


def check_out_of_reach(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A check is of use only on cars that can have a cause it shows, and if what it needs can be answered."""
    for check in knowledge.checks.values():
        showing = [cause for cause in knowledge.causes.values() if check.id in cause.shows]
        if showing and not any(_can_meet(check.only_if, cause.only_if) for cause in showing):
            yield (
                ("checks", check.id, "only_if"),
                "No car with this check has a cause that shows in it. Check `only_if:`.",
            )
        if check.id in check.needs or any(check.id in knowledge.checks[c].needs for c in check.needs):
            yield ("checks", check.id, "needs"), "This check waits for itself. Drop the need."
        for needed in check.needs:
            if not _can_meet(check.only_if, knowledge.checks[needed].only_if):
                message = f"'{needed}' and '{check.id}' are for different cars. Check `only_if:` of both."
                yield ("checks", check.id, "needs", needed), message


def check_that_tells_nothing(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A check that no cause shows in is never asked."""
    shown = {check for cause in knowledge.causes.values() for check in cause.shows}
    for check in knowledge.checks.values():
        if check.id not in shown and not check.passed:
            message = f"No cause shows in '{check.id}'. Name it in a cause's `shows:`, or delete it."
            yield ("checks", check.id), message


def result_that_no_cause_shows(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A defect that a look can show has a cause, and so a repair: else it is seen and nothing follows."""
    for check in knowledge.checks.values():
        chances = [
            knowledge.chances(cause.id, check.id) for cause in knowledge.causes.values() if check.id in cause.shows
        ]
        for i, result in enumerate(check.names[1:], 1):
            told = chances and result not in check.passed and not _between(check, result)
            if told and not any(chance[i] for chance in chances):
                message = f"No cause shows '{result}', so no repair follows. Add it to a cause's `shows: {check.id}`."
                yield ("checks", check.id, "results", result), message


def check_of_an_engine_that_may_not_run(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A check made at idle needs an engine that runs: `needs` keeps it from a car that does not start."""
    starting = next((check for check in knowledge.checks.values() if check.id == "start"), None)
    for check in knowledge.checks.values():
        if starting and check is not starting and _RUNNING.match(check.condition) and starting.id not in check.needs:
            message = f"It is made with the engine running. Add `needs: {{start: [{starting.expected}, ...]}}`."
            yield ("checks", check.id, "condition"), message


def red_flag_ruled_out(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Nobody is asked about a danger sign that the complaint leaves no room for, as a knock of a dead engine."""
    for complaint in knowledge.complaints.values():
        for i, sign in enumerate(complaint.red_flags):
            for needed, results in knowledge.checks[sign].needs.items():
                if complaint.reports.get(needed, results[0]) not in results:
                    message = f"'{sign}' cannot be seen with '{needed}: {complaint.reports[needed]}'. Drop it."
                    yield ("complaints", complaint.id, "red_flags", i), message


def code_in_two_families(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A trouble code means one result of one check: in two it would count twice."""
    seen: dict[str, str] = {}
    for check in knowledge.checks.values():
        for result, codes in check.codes.items():
            for i, code in enumerate(codes):
                if code in seen:
                    message = f"{code} is listed at '{seen[code]}' too. Leave it in one place."
                    yield ("checks", check.id, "codes", result, i), message
                seen.setdefault(code, f"{check.id}: {result}")


def vehicle_that_nothing_fits(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A cause for one kind of car needs a repair for that kind."""
    for cause in knowledge.causes.values():
        repairs = [repair for repair in knowledge.repairs.values() if cause.id in repair.removes]
        if repairs and not any(_can_meet(cause.only_if, repair.only_if) for repair in repairs):
            message = "No repair fits the cars that have this cause. Check `only_if:`."
            yield ("causes", cause.id, "only_if"), message


def _between(check: Check, result: str) -> bool:
    """True if it is a band of a reading with others on both sides: a step on the way to the outer one."""
    return check.reading is not None and set(check.reading.possible).isdisjoint(check.reading.bands[result])


def _can_meet(one: Condition, other: Condition) -> bool:
    return all(set(kinds) & set(other.get(feature, kinds)) for feature, kinds in one.items())
