"""Sentences of the prompt that several places share or that a caller hears, hints, and help."""

# Foot of every screen: keys that work everywhere, same meaning everywhere.
KEYS = "w why   b back   r review   find ...   note ...   q save and leave   ? help"
DONT_KNOW = "d don't know"
TRY_AGAIN = "Nobody could tell before. Please try again: it decides the next step."
WHICH_UNIT = "Which unit? Type {number} {american} or {number} {own}."
WHICH_LINE = " For line {number} type: line {number}."

# Shown by `?` on any screen before the commands (their lines are in prompt/registry.py), after them, and at the end.
HELP_ANSWERS = ("1 2 3 ...  pick an answer", "y n  yes, no     d  don't know, can't check")
HELP_KEYS = ("Ctrl-C  clear the line; twice: leave",)
HELP_END = (
    "A reading: 12.4, 7.5 psi, 52 kPa, over range, no reading.",
    "Enter alone never answers. Every answer is saved as soon as you give it.",
)

SERVICE_UNKNOWN = "Noted: nobody knows which service was done. All stay possible; check the repair order."
SERVICES = "Noted: {names}"
ALSO_EMPTY = "Type what else it does after the word: also the light came on"
WORDS_OF_DANGER = "The caller's own words name a danger: '{words}'. That makes it: {to}."
DANGER_HERE = "If that is danger sign {number} on this screen, type {number}."
EMPTY = "Enter alone does nothing: {hint}"
NOT_AN_ANSWER = "'{text}' doesn't answer this: {hint}"
NOTHING_TO_TAKE_BACK = "Nothing to take back: this is the first step."
NOTED = "Noted."
NOTE_EMPTY = "Type your note after the word: note customer will wait"
SAVED = "Saved as case {case}. To continue: comeback {command} {case}{by}"
UNRECORDED = "The case log could not be reached. Not saved: {what}."
GO_ON = "Everything before it is saved.\nGo on with: comeback {command} {case}"
BEGIN_AGAIN = "No case was opened. Start over when the log is back."
NOT_OPENED = "No answers, so no case was opened."
AGAIN = "Press Ctrl-C again to leave. Every answer is saved."
TOO_LONG = "That line is {length:,} characters long; the limit is {limit:,}. Make it shorter."
REALLY = "Really {reading}? That is rare (possible: {low} to {high} {unit}). Type y to confirm, or the right number."
CALLER_SAYS_NO = "Noted: the caller disagrees. r lists the answers, edit 3 changes number 3. Then read back again."
NOT_ALL = "it was found, so fix it; more may be wrong"
LOOK_AGAIN = (
    "{who}: {result}. Going by all else that was found, it is wrong in about {wrong} of 100 such cars. "
    "{look} before {then}."
)
REPORTED = "The customer reported: {result}. Nothing found so far explains it. Does it happen now?"
REPORTED_ONLY = "The customer reported: {result}. Nobody here has seen it yet. Does it happen now?"
SAVE_CODES = (
    "The check-engine light is on. Save its codes before anything clears them:",
    "  comeback readout --case {case}",
)
SAW_EMPTY = "Type what you found after the word: saw oil in a spark plug well"
SAW_WHICH = "Which of these did you look at?"
SAW_HINT = "type its number, then its result   any other key: back to the step"
WHICH_CAUSE = "Which cause did you find? Name what you saw, not what is likely."
CLOSE_KEYS = (
    "  y            the cause named above was found",
    "  1, 1 3       pick from these:",
    "  other WORDS  something else: write down what",
    "  d            nobody saw which one, but the car is fixed",
)
PICK_CAUSE = "More than one cause is named. Type the number of the one you found, both if both were there, or d."
OTHER_HOW = "Write down what was found: other a cracked connector behind the coil"
COMPLAINT_ITSELF = "That is the complaint itself. Type b and choose another one, or take the other finding back."
LOOK_ALL = "Look in this order. Stop at the first that is not right."
SAVE_FIRST = "To save them: comeback readout P0171 --case {case}  (your codes, or --from FILE)"
PASSED_CLOSE = "It has stopped by itself: there is nothing to repair. Close the case?"
LIGHT_OUT = "A light is part of this complaint. If it is out, type: the light is out. Otherwise answer the question."
PASSED_KEYS = ("  y            close it", "  other WORDS  it was something else: write down what")
PASSED_SAY = (
    ("Good, it has stopped.", "There is nothing to do now."),
    ("Good, it has stopped.", "There is nothing to repair now.", "Let us pick a day for one quick look."),
)  # to watch, to book a visit
PASSED_BACK = "Call us if it comes back: {what}."
PASSED_DANGER = ("It has stopped, but it was a danger.",)
PROVEN = "The repair is proven. Close the case?"
UNPROVEN = "Everything that could be checked is good; the rest could not be checked. Close the case as not proven?"
STILL_LIKELY = "Other findings still point to: {causes}. Tell the customer, or check it: find, open."
FINISHED = {
    "closed": "This case is closed.",
    "handed over": "This car has been handed over.",
    "advised": "The caller has been advised.",
}
AFTER_CALL = (
    "  again             they call again: danger signs first, then what changed",
    "  tell              read the advice aloud again",
    "  refused WHO WHAT  they will not follow the advice: write down who said what",
    "  edit 3            change an answer (r lists them); read new advice aloud",
    "  plate ...  callback ...  place ...   license plate, number, where the car is",
    "  print             the record        note ...   write down        q   leave",
)
AFTER_END = (
    "  print             the record        note ...   write down        q   leave",
    "  For a new call about this car:  q, then  comeback call",
)
AFTER_HAND_OVER = (
    "  b                 take the hand-over back and continue",
    "  s                 what we know so far       r           the answers",
)
AFTER_HAND_OVER_HINT = "b take the hand-over back   print   note ...   q"
AFTER_HINT = "again   tell   refused ...   plate ...   callback ...   place ...   print"
EARLIER = ("Your answer before: {said}", "   (k keeps it)")
EDITING = ("Answer again. It was: {said}", "   (b leaves it as is)")
LEFT_FOCUS = "Left unchanged."
DRIVING = "Are you driving right now?"
DRIVING_HINT = "y driving   n parked   d don't know"
DRIVING_AGAIN_HINT = "y driving   n parked   d don't know   x nobody is on the line"
NEW_CALL = "new case  ·  phone"
BACK_ON_THE_LINE = "The caller has been advised. Is the caller back on the line? Then ask:"
CHANGED = "What has changed since we last spoke?"
CHANGED_HINT = "type the customer's own words   n nothing   d don't know"
CHANGED_NOTED = (
    "Noted. If it is no longer '{complaint}': edit {number} changes the complaint and asks its danger signs."
)
FOR_THE_BAY = "The caller knows what to do. If there is a moment, the bay wants to know:"
FOR_THE_BAY_HINT = "type a number   d don't know   x skip the rest"
SOLVED = "Solved on the phone: nobody need come in"
CALLBACK = "What number can we call you back at?"
PLACE = "Where exactly is the car?"
CONTACT_HINT = "type what the caller says   n they cannot say"
CONTACT_CLEAR = "Only if the caller is well away from the car. Otherwise type n."
CONTACT_NOTED = "Noted: {text}"
DRIVING_STOP = "Type  stopped  when the caller says so.   b back   q save and leave"
TOLD_HINT = "Type  told  after you have read all of it.   w why   b back   up ...   q leave"
REFUSED_HOW = "Write down who refused and what they said: refused driver will drive home anyway"
REFUSED = "Refusal noted: {words}. Repeat your advice once more, and say by when to call back."
AGAIN_CLOSED = "This case is over. For a new call about this car: q, then  comeback call"
SIGNED = "You are signing as {by}; the last entry was by {last}. Somebody else? q, then add  --by NAME"
PLATE_EMPTY = "Type the license plate after the word: plate ABC 1234"
RENAME_EMPTY = "Type the name after the word: rename silver wagon"
RENAMED = "The car is now called: {text}"
STALE = "Removed, because the knowledge no longer has it: {what}"
RECAP = "Ten minutes have passed. This is where you were:"
READ_ON = "This step has another page. Press m to read it, then answer."
NEXT_PAGE = "m next page"
PAGE_HINT = "m next page   (answer after the last page)"
PAGE_HINT_ROUND = "2 (or 2a) is not right: stop there   m next page, then answer"
FIND_EMPTY = "Type what to look for after the word: find hiss"
KNOWLEDGE_CHANGED = "The knowledge files changed since this case began (from {old} to {new}). Earlier answers are kept."

