"""Words as customers say them -> words that can be compared: spelling, British and American, endings.

A table of words that mean the same for a car, not of phrases: those stand in the knowledge, where a trainer
corrects them.
"""

import re
from collections.abc import Mapping
from functools import lru_cache

from comeback.cli.words.chance import WAYS, without_chance_words

SKIP = frozenset(
    """a an and are am as at be been being but by car came come comes coming customer did do does er feel feels for from
    get gets go goes going gone got had has have he hello hi his her i if in into is it its just keep keeps like little
    make makes me my new now of ok on or our please really said says she so some still something than that the their
    then there theres these they thing this those to too um us very was we well were what when which with yes you your
    after again also any bit each every can could much should than vehicle will would
    about actually already anymore anyway around ask asked before believe boss brought bought call called
    dad day days ever everybody everyone friend guess guy guys ha hate heard help here hey home how
    husband kid kids kind kinda know last late looks lot maybe mechanic mom month my named nearly neighbor next
    nobody obviously old once oops people phone picked place pretty probably put quite real ride sat saw saying says
    see seen seems shop since somebody someone son sorry stuff sudden suddenly sure talk tell think thought time
    times today told tomorrow tonight took twice usually van weird week weeks wife worried yall yesterday""".split()  # noqa: SIM905
)
"""Words that tell nothing about what is wrong."""

_NOT = re.compile(r"\b(?:wo|ca|do|dose?|does|did|is|are|was|were|would|could|should|has|have|had)n'?t\b|\bcannot\b")

_TOGETHER: Mapping[str, str] = {
    r"\b(gas|throttle|accelerator|go) pedal\b": "accelerator",
    r"\bexhaust (gas(es)?|fumes?|smells?)\b|\bsmells? (of|like) (the )?exhaust\b": "fumes",
    r"\b(carbon|engine|intake) clean(n?ing|ed)?\b": "intake cleaning",
    r"\b(auto )?(start (and )?stop|stop (and )?start)\b": "startstop",
    r"\b(check|see) engin(e)?\b": "engine lamp",
    r"\bnot (even |really )?stop\b(?! \w+ing| the (?!car|truck))|\bslow +to stop\b|\b(barely|hardly) stop\b": "nostop",
    r"\bkeeps? (on )?(revving|racing|accelerating)\b|\bkept (on )?(revving|racing|accelerating)\b": "keepsrevving",
    r"\b(step|steps|stepping|stepped|floor|floors|flooring|get|getting) (on )?it\b|\bpunch it\b": "accelerate",
    r"\bpass(ing)? (a car|another car|cars)\b": "accelerate",
    r"\b(going|cruising) (down|on|along) the\b": "drive",
    r"\bcrank(s|ing)? (forever|a long time|long)\b": "longcrank",
    r"\bbattery (keeps )?(died|dies|dying)\b": "battery dead",
    r"\bnot turn\b": "not crank",
    r"\bboil(s|ed|ing)? over\b": "overheat",
    r"\b(this|next|that|yesterday|other) (morning|afternoon|evening|night)\b": "",
    r"\b(at|from|(come|comes|came|coming|pull|pulls|pulling|roll|rolls|rolling) (up )?to)"
    r" (a |the |every |each )?lights?\b": "stops",
    r"\bkeep(s|ing)? (my|your|a|the) foot (on|in)( it)?\b": "footon",
    r"\b(fall|falls|fell|falling) (flat )?on (its|his|her) face\b": "hesitate",
    r"\b(is|it|just|such|like) (such )?a (real |total |complete |absolute )?(dog|slug|turtle|snail|turd)\b": "weak",
    r"\blike (absolute |total |complete |pure )?(garbage|crap|trash|junk|shit|hell)\b": "bad",
    r"\b(get up and go|pick ?up|guts|oomph|pep)\b": "power",
    r"\b(all over the place|bounc(es|ing) around|jump(s|ing)? around)\b": "updown",
    r"\bpop(s|ped|ping)? (on|up)\b": "up",
    r"\bwant(s|ed)? to (die|stall|quit|shut off)\b": "stall",
    r"\b(cut|cuts|cutting|conk|conks|conked|conking|switch|switches|shut|shuts) (out|off)\b": "stall",
    r"\b(turn|turns|turned|turning|roll|rolls) over\b": "crank",
    r"\b(catch|caught|catches|set) fire\b": "fire",
    r"\b(fire|fires|fired|firing|start|starts|starting|started) up\b": "start",
    r"\b(speed|speeds|speeding|sped) up\b|\bpick(s|ing)? up speed\b": "accelerate",
    r"\bnot slow down\b": "noslowdown",
    r"\b(slow|slows|slowing) down\b": "slowdown",
    r"\b(warm|warms|warming) up\b": "warmup",
    r"\b(fill|fills|filling|filled|top|topping) up\b|\bfuel stop\b": "filling",
    r"\b(up|climb|climbs|climbing) (a |the )?hills?\b|\bup ?hill\b": "uphill",
    r"\b(take|takes|taking|took) off\b": "takeoff",
    r"\bright away\b": "",
    r"\b(run|runs|running|ran|race|races|racing|raced) away\b": "runaway",
    r"\bby (itself|herself)\b|\b(on|of) its own( accord)?\b": "itself",
    r"\b(tune|tuning) ?-?up\b": "tuneup",
    r"\bjump ?-?(start(ed)?|lead)s?\b": "jumpstart",
    r"\b(traffic lights?|junctions?|stop lights?|red lights?|intersections?|at (the|a) lights?|stop signs?)\b": "stops",
    r"\bstand(ing|s)? still\b|\bstood still\b|\bstationary\b": "standing",
    r"\b(pull|pulls|pulling|move|moves|moving|set|setting|drive|driving) (away|off)\b": "pullaway",
    r"\bair ?-?flow\b": "airflow",
    r"\bair ?filt(er|re?)s?\b": "air filter",
    r"\bspark ?-?plugs?\b": "spark plug",
    r"\banti ?-?freeze\b": "coolant",
    r"\b(eml|mil|cel|check engine|engine management|engine warning)( light| lamp)?\b": "engine lamp",
    r"\b(esp|esc|dsc|traction control|stability control)\b": "skid stability",
    r"\btail ?pipe\b|\bexhaust pipe\b|\b(out|from) (the |of the )?(back|exhaust|rear)\b": "tailpipe",
    r"\bup and down\b": "updown",
    r"\b(blinks?|flash(es)?|flickers?) on and off\b": "blink",
    r"\bcomes? and goes?\b|\b(on|in) and (off|out)\b": "intermittent",
    r"\b(takes?|taking) (ages|forever|long|a long time)\b": "slow",
    r"\bgear ?box\b": "gearbox",
}
"""Several words that are one idea; spelling is mended before."""

