"""Hints at what the program would do now, in three levels: the area, the kind of step, the step itself."""

from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

LEVELS = ("area", "kind", "exact")
SIGNS_FIRST = ("Danger to people comes first.", "Look before you work.", "Look at the danger signs.")


def hints(walk: Walk) -> tuple[str, str, str]:
    """All three levels for the walk's next step."""
    step, known = walk.step, walk.knowledge
    match step:
        case steps.MakeCheck(check=check):
            entry = known.checks[check]
            if walk.audience is Audience.PHONE:
                sense = entry.sense.value if entry.sense else "notice"
                return "What the caller noticed.", f"Something to {sense}.", f"Ask: {entry.name}"
            area = entry.point or entry.condition or "what one sees at the car"
            return f"Where: {area}", f"With: {entry.tool or 'eyes, ears and hands'}", f"Check: {entry.name}"
        case steps.ReadPanel(panel=panel):
            return "Where: engine computer", "With: a scan tool", f"Check: {known.panels[panel].name}"
        case steps.DoRepair(repair=repair):
            return "No check pays any more.", "It is time for a repair.", f"Repair: {known.repairs[repair].name}"
        case steps.Advise():
            return "You know enough.", "No question changes the advice.", "Tell the caller about driving."
        case steps.HandOver(reason=reason):
            return "Look at what is left.", "Nothing here is likely to find it.", f"Hand the car over: {reason}"
        case steps.TakeOneBack():
            return "Two findings do not fit.", "One of them is wrong.", "Hand the car over."
    return SIGNS_FIRST