# What only a specialist may do stands with its cautions on a screen of its own first; Enter, y or a number do not
# pass it.
SPECIALIST_ONLY = "Specialists only: this takes special training or a license."
GATE_WORD = "safe"
GATE_HINT = "Type  safe  once you have read this and made it so.   w why   b back   q leave"

# With a danger sign that keeps the engine off, before a step that runs it all the same.
DESPITE = (
    "{signs}. Keep the engine off; ask the foreman before you start it. Run it only as long as this step "
    "needs, keep a fire extinguisher at hand, and stop at once if it gets worse."
)

# Phone: the opening, read aloud.
STOP_SAFELY = (
    "If you are driving now, please stop in a safe place first.",
    "Turn on the hazard lights, switch off the engine and tell me when you have.",
)
# A stuck accelerator. The National Highway Traffic Safety Administration (United States) advises: brake firmly and
# steadily without pumping, shift to neutral, steer to a safe place, shut the engine off. Read as quoted in "What to Do
# During a Sudden Acceleration Incident", https://www.worktruckonline.com/67069/what-to-do-during-a-sudden-acceleration-
# incident1. What is lost with the engine off while the car moves: common practice.
WILL_NOT_SLOW = "If it will not slow down: brake hard and do not let up, shift to neutral, stop, then switch off."
# Driver-education pages agree on pumping (not with antilock brakes), a lower gear and a gradual parking brake: "Brake
# Failure", https://bdtas.com/defensive-driving/emergency-situations/brake-failure/.
WILL_NOT_BRAKE = (
    "If the brakes fail: take your foot off the gas, pump the brake pedal fast, shift to a lower gear, and pull the "
    "parking brake slowly. With antilock brakes press hard and do not pump."
)
# Common practice of driver education, no source.
HOOD_UP = (
    "If the hood is up: brake gently, look through the gap below the hood or out of the side window, turn on the "
    "hazard lights, and stop off the road."
)
ON_THE_ROAD = {"brake-pedal": WILL_NOT_BRAKE, "hood-sits": HOOD_UP}
"""Danger signs that stopping alone does not end, with what the driver does first."""
IS_DRIVING, MAY_DRIVE = "The caller is driving.", "The caller may be driving: that counts as driving."
RACING = "The car may not slow down: say this first."
SAY_FIRST = "Say this first."
WHY_NOT_OFF = (
    "Never pump the brake. Never switch off while the car is moving: you lose power steering and brake assist, and the "
    "steering wheel may lock."
)
OPEN_QUESTION = "What is the car doing now?"
OPEN_QUESTION_BAY = "What does the customer report? Type it in the customer's words."
NO_COMPLAINT = "Type what it does, in the customer's words. d if they cannot say, or type: something else"
TYPE_THEIR_WORDS = "Type the customer's own words; the nearest complaints are listed for you."
TAKE_ONE_BACK = "These two cannot both be true. Which one do you take back?"
SWITCH_OFF = "Please switch the engine off, if it is on."
DANGER_PHONE = "I will read you some danger signs. Tell me which ones your car has now."
DANGER_AGAIN = "Take your time and look, listen or smell. Please do not get close to smoke or leaks."
DANGER_BAY = "First, look for {signs}."
DANGER_AFTER_REPAIR = "Before you go on, look for {signs}."

LIMITS = (
    "Advice from what was reported, not an inspection. The maker's data, local codes and licensed practice come first."
)

TIERS = {
    "people": "danger to people",
    "car": "danger to the car",
    "look": "look and listen",
    "tool": "with a tool",
    "strip": "take something apart",
}

# Why a step: what holds for every walk.
WHY_CODES = "Each family of codes points at other causes; none stored is a finding too."
WHY_DANGER = (
    "Danger to people comes first. What one sign demands, no later answer makes milder. Don't know counts as yes."
)
WHY_CONDITION = "It decides which causes are possible on this car and which checks make sense."
WHY_OTHER = "What was done last, and what is wrong since, decide every question that follows."