_SAME: Mapping[str, str] = {
    word: idea
    for idea, words in {
        "fuel": "petrol gas gasoline fuel gaz",
        "lamp": "light lite lights lamp lamps symbol indicator warning telltale bulb",
        "hood": "bonnet hood",
        "fire": "fire fires flame flames flaming ablaze alight blaze",
        "burning": "burning burnt burn burns burned",
        "smoke": "smoke smoak smokes smoking smoky smoked",
        "fumes": "fume fumes",
        "sick": "sick ill nauseous nausea dizzy headache headaches drowsy faint unwell poisoned",
        "smell": "smell smells smelling smelly smelt stink stinks stinking reek reeks odor odour whiff",
        "leak": "leak leaks leaking leaked drip drips dripping puddle pouring pours pour spill spills spilling gushing"
        " loses losing lost drops spot patch",
        "under": "under underneath below beneath ground floor drive driveway",
        "noise": "noise noises sound sounds noisy",
        "stall": "stall stalls stalling stalled dies die died dying quits quit conks conk conked",
        "shake": "shake shakes shaking shook judder judders juddering shudder shudders vibrate vibrates vibrating"
        " vibration rough lumpy trembles",
        "jerk": "jerk jerks jerky jerking buck bucks bucking lurch lurches kangaroo kangarooing kangaroos",
        "bad": "bad badly poorly terrible terribly awful awfully horrible horribly lousy",
        "miss": "miss misses missing misfire misfires misfiring",
        "rev": "rev revs revving revved rpm rpms",
        "race": "race races racing raced",
        "high": "high fast quick",
        "slow": "slow slowly ages forever",
        "start": "start starts starting started",
        "crank": "crank cranks cranking cranked turns",
        "brake": "brake brakes braking break breaks breaking brakeing",
        "hard": "hard stiff solid",
        "sink": "sink sinks floor spongy soft squishy mushy",
        "stop": "stop stops stopping stopped",
        "hot": "hot overheat overheats overheating overheated boil boils boiling boiled",
        "temperature": "temp temperature heat temperatures",
        "cabin": "cabin inside interior",
        "accelerator": "accelerator throttle",
        "accelerate": "accelerate accelerates accelerating acceleration",
        "hang": "hang hangs stuck stick sticks sticking jammed jams jam",
        "weak": "weak gutless sluggish underpowered feeble poor",
        "road": "road motorway freeway highway interstate",
        "drive": "drive drives driving drove",
        "dead": "dead lifeless",
        "idle": "idle idles idling tickover",
        "uphill": "uphill hill hills",
        "wet": "wet rain rainy raining damp",
        "bump": "bump bumps bumpy",
        "loud": "loud louder loudly roar roars roaring",
        "knock": "knock knocks knocking clunk clunks clunking clank bang bangs banging hammering hammer",
        "metal": "metal metallic",
        "coolant": "coolant antifreeze",
        "dash": "dash dashboard",
        "radio": "radio stereo",
        "emissions": "emissions emission smog mot inspection",
        "gearbox": "gearbox transmission gears gear shift shifts shifting",
        "change": "change changed changes changing replaced replace replacement swap swapped renewed fitted",
        "cleaner": "cleaner",
        "clean": "clean cleaned cleaning cleans decoke decarbonising decarbonizing",
        "skid": "skid traction stability",
        "egg": "egg eggs eggy",
        "pop": "pop pops popping popcorn backfire backfires backfiring",
        "surge": "surge surges surging hunt hunts hunting",
        "not": "not no none never nothing without",
        "service": "service servicing serviced",
        "filling": "filling fill fillup refuel refuelling refueling",
        "hesitate": "hesitate hesitates hesitating hesitation stutter stutters stuttering stumble stumbles stumbling",
        "fuse": "fuse fuses",
        "scream": "scream screams screaming",
        "blink": "blink blinks blinking blinked flash flashes flashing flashed",
        "blue": "blue blueish bluish",
        "wobble": "wobble wobbles wobbling wobbly",
    }.items()
    for word in words.split()
}
_ENDINGS = re.compile(r"(?:(?<=[a-z]{3})(?:ings?|ed|ers?|ly|y)|(?<=[a-z]{2}[^s])e?s)$")
LIGHT: Mapping[str, float] = {
    **{"not": 0.4, "change": 0.4, "stop": 0.8, "bad": 0.4},
    **dict.fromkeys("all awa back bar down off open out over right through up way".split(), 0.3),  # noqa: SIM905
}
"""Weights below 1 of ideas that many sentences have ("awa": away, "bar": barely)."""


