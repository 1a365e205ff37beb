"""Every sentence on paper that is not in the knowledge files, with a remark where it shows."""

from comeback.engine.charts.decision_graph import DONE, NONE_OF_THESE, SEVERAL, UNKNOWN
from comeback.kb.vocabulary import Audience, EngineOff

# Head of every page.
AUDIENCES = {Audience.BAY: "bay, technician at the car", Audience.PHONE: "phone, customer on the line"}
UNCONTROLLED = "Uncontrolled copy when printed."
CARRIED = {
    Audience.BAY: "{share} of 100 cars end right, {clean} with nothing in vain.",
    Audience.PHONE: "{share} of 100 calls end in advice that is not too mild.",
}
CARRIED_MEANS = {
    Audience.BAY: (
        "Ends right: so many of 100 such cars are mended and proven, or rightly handed over, with this paper alone. "
        "With the others the program, which asks more, gets further."
    ),
    Audience.PHONE: "Ends right: the advice at the end reached is at least as urgent as the cause needs.",
}

# Foot of every page.
STOP_BAY = "STOP, call the foreman: fuel smell, brakes, a danger sign, a step not safe for you. Fire: all out."
STOP_PHONE = "STOP and call the foreman: flames, smoke, fuel smell, brakes, anyone hurt, any doubt."
CALL = "Foreman: ____________________   Phone: ________________   "
LIMITS = "Advice from reports, not an inspection. Maker's data, local codes, licensed practice come first."
DONT_KNOW = {
    Audience.BAY: "Stuck: the program (comeback triage).",
    Audience.PHONE: "Caller cannot tell: the program (comeback call).",
}
READ_ALOUD = "Words in quotation marks are read aloud as they stand."

# Key on page 1.
SIGN = "▲"
"""Stands for the safety alert symbol; a NOTICE has none, since nobody gets hurt."""
BULLET = "• "
"""Begins each of several danger signs that lead to one end."""
KEY = "Key"
KEY_QUESTION, KEY_ACTION, KEY_ENDING = "Question?", "Do this", "End"
KEY_WARNING, KEY_GO = "▲ hazard: read before the step", "go on there"
KEY_FLOW = {
    Audience.BAY: (
        "Down: as it should be. Right: any other answer. R with a number: repair card; the first page of cards says "
        "how. All steps of a repair stand in the text version."
    ),
    Audience.PHONE: "Down: as it should be. Right: any other answer.",
}
CAUTIONS_ON_PAGE = "Page {page}: cautions for the repairs."
ON_PAGE, ON_PAGE_ONE, CARDS_ON_PAGE, CARD_ON_PAGE = (
    "Page {page}: steps {first} to {last}.",
    "Page {page}: step {first}.",
    "Page {page}: repairs {first} to {last}.",
    "Page {page}: repair {first}.",
)

# Head of a table of answers that lead to repairs at once.
HEADS = "Seen", "Then try in this order"
AND_MORE = " ..."
"""Behind some trouble codes of several; the list of a booklet has them all."""

# Fields of a worksheet, filled in by hand.
FIELDS, FIELDS_NARROW = "Reading _____ Time ____ By ___", "Time ____ By ____"

# Steps.
DANGER = {
    Audience.BAY: "Any of these: switch off, keep people away.",
    Audience.PHONE: '"I will read some danger signs. Tell me which fit the car now."',
}
NONE, REPAIRED, NOT_KNOWN, ANY_OTHER, ANY = "None of these", "Done", "Not known", "Any other answer", "Any answer"
NONE_OR_OTHER = "None of these, or any other answer"
ANSWERS = {NONE_OF_THESE: NONE, DONE: REPAIRED, UNKNOWN: NOT_KNOWN, SEVERAL: "Two or more of these"}
HOW_IN_TWIN = "How: text step {number}."
STEPS_IN_TWIN = "Steps: text step {number}."
STOP_FIRST = "STOP: switch off. When safe:"
"""Where a danger sign leads on to a question."""
HOW = "How: "
"""Leads how a danger sign is looked for."""
KEEP_OFF = {
    EngineOff.REPAIRED: ("{sign} {signs}: do not start or crank before the cause is repaired; then only to prove."),
    EngineOff.LOOKED: (
        "{sign} {signs}: do not start or crank before all named first is looked at; then only to prove."
    ),
}
"""With which danger signs the engine stays off, and until when."""
DESPITE = "Despite {signs}: run the engine as short as may be."
HAND_OVER = "Stop here and hand over"
PROGRAM = "When safe: go on with the program."
RARE = {
    Audience.BAY: "Not charted: use the program, or hand over",
    Audience.PHONE: "Not charted: use the program",
}
ROWS = "Each row in turn, the topmost first; then hand over"
"""Where several answers of a panel fit."""
TRY, TRY_OFF, TRY_DANGER = "Try in this order", "Try, engine off", "▲ STOP: switch off"
SAFE, SAFE_OFF, THEN = "When safe", "Engine stays off. When safe", "Last, engine on briefly"
FETCH = "Engine stays off. Hand over; nobody drives it."
TRY_TWIN, TRY_OFF_TWIN, TRY_DANGER_TWIN, STAY_OFF_TWIN = (
    "Try in this order",
    "The engine stays off. Try in this order",
    "STOP. Switch off, keep people away, touch nothing before it is safe. Then, in this order",
    "STOP. Switch off, keep people away, touch nothing before it is safe. The engine stays off. Then, in this order",
)
THEN_TWIN = "Only after all of these, and with the engine on as short as may be:"
ELSE = "Look at each; then at the other cards; then, if the foreman agrees, repair in this order; then hand over."
ELSE_OFF = "Look at each; sign seen: repair. No other card. Else hand over; nobody drives the car."
CARDS_TITLE, CARDS_HEAD = "Repair cards", "{title}: repair cards"
CARDS_HOW = (
    "Read the cautions for a card first. 1 Look at the cards of the end, in its order; sign seen: repair, prove. "
    "2 No sign, or not proven: look at the other cards alike, but not after a danger sign. "
    "3 No sign on any: ask the foreman, then repair in the order of the end, prove each. 4 Hand over."
)
COLUMNS = ("Look first; do it if seen", "Repair", "Proven if")
NO_LOOK = "Nothing to look for beforehand"
BEFORE, ALL_HERE = "For {names}", "all here"
ALL_CAUTIONS = "Cautions by letter; each card bears its own. Letters missing here were told on the pages before."
NOW = "Now: {result}"
"""The proof of a repair, if the look before it was at the same place."""
AT_END = 'Read aloud at {number}: "{words}"'
CALL_BACK = "Please switch the engine off and do not drive the car. We will call you back soon."
"""What a caller is told where the chart ends without advice."""
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
