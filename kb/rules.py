"""Rules beyond types: what would make the knowledge useless, unsafe or unclear to a reader.

One function a rule, collected in `RULES`; each yields (path of the entry, message). A new rule
comes with a broken file in tests/kb/broken.
"""

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from pathlib import Path as FilePath

from comeback.kb.loader import gather
from comeback.kb.problems import Problem
from comeback.kb.schema import Condition, KnowledgeBase
from comeback.kb.vocabulary import Audience, CauseKind, Disposition, Tier
from comeback.kb.yaml_reader import Path

Finding = tuple[Path, str]
Rule = Callable[[KnowledgeBase], Iterator[Finding]]


def check_folders(*folders: FilePath) -> tuple[KnowledgeBase | None, tuple[Problem, ...]]:
    """The knowledge of the folders (None if it cannot be used) and every problem, reading and rules together."""
    knowledge, reading = gather(*folders)
    if knowledge is None:
        return None, tuple(sorted(set(reading.problems)))
    found = []
    for rule in RULES:
        for path, message in rule(knowledge):
            document = reading.places[str(path[0]), str(path[1])]
            found.append(document.key_problem(path, rule.__name__.replace("_", "-"), message))
    return knowledge, tuple(sorted(set(found)))


def cause_without_repair(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """A cause that nothing removes leaves the technician stranded; what passes by itself need not."""
    removed = {cause for repair in knowledge.repairs.values() for cause in repair.removes}
    for cause in knowledge.causes.values():
        if cause.id not in removed:
            yield ("causes", cause.id), f"No repair removes '{cause.id}'. Add it to a repair's `removes:`."


def cause_without_complaint(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """A cause that shows in no complaint is never thought of."""
    reported = {check for complaint in knowledge.complaints.values() for check in complaint.reports}
    for cause in knowledge.causes.values():
        if not reported & set(cause.shows):
            message = f"'{cause.id}' shows nothing that a customer reports. Add a complaint's check to `shows:`."
            yield ("causes", cause.id), message


def cause_without_bay_check(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """A cause must be found by something that a technician can look at or measure."""
    bay = {check.id for check in knowledge.checks.values() if Audience.BAY in check.audience}
    for cause in knowledge.causes.values():
        if not bay & set(cause.shows):
            yield ("causes", cause.id), f"No check in the bay bears on '{cause.id}'. Add one to `shows:`."


def check_that_tells_nothing(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """A check that no cause shows in is never asked."""
    shown = {check for cause in knowledge.causes.values() for check in cause.shows}
    for check in knowledge.checks.values():
        if check.id not in shown:
            yield (
                ("checks", check.id),
                f"No cause shows in '{check.id}'. Name it in a cause's `shows:` or delete it.",
            )


def chance_of_exactly_0_or_100(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """Only logic is certain: a chance of 0 or 100 % can never be outweighed by any finding."""
    for cause in knowledge.causes.values():
        for check, shows in cause.shows.items():
            written = shows.values() if isinstance(shows, Mapping) else (shows,)
            if any(chance in (0.0, 1.0) for chance in written):
                yield ("causes", cause.id, "shows", check), "A chance of exactly 0 or 100 %. Write 1 or 99."
    for name in knowledge.checks:
        if any(chance in (0.0, 1.0) for chance in knowledge.leak(name)[1:]):
            message = "`otherwise` must give every abnormal result a chance above 0 and below 100 %."
            yield ("checks", name, "otherwise"), message


def bands_with_a_gap(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """Bands must cover the possible range once: no reading without a result, none with two."""
    for check in knowledge.checks.values():
        if check.reading is None:
            continue
        edges = sorted(check.reading.bands.values())
        low, high = check.reading.possible
        joined = all(a[1] == b[0] for a, b in pairwise(edges))
        if not edges or edges[0][0] != low or edges[-1][1] != high or not joined:
            message = f"The bands must run from {low:g} to {high:g} without gap or overlap."
            yield ("checks", check.id, "reading", "bands"), message


def red_flag_out_of_order(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """A red flag is asked on the phone, among the first, and its expected result raises none."""
    for check in knowledge.checks.values():
        if check.red_flag and Audience.PHONE not in check.audience:
            yield (
                ("checks", check.id),
                "A red flag must be one a caller can answer. Add phone to `audience:`.",
            )
        if check.expected in check.red_flag:
            yield (
                ("checks", check.id, "red_flag"),
                "The first result means nothing is wrong; it can be no red flag.",
            )
    for complaint in knowledge.complaints.values():
        if len(complaint.red_flags) > 6:
            yield (
                ("complaints", complaint.id, "red_flags"),
                "More than 6 red flags do not fit one screen. Drop some.",
            )
        for i, flag in enumerate(complaint.red_flags):
            if not knowledge.checks[flag].red_flag:
                yield ("complaints", complaint.id, "red_flags", i), f"'{flag}' has no `red_flag:`."


def hazard_without_caution(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """Work that can hurt names its caution: fuel, strip-down, running engines, anything that danger causes need."""
    for repair in knowledge.repairs.values():
        worst = max((knowledge.causes[c].drive for c in repair.removes), default=Disposition.WATCH)
        if not repair.cautions and (worst is Disposition.GET_CLEAR or repair.tier is Tier.STRIP):
            yield ("repairs", repair.id), f"'{repair.id}' can hurt and names no caution. Add `cautions:`."


def two_questions_in_one(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """What is read aloud is one question of at most 20 words (R1, R2, R18 of good phone scripts)."""
    for check in knowledge.checks.values():
        if check.say is None:
            continue
        if check.say.count("?") != 1:
            yield (
                ("checks", check.id, "say"),
                "Read aloud is exactly one question. Split it, or end it with '?'.",
            )
        if len(check.say.split()) > 20:
            yield ("checks", check.id, "say"), "A question read aloud has at most 20 words. Shorten it."


def result_that_says_nothing(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """A result states what was seen, not that it was looked at."""
    empty = {"ok", "okay", "checked", "done", "fine", "good", "bad", "normal", "abnormal"}
    for check in knowledge.checks.values():
        for name, label in check.results.items():
            if label.strip(" .").lower() in empty:
                yield ("checks", check.id, "results", name), f"'{label}' does not say what was seen."


def proof_of_another_thing(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """The proof is made in the bay, and a cause that the repair removes shows in it."""
    for repair in knowledge.repairs.values():
        check = knowledge.checks[repair.proof.check]
        if Audience.BAY not in check.audience:
            yield (
                ("repairs", repair.id, "proof", "check"),
                f"'{check.id}' cannot be made in the bay. Choose another.",
            )
        if not any(check.id in knowledge.causes[cause].shows for cause in repair.removes):
            message = f"No cause that '{repair.id}' removes shows in '{check.id}', so it proves nothing."
            yield ("repairs", repair.id, "proof", "check"), message


def frequency_out_of_reach(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """More than a quarter of cars cannot be a cause of comebacks; a slip was meant per 1000, not per 100."""
    for cause in knowledge.causes.values():
        if cause.frequency > (400 if cause.kind is CauseKind.AFTER_EFFECT else 250):
            yield (
                ("causes", cause.id, "frequency"),
                f"{cause.frequency:g} of 1000 cars is too many. Count per 1000.",
            )


def unused_entry(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """Cautions and set-ups that nothing names are left-overs."""
    for section, used in _used(knowledge).items():
        for name in getattr(knowledge, section):
            if name not in used:
                yield (section, name), f"Nothing uses '{name}'. Name it somewhere, or delete it."


def _used(knowledge: KnowledgeBase) -> dict[str, set[str]]:
    used: dict[str, set[str]] = {"cautions": set(), "set_ups": set()}
    entries: list[object] = [
        e
        for section in ("cautions", "set_ups", "services", "complaints", "causes", "checks", "repairs")
        for e in getattr(knowledge, section).values()
    ]
    for entry in entries:
        used["cautions"].update(getattr(entry, "cautions", ()))
        used["set_ups"].update(getattr(entry, "set_up", ()), getattr(entry, "ends", ()))
    for service in knowledge.services.values():
        for step in service.steps.values():
            used["cautions"].update(step.cautions)
    return used


def vehicle_that_nothing_fits(knowledge: KnowledgeBase) -> Iterator[Finding]:
    """A cause for one kind of car needs a repair for that kind."""
    for cause in knowledge.causes.values():
        repairs = [repair for repair in knowledge.repairs.values() if cause.id in repair.removes]
        if repairs and not any(_can_meet(cause.only_if, repair.only_if) for repair in repairs):
            yield (
                ("causes", cause.id, "only_if"),
                "No repair fits the cars that have this cause. Check `only_if:`.",
            )


def _can_meet(one: Condition, other: Condition) -> bool:
    return all(set(kinds) & set(other.get(feature, kinds)) for feature, kinds in one.items())


RULES: tuple[Rule, ...] = (
    cause_without_repair,
    cause_without_complaint,
    cause_without_bay_check,
    check_that_tells_nothing,
    chance_of_exactly_0_or_100,
    bands_with_a_gap,
    red_flag_out_of_order,
    hazard_without_caution,
    two_questions_in_one,
    result_that_says_nothing,
    proof_of_another_thing,
    frequency_out_of_reach,
    unused_entry,
    vehicle_that_nothing_fits,
)
