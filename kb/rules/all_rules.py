"""Rules beyond types: what would make the knowledge useless, unsafe or unclear to a reader.

One function a rule, collected in `RULES`; each yields (path of the entry, message). Rules for
numbers and proofs stand here; those for reach, danger, words and work have a module each. A new rule comes with
a broken file of its name in tests/kb/rules.
"""

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise

from comeback.kb.rules import driving, new_parts, openings, reach, words, workmanship
from comeback.kb.rules import hazard as hazards
from comeback.kb.rules.words import Broken
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, CauseKind

Rule = Callable[[KnowledgeBase], Iterator[Broken]]


def chance_of_exactly_0_or_100(knowledge: KnowledgeBase) -> Iterator[Broken]:
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


def bands_with_a_gap(knowledge: KnowledgeBase) -> Iterator[Broken]:
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


def proof_of_another_thing(knowledge: KnowledgeBase) -> Iterator[Broken]:
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


def frequency_out_of_reach(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """More than a quarter of cars cannot be a cause of comebacks; a slip was meant per 1000, not per 100."""
    for cause in knowledge.causes.values():
        if cause.frequency > (400 if cause.kind is CauseKind.AFTER_EFFECT else 250):
            yield (
                ("causes", cause.id, "frequency"),
                f"{cause.frequency:g} of 1000 cars is too many. Count per 1000.",
            )


def unused_entry(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """An entry that nothing names is left over, or its name is missing somewhere."""
    for section, used in _used(knowledge).items():
        for name in getattr(knowledge, section):
            if name not in used:
                yield (section, name), f"Nothing uses '{name}'. Name it somewhere, or delete it."


def _used(knowledge: KnowledgeBase) -> dict[str, set[str]]:
    """Section -> ids of it that some other entry names."""
    entries = [entry for section in _NAMING for entry in getattr(knowledge, section).values()]
    steps = [step for service in knowledge.services.values() for step in service.steps.values()]
    return {
        "cautions": {name for entry in (*entries, *steps) for name in getattr(entry, "cautions", ())},
        "set_ups": {n for e in entries for field in ("set_up", "ends") for n in getattr(e, field, ())},
        "procedures": {name for repair in knowledge.repairs.values() for name in repair.procedures},
        "panels": {check.panel for check in knowledge.checks.values() if check.panel},
    }


_NAMING = ("set_ups", "services", "checks", "repairs", "procedures")


RULES: tuple[Rule, ...] = (
    reach.cause_without_repair,
    reach.cause_without_complaint,
    reach.cause_without_bay_check,
    reach.complaint_that_no_caller_can_state,
    reach.complaint_without_cause,
    reach.check_out_of_reach,
    reach.check_that_tells_nothing,
    chance_of_exactly_0_or_100,
    bands_with_a_gap,
    proof_of_another_thing,
    frequency_out_of_reach,
    unused_entry,
    reach.vehicle_that_nothing_fits,
    hazards.hazard_without_caution,
    hazards.step_without_its_caution,
    hazards.red_flag_out_of_order,
    hazards.red_flag_left_out,
    hazards.engine_run_unmarked,
    hazards.engine_off_without_danger_sign,
    new_parts.renewed_part_called_worn,
    new_parts.new_part_never_faulty,
    openings.opening_look_out_of_place,
    openings.opening_looks_too_long,
    openings.opening_look_that_tells_nothing,
    openings.history_unmarked,
    driving.driving_without_stop_signs,
    driving.driven_against_its_words,
    driving.danger_sign_without_floor,
    driving.burning_smell_without_floor,
    driving.brake_question_incomplete,
    driving.leak_without_its_size,
    driving.follow_up_that_asks_nothing,
    words.two_questions_in_one,
    words.question_that_leads,
    words.double_negative,
    words.result_that_says_nothing,
    words.answers_that_do_not_part,
    words.step_of_two_actions,
    words.caution_too_long,
    words.reminder_too_long,
    words.too_hard_to_follow,
    workmanship.turned_without_direction,
    workmanship.injector_seal_oiled,
)
