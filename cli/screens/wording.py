"""Every sentence of the prompt that is not in the knowledge files, with a remark where it shows."""

# Foot of every screen: keys that work everywhere, same meaning everywhere.
KEYS = "w why   b back   r review   find ...   note ...   q save and leave   ? help"
DONT_KNOW = "d don't know"

# Shown by `?` on any screen before the commands (their lines are in prompt/registry.py), after them, and at the end.
HELP_ANSWERS = ("1 2 3 ...  pick an answer", "y n  yes, no     d  don't know, cannot look")
HELP_KEYS = ("Ctrl-C  clear the line; twice: leave",)
HELP_END = (
    "A reading: 52, 52 kPa, 7.5 psi, over range, no reading.",
    "Enter alone never answers. Nothing you answered is lost: it is saved at once.",
)

SERVICE_UNKNOWN = "Noted: which work was done is not known. All of it is kept in mind; the bay asks for the work order."
SERVICES = "Noted together: {names}"
WHICH_SERVICE = "'{text}' may be {near}. Type its number, or several numbers (1 6)."
ONE_COMPLAINT = "One at a time: type the one that worries most. The other one is asked about later."
NO_MATCH = "Nothing here fits '{text}'. Type other words, or take this:"
SERVICE_HINT = "type a number or a name, several if so (1 6)   d don't know"
MATCH_HINT = "type a number, or other words   n none of these   b back"
DANGER_HERE = "If that is danger sign {number} here, type {number}."
EMPTY = "Enter alone is no answer: {hint}"
NOT_AN_ANSWER = "'{text}' is no answer here: {hint}"
NOTHING_TO_TAKE_BACK = "There is nothing to take back: this is the first step here."
TAKEN_BACK = "Taken back: {what}"
NOTED = "Noted."
NOTE_EMPTY = "Type the note behind the word: note customer will wait"
SAVED = "Saved as case {case}. Go on with: comeback {command} {case}{by}"
UNREACHED = "NOT RECORDED YET: {what}. It is kept here and tried again now."
STILL_UNREACHED = "Enter tries again   q leaves (write it down)"
LATER = "; later: comeback {command} {case}"
REACHED = "Recorded: {what}."
UNRECORDED = "The log was out of reach. Not recorded: {what}."
GO_ON = "Everything before it is recorded.\nGo on with: comeback {command} {case}"
BEGIN_AGAIN = "No case was opened: begin again when the log is back."
NOT_OPENED = "Nothing was answered, so no case was opened."
AGAIN = "Press Ctrl-C again to leave; everything answered is saved."
TOO_LONG = "That line has {length:,} signs, at most {limit:,} can be taken. Make it shorter."
INTERRUPTED_BY = "Stopped by {signal}. "
REALLY = "Really {reading}? Possible is {low} to {high} {unit}, but this is rare. Type y if so, or the right number."
CALLER_SAYS_NO = (
    "Noted: the caller says no. Correct it: r lists the answers, edit 3 changes no. 3. Then read back again."
)
LOOK_AGAIN = "Found before: {result}. It hardly fits the rest: look once more, with care."
REPORTED = "Reported: {result}. Nothing found explains it: does it show now?"
REPORTED_ONLY = "Reported: {result}. Nobody has seen it here yet: does it show now?"
SAVE_CODES = (
    "The check-engine light is on. Save its codes before anything clears them:",
    "  comeback readout --case {case}",
)
SAW_EMPTY = "Type what you found behind it: saw oil on the plug seals"
SAW_NOTHING = "No check here is about '{text}'. Type other words, or write it down: note {text}"
SAW_WHICH = "Which of these did you look at?"
SAW_HINT = "type its number; then its result   any other key goes on as before"
CODES_NOTED = "Noted: {names}."
WHICH_CAUSE = "Which cause was found? Name what somebody saw, not what is likely."
CLOSE_KEYS = (
    "  y            the cause named above was found",
    "  1, 1 3       another one was found:",
    "  other WORDS  something else; write down what",
    "  d            nobody saw which; the car is cured all the same",
)
OTHER_HOW = "Write down what was found: other a cracked connector behind the coil"
TRY_AGAIN = "Nobody could tell before. Try once more: it decides what comes next."
SAVE_FIRST = "Saves them here: comeback readout P0171 --case {case}  (your codes, or --from FILE)"
PROVEN = "The repair is proven. Close the case?"
UNPROVEN = "What could be seen is as it should be; the rest nobody could tell. Close the case as not proven?"
STILL_LIKELY = "By the other findings still likely: {causes}. Tell the customer, or look into it: find, open."
FINISHED = {
    "closed": "This case is closed.",
    "handed over": "This car is handed over.",
    "advised": "The caller has been advised.",
}
AFTER_CALL = (
    "  again             they call once more: danger signs first, then what changed",
    "  tell              read the advice out again",
    "  refused WHO WHAT  they do not do what was advised; write down who said what",
    "  edit 3            change an answer (r lists them); worse advice is then told",
    "  reg ...  callback ...  place ...   registration, number, where the car stands",
    "  print             the record        note ...   write down        q   leave",
)
AFTER_END = (
    "  print             the record        note ...   write down        q   leave",
    "  For a new call about this car:  q, then  comeback call",
)
AFTER_HAND_OVER = (
    "  b                 take the hand-over back and go on with the walk",
    "  s                 what is known so far      r           the answers",
)
AFTER_HAND_OVER_HINT = "b take the hand-over back   print   note ...   q"
AFTER_HINT = "again   tell   refused ...   reg ...   callback ...   place ...   print"
AFTER_END_HINT = "print   note ...   q"
EARLIER = ("Before: {said}", "   (k keeps it)")
EDITING = ("Answer it anew. Until now: {said}", "   (b leaves it)")
LEFT_FOCUS = "Left as it was."
DRIVING = "Are you driving right now?"
DRIVING_HINT = "y driving   n standing   d don't know"
DRIVING_AGAIN_HINT = "y driving   n standing   d don't know   x nobody is on the line"
NEW_CALL = "new case  ·  phone"
BACK_ON_THE_LINE = "Is the caller on the line again? Then ask:"
CHANGED = "What has changed since we last spoke?"
CHANGED_HINT = "type the customer's own words   n nothing   d don't know"
CHANGED_NOTED = (
    "Noted. If that is another complaint than '{complaint}': edit {number} changes it, and its danger signs are asked."
)
CALLBACK = "Which number can we call you back on?"
PLACE = "Where exactly does the car stand?"
CONTACT_EMPTY = "Type it behind the word: callback 555 0100, place Mill Road 4 by the bridge"
CONTACT_HINT = "type what the caller says   Enter leaves it open"
CONTACT_CLEAR = "Only if the caller stands well away from the car; else just press Enter."
CONTACT_NOTED = "Noted: {text}"
DRIVING_STOP = "Type  stopped  when the caller says so.   b back   q save and leave"
TOLD_HINT = "Type  told  when you have said all of it.   w why   b back   up ...   q leave"
REFUSED_HOW = "Write down who refused and what was said: refused driver says he drives home anyway"
REFUSED = "Refused, noted: {words}. Say once more that it is your advice, and by when to call back."
URGENCY_PHONE_ONLY = "Only on the phone: in the bay the car is with you. Write a note, or give the car on."
ALREADY = "It is '{word}' already; your reason is noted with it."
AGAIN_CLOSED = "This case has ended. For a new call about this car: q, then  comeback call"
SIGNED = "You sign as {by}; before it was {last}. If you are somebody else: q, then add  --by NAME"
SIGN_STANDS = "'{name}: {said}' still stands as answer {number}. If that changed: edit {number}"
EARLIER_CASE = "Earlier case of this car: {case}.  resume {case}  goes on with it."
OTHER_CASE = "Earlier case of this car: {case}, {state}. To go on with that one: q, then  {command} {case}"
NO_OPEN = 'Nothing is open: no answer was "don\'t know".'
NO_ITEM = "There is no answer {number}. r lists them with their numbers."
REG_AGAIN = "Read back: {spelt}. Kept as not confirmed until typed a second time: reg {text}"
REG_DIFFERS = "That differs from {text}. Both are kept as not confirmed. Ask once more: reg ..."
REG_DONE = "Registration {text}, confirmed twice."
REG_EMPTY = "Type the registration behind it: reg AB12 CDE"
RENAMED = "The car is now called: {car}"
GIVEN = "Given to {to}. It stands in their list: comeback {command} {case} --by {to}"
CHANGED_STOP = "Type  go on  to continue with today's knowledge.   q leave as it is"
STALE = "No longer in the knowledge, taken out: {what}"
RESUMED = "You go on with this walk:"
OTHER_WALK = "This walk is case {case}. Leave it first (q); it is saved."
NO_WALK = "No unfinished walk."
RECAP = "Ten minutes have passed. You were here:"
READ_ON = "There is more of this step. Read on with m, then answer."
FOUND_NOTHING = "Nothing here is called '{text}'."
FIND_EMPTY = "Type what to look for behind it: find hiss"
KNOWLEDGE_CHANGED = "The knowledge has changed since this case began ({old} then, {new} now). Earlier answers are kept."

