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
        "Ends right: the repair of every cause that the findings need is named at the end reached or shown by the look "
        "of another card, or there is none here. All others are handed over, which the program could have spared."
    ),
    Audience.PHONE: "Ends right: the advice at the end reached is at least as urgent as the cause needs.",
}

# Foot of every page.
STOP_BAY = "STOP and call the foreman: fire, fuel smell, brakes, a danger sign, a step not safe for you."
STOP_PHONE = "STOP and call the foreman: flames, smoke, fuel smell, brakes, anyone hurt, any doubt."
CALL = "Foreman: ____________________   Phone: ________________   "
LIMITS = "Advice from reports, not an inspection. Maker's data, local codes, licensed practice come first."
DONT_KNOW = {
    Audience.BAY: "Cannot check it: comeback triage.",
    Audience.PHONE: "Caller cannot tell: comeback call.",
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
    Audience.BAY: "Down: as it should be. Right: any other answer. R1 and so on: repair cards, last pages.",
    Audience.PHONE: "Down: as it should be. Right: any other answer.",
}

# Fields of a worksheet, filled in by hand.
FIELDS, FIELDS_NARROW = "Reading _____ Time ____ By ___", "Time ____ By ____"

# Steps.
DANGER = {
    Audience.BAY: "Any of these: keep people away, touch nothing before it is safe.",
    Audience.PHONE: '"I will read some danger signs. Tell me which fit the car now."',
}
NONE, REPAIRED, NOT_KNOWN, ANY_OTHER, ANY = "None of these", "Done", "Not known", "Any other answer", "Any answer"
NONE_OR_OTHER = "None of these, or any other answer"
ANSWERS = {NONE_OF_THESE: NONE, DONE: REPAIRED, UNKNOWN: NOT_KNOWN, SEVERAL: "Two or more of these"}
HOW_IN_TWIN = "How: text step {number}."
STEPS_IN_TWIN = "Steps: text step {number}."
STOP_FIRST = "STOP, touch nothing; when safe, go on"
"""Beside a danger sign after which the chart asks on."""
HAND_OVER = "Stop here and hand over"
PROGRAM = "When safe: go on with the program."
RARE = {
    Audience.BAY: "Not charted: use the program, or hand over",
    Audience.PHONE: "Not charted: use the program",
}
TRY, TRY_DANGER = "Try {names}", "▲ STOP, touch nothing"
SAFE = "When safe: {names}."
TRY_TWIN, TRY_DANGER_TWIN = (
    "Try in this order",
    "STOP. Keep people away, touch nothing before it is safe. Then, in this order",
)
ELSE = "Look at each; then at the other cards; then repair in this order; then hand over."
CARDS_TITLE, CARDS_HEAD = "Repair cards", "{title}: repair cards"
CARDS_HOW = (
    "Read the cautions for a card first. 1 Look at the cards of the end, in its order; sign seen: repair, prove. "
    "2 No sign, or not proven: look at the other cards alike. "
    "3 Repair in the order of the end, prove each. 4 Hand over."
)
COLUMNS = ("Look first; do it if seen", "Repair", "Proven if")
NO_LOOK = "Nothing to look for beforehand"
BEFORE, BEFORE_ALL = "For {names}", "For all here"
NOW = "Now: {result}"
"""The proof of a repair, if the look before it was at the same place."""
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
