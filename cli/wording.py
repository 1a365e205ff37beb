"""Every sentence of the prompt that is not in the knowledge files, with a remark where it shows."""

# Foot of every screen: keys that work everywhere, same meaning everywhere.
KEYS = "w why   b back   r review   note ...   q save and leave   ? help"
DONT_KNOW = "d don't know"

# Shown by `?` on any screen.
HELP = (
    "1 2 3 ...  pick an answer        y n  yes, no        d  don't know, cannot look now",
    "w  why this question             b    back one step  r  review all answers so far",
    "note TEXT  write something down  q    save and leave; Ctrl-D does the same",
    "A reading: type the number, with or without its unit: 52, 52 kPa, 7.5 psi.",
    "Enter alone never answers. Nothing you answered is lost: it is saved at once.",
)

EMPTY = "Enter alone is no answer: {hint}"
NOT_AN_ANSWER = "'{text}' is no answer here: {hint}"
NOTHING_TO_TAKE_BACK = "There is nothing to take back: this is the first step here."
TAKEN_BACK = "Taken back: {what}"
NOTED = "Noted."
NOTE_EMPTY = "Type the note behind the word: note customer will wait"
SAVED = "Saved as case {case}. Go on with: comeback {command} {case}"
NOT_OPENED = "Nothing was answered, so no case was opened."
AGAIN = "Press Ctrl-C again to leave; everything answered is saved."
MOVED_ON = "{error}"
KNOWLEDGE_CHANGED = "The knowledge has changed since this case began ({old} then, {new} now). Earlier answers are kept."

# A long step's cautions stand on a screen of their own first; Enter, y or a number do not pass it.
GATE_WORD = "safe"
GATE_HINT = "Type  safe  when you have read it and made it so.   w why   b back   q save and leave"

# Phone: the opening, read aloud.
STOP_SAFELY = (
    "If you are driving now, please stop in a safe place first.",
    "Switch off. Call me back when you stand.",
)
OPEN_QUESTION = "What is the car doing now?"
DANGER_PHONE = "I will read some danger signs. Tell me which fit the car now."
DANGER_BAY = "Before anything else: look for these danger signs."
DANGER_HINT = "n none of them, their numbers (1 3), a letter if shown (2b), 2? for don't know, d for all"

LIMITS = (
    "Advice from what was reported, not an inspection. The maker's data, local codes and licensed practice come first."
)

TIERS = {
    "people": "danger to people",
    "car": "danger to the car",
    "look": "look and listen",
    "tool": "with a tool",
    "strip": "takes something apart",
}