# What only a specialist may do stands with its cautions on a screen of its own first; Enter, y or a number do not
# pass it.
SPECIALIST_ONLY = "For a specialist only: it takes special training or a license."
GATE_WORD = "safe"
GATE_HINT = "Type  safe  when you read it and made it so.   w why   b back   q leave"

# With a danger sign that keeps the engine off, before a step that runs it all the same.
DESPITE = (
    "{signs}: the engine should stay off. Ask the foreman before you run it. Run the engine only as short as this "
    "step needs, extinguisher at hand, stop at once if it gets worse."
)

# Phone: the opening, read aloud.
STOP_SAFELY = (
    "If you are driving now, please stop in a safe place first.",
    "Switch off. Call me back when you stand.",
)
# A stuck accelerator. The National Highway Traffic Safety Administration (United States) advises: brake firmly and
# steadily without pumping, shift to neutral, steer to a safe place, shut the engine off. Read as quoted in "What to Do
# During a Sudden Acceleration Incident", https://www.worktruckonline.com/67069/what-to-do-during-a-sudden-acceleration-
# incident1. What is lost with the engine off while the car moves: common practice.
WILL_NOT_SLOW = "If it will not slow down: brake hard and do not let up, shift to neutral, stop, then switch off."
RACING = "The car may not slow down: say this first."
WHY_NOT_OFF = (
    "Never pump the brake. Never switch off while the car moves: power steering and brake help are lost, and the "
    "wheel may lock."
)
OPEN_QUESTION = "What is the car doing now?"
SWITCH_OFF = "Please switch the engine off, if it is on."
DANGER_PHONE = "I will read some danger signs. Tell me which fit the car now."
DANGER_AGAIN = "Take your time and look, listen or smell. Please do not get close to smoke or leaks."
DANGER_BAY = "Before anything else: look for these danger signs."
DANGER_HINT = "n none   1 3 those that fit   2b with a letter   2? don't know   d none known"

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
