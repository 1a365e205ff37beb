"""Every sentence on paper that is not in the knowledge files, with a remark where it shows."""

from comeback.engine.decision_graph import DONE, NONE_OF_THESE, UNKNOWN
from comeback.kb.vocabulary import Audience

# Head of every page.
AUDIENCES = {Audience.BAY: "bay, technician at the car", Audience.PHONE: "phone, customer on the line"}
UNCONTROLLED = "Uncontrolled copy when printed."
CARRIED = "Settles {share} of 100 such cars on paper; the others end in a hand-over."

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
KEY = "Key"
KEY_QUESTION, KEY_ACTION, KEY_ENDING = "1. Question?", "2. Do this", "3. End"
KEY_WARNING, KEY_GO = "▲ hazard: read first", "go on there"
KEY_FLOW = "Down: as it should be. Right: any other answer."

# Steps.
DANGER = {
    Audience.BAY: "Look for these danger signs before anything else. Any of them?",
    Audience.PHONE: '"I will read some danger signs. Tell me which fit the car now."',
}
NONE, REPAIRED, NOT_KNOWN, ANY_OTHER, ANY = "None of these", "Done", "Not known", "Any other answer", "Any answer"
ANSWERS = {NONE_OF_THESE: NONE, DONE: REPAIRED, UNKNOWN: NOT_KNOWN}
HOW_IN_TWIN = "How: text step {number}."
STEPS_IN_TWIN = "Steps: text step {number}."
HAND_OVER = "Stop here and hand over"
RARE = {
    Audience.BAY: "Not charted: use the program, or hand over",
    Audience.PHONE: "Not charted: use the program",
}
AT_END = 'Read aloud at "{name}": "{words}"'
CLOSE_PROVEN, CLOSE_UNPROVEN = "Proven: close the case", "Complaint gone, repair not proven: close the case"
AS_BEFORE = "{word} as in {number}: {names}"