def raw_words(text: str) -> list[str]:
    """The words typed, in lower case, "won't" and "wont" as "not"."""
    plain = text.lower().replace("\u2019", "'").replace("`", "'")
    plain = re.sub(r"(?<=\w)\s*[,;.!?]+\s+(?=\w)", " and ", plain)  # "no, smoke" is not "no smoke"
    plain = re.sub(r"'(?:s|ll|d|ve|re|m)\b", "", _NOT.sub(" not ", plain)).replace("'", "")
    return re.findall(r"[a-z]+|\d+", plain)


@lru_cache(maxsize=4096)
def stem(word: str) -> str:
    """The idea of one word: the table's, else the word without its ending."""
    same = _SAME.get(word)
    if same is not None:
        return same
    short = _ENDINGS.sub("", word) if len(word) > 3 else word
    if short != word and short[-1:] == short[-2:-1] and short[-1] not in "lsz":
        short = short[:-1]  # dragging, dragged -> drag
    short = short.removesuffix("e") if len(short) > 3 else short
    return _SAME.get(short, short)


def ideas(words: list[str]) -> tuple[str, ...]:
    """What the words mean: joined where several are one idea, without those that tell nothing, each once."""
    text = without_chance_words(" ".join(words))
    for pattern, idea in _TOGETHER.items():
        text = re.sub(pattern, f" {idea} ", text)
    return tuple(dict.fromkeys(stem(word) for word in text.split() if word not in SKIP))


VAGUE = frozenset(
    """all annual big clue complete dunno engine every everything first full idea interim know lot major minor normal
    second several small standard sure tell unknown usual whole yearly""".split()  # noqa: SIM905
)
"""What people say who do not know which work was done, or that it was all of it."""
_EVERYDAY = frozenset(
    """age angry arm baby ball bear bed big bill bird boat bone book bottle bowl box boy bread breakfast bucket bunch
    bus butter cake can candle card cat chain chair child church city class cloth coat coffee cook corn country couple
    court cow cup cut dance date deal dinner dish doctor dog dollar door dream dress driver ear earth edge egg eight end
    exit eye face fact farm fat feather feet fight film fine finger fish five flag flower fly food four freight friday
    frog fruit game garage garbage garden girl glass glow goat gold grass green groceries ground grow hair hall hand
    hat head heart heaven hill hole holiday hospital hour house ice inch iron job joke judge juice jungle kettle kick
    king kiss kitchen knee knife lady lake land law lawn lead leaf leg lesson letter lid lie lip list loan lunch mail
    mall march market match meat meeting mile milk mind minute monday money moon mouse mouth movie music nail neck nest
    nine nose number office paint paper parade parent park party passenger path pen pencil pet phone pie pig pizza plane
    plant plate pocket police pool porch pot pound price queen rabbit radio rat river rope row salt sand saturday school
    score sea seat seed seven sheep ship shirt shoe shop sister six skin sky sleep snake snow soap sock sofa sold song
    soup spit spits spoon spring stair star store storm story street sugar suit summer sun sunday supper table tail tank
    tap tea teacher team ten tent test thousand three throat thursday ticket tie toast toe tooth town toy train trash
    tree trip truck trunk tuesday twenty two uncle wall watch wave weather wednesday wedding window wine wing winter
    wolf woman wood wool word worm year yellow zoo""".split()  # noqa: SIM905
)
"""Words of every day that are no slip of the fingers."""
_JOINED = " ".join((*_TOGETHER, *_TOGETHER.values(), *(way.pattern for way, _ in WAYS))).replace(r"\b", " ")
KNOWN = SKIP | VAGUE | _EVERYDAY | _SAME.keys() | set(re.findall(r"[a-z]{3,}", _JOINED))
"""Words that are spelt right even if no phrase of the knowledge has them."""
