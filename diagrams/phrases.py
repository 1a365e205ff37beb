"""Every sentence on paper that is not in the knowledge files, with a remark where it shows."""

from comeback.engine.decision_graph import DONE, NONE_OF_THESE, SEVERAL, UNKNOWN
from comeback.kb.vocabulary import Audience

# Head of every page.
AUDIENCES = {Audience.BAY: "bay, technician at the car", Audience.PHONE: "phone, customer on the line"}
UNCONTROLLED = "Uncontrolled copy when printed."
CARRIED = {
    Audience.BAY: "{share} of 100 cars end right ({repaired} repair, {handed} hand-over).",
    Audience.PHONE: "{share} of 100 calls end in advice that is not too mild.",
}
CARRIED_MEANS = {
    Audience.BAY: (
        "Counted as right: every cause that the findings need has its repair among those named at the end reached, "
        "or no repair known here is meant for it. All others end in a hand-over that the program could have spared."
    ),
    Audience.PHONE: "Counted as right: the advice at the end reached is at least as urgent as the cause needs.",
}

# Foot of every page.
STOP_BAY = "STOP and call the foreman: fire, fuel smell, brakes, a danger sign, a step not safe for you."
STOP_PHONE = "STOP and call the foreman: flames, smoke, fuel smell, brakes, anyone hurt, any doubt."
CALL = "Name: ____________________   Phone: ____________________"
LIMITS = "Advice from reports, not an inspection. Maker's data, local codes, licensed practice come first."
DONT_KNOW = {
    Audience.BAY: "Cannot check it, or two danger signs at once: go on with the program (comeback triage).",
    Audience.PHONE: "Caller cannot tell, or two danger signs at once: go on with the program (comeback call).",
}
READ_ALOUD = "Words in quotation marks are read aloud as they stand."

# Key on page 1.
SIGN = "▲"
"""Stands for the safety alert symbol; a NOTICE has none, since nobody gets hurt."""
BULLET = "• "
"""Begins each of several danger signs that lead to one end."""
KEY = "Key"
KEY_QUESTION, KEY_ACTION, KEY_ENDING = "1. Question?", "2. Do this", "3. End"
KEY_WARNING, KEY_GO = "▲ hazard: read before the step", "go on there"
KEY_FLOW = {
    Audience.BAY: "Down: as it should be. Right: any other answer. R1: repair card, last pages; none left: hand over.",
    Audience.PHONE: "Down: as it should be. Right: any other answer.",
}

# Fields of a worksheet, filled in by hand.
FIELDS, FIELDS_NARROW = "Reading _____ Time ____ By ___", "Time ____ By ____"

# Steps.
DANGER = {
    Audience.BAY: "Look for these danger signs before anything else. Any?",
    Audience.PHONE: '"I will read some danger signs. Tell me which fit the car now."',
}
NONE, REPAIRED, NOT_KNOWN, ANY_OTHER, ANY = "None of these", "Done", "Not known", "Any other answer", "Any answer"
NONE_OR_OTHER = "None of these, or any other answer"
ANSWERS = {NONE_OF_THESE: NONE, DONE: REPAIRED, UNKNOWN: NOT_KNOWN, SEVERAL: "Two or more of these"}
HOW_IN_TWIN = "How: text step {number}."
STEPS_IN_TWIN = "Steps: text step {number}."
HAND_OVER = "Stop here and hand over"
RARE = {
    Audience.BAY: "Not charted: use the program, or hand over",
    Audience.PHONE: "Not charted: use the program",
}
TRY, TRY_DANGER = "Try in this order", "▲ STOP, keep people away"
SAFE = "When safe, "
THEN, ELSE = "Then {names}.", "None left: hand over."
CARDS_TITLE = "Repair cards"
CARDS_HOW = (
    "Each card: read its cautions, look first, repair only if seen or if it is next in the order, then prove it. "
    "Not proven: next in the order. None left: hand over."
)
COLUMNS = ("Look first; do it if seen", "Repair", "Proven if")
NO_LOOK = "Nothing to look for beforehand"
BEFORE, BEFORE_ALL = "before {names}", "before all here"
AT_END = 'Read aloud at {number}: "{words}"'
CLOSE_PROVEN, CLOSE_UNPROVEN = "Proven: close the case", "Complaint gone, repair not proven: close the case"

# Poster.
POSTER = "What can go wrong: {service}"
POSTER_HOW = (
    "Left: what the customer reports. Middle: what was left, loosened or hurt, at which step. Right: the repair. "
    "Thicker line: oftener."
)
ALL_STEPS = "After-effect of the service"
OF_1000 = "{number} in 1000"

# Booklet.
BOOKLET = "Comebacks after: {service}"
BOOKLET_ABOUT = (
    "One chart for each complaint; the danger signs come first.",
    "Each chart begins on an odd page, so that a single one can be pinned up.",
)
SHORT_AUDIENCES = {Audience.BAY: "bay", Audience.PHONE: "phone"}
LOOK_AGAIN = "Look again: "
"""Leads a check that was made before and hardly fits the rest."""
