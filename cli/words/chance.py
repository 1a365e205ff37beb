"""Words of danger said of something else: the gas pedal, a fire station, "holy smokes", "no smoke".

Each pattern is a way of talking, not a sentence: what it means for the car stands beside it, often nothing.
They are read in this order, on words in lower case whose spelling is corrected and whose "won't" is "not".
"""

import re

_FUEL = r"(?:gas|petrol|fuel|gasoline)"
_A_DANGER = r"(?! (?:smells?|fumes?|leaks?|leaking|stinks?|drips?|dripping|everywhere|pedal))"
"""Not before these words: then the gas is the danger."""
_RELATIVE = r"(?:i|he|they|husband|wife|mom|mother|dad|father|son|daughter|kids?|brother|sister|neighbors?|boyfriend)"
_BAD = (
    r"(?:smoke|smoking|fire|flames?|fumes|steam|overheat(?:s|ed|ing)?|shakes?|shaking|leaks?|leaking"
    r"|(?:flash(?:es|ing)?|blink(?:s|ing)?)(?: lights?)?|(?:warning|(?:check )?engine) lights?"
    r"|(?:gas|fuel|burning|burnt|exhaust|bad|funny|weird) smells?|smells?(?: of \w+| \w+)?"
    r"|smell(?: a thing| anything)?)"
)

WAYS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(rf"\b{pattern}"), meaning)
    for pattern, meaning in (
        # fire, smoke, burning
        (r"fire ?(?:station|house|hall|drill|place|works)\b", ""),
        (r"(?:got|get|getting|was|almost|nearly) fired\b|fired (?:me|him|her|from)\b", ""),
        (r"(?<!not )(?:starts?|fires?) (?:right up|straight up|fine|great)\b|drive ?(?:thru|through)\b", ""),
        (r"(?:fires?|fired|firing) (?:right |straight )?up\b", "start"),
        (r"not (?:even )?fire\b", "not start"),
        (r"(?:not )?firing on\b", "miss"),
        (r"holy smokes?\b|smoke (?:break|detector|test)s?\b|smoke(?:d)? (?:everybody|everyone|him|them|anybody)\b", ""),
        (rf"{_RELATIVE} (?:do |does |used to )?smokes?\b|smokers?\b|cigarettes?\b", ""),
        (r"(?:got|get|been|was) burned by\b", ""),
        # the pedal
        (rf"(?:give|gives|gave|giving) (?:it|her) (?:some |the |more |a little |any )?{_FUEL}\b", "accelerate"),
        (rf"(?:let|lets|letting|lay|come|take|took) (?:up )?off (?:of )?(?:the |my )?{_FUEL}\b", "letoff"),
        (rf"foot off (?:of )?(?:the |my )?{_FUEL}\b", "foot off"),
        (rf"(?:foot )?on the {_FUEL}\b(?! (?:tank|cap|line|gauge|pump))", "accelerate"),
        (
            r"(?:touch|touches|touching|hit|hits|hitting|push|press|pressing|"
            r"tap|tapping|mash|stomp|punch|feather|step|stepping) (?:on )?"
            rf"(?:the |my )?{_FUEL}\b{_A_DANGER}",
            "accelerate",
        ),
        # the fuel that is bought or used up
        (rf"{_FUEL} (?:mileage|economy|consumption)\b|mileage\b|mpg\b|miles (?:per|to the|a) gallon\b", "mileage"),
        (
            r"(?:drink|drinks|drinking|use|uses|using|burn|burns|burning|eat|eats|gulp|gulps|gulping|guzzle|guzzles|suck|"
            r"sucks|going|goes)(?: through)?(?: up)?(?: more| a lot of| too much| so much| a ton of| extra)?"
            rf" {_FUEL}\b{_A_DANGER}",
            "mileage",
        ),
        (
            rf"(?:get|gets|got|getting|put|putting|buy|bought|need|pump|pumping) (?:some |more )?{_FUEL}\b{_A_DANGER}"
            r"(?: in\b)?",
            "filling",
        ),
        (rf"{_FUEL} station\b", "filling"),
        (rf"{_FUEL} cap\b", "fuelcap"),
        (rf"{_FUEL} (?:gauge|gage|needle|light)\b", "fuelgauge"),
        (r"gas pump\b", "nozzle"),
        # brakes, steering, racing
        (r"(?:give|gimme|got|get|need|take|catch) (?:me )?a break\b|coffee break\b", ""),
        (
            r"brake job\b|(?:had|got|did) (?:the |my |new )?brakes (?:just )?(?:done|changed|replaced)\b|new brakes\b",
            "",
        ),
        (r"(?:with )?(?:my |the )?foot (?:is )?on the brakes?\b|(?:with )?(?:the |my )?brake on\b", "standing"),
        (r"(buttons?|switch(?:es)?|clock|stalk|horn|controls?) (?:on|behind) the steering wheel\b", r"\1"),
        (
            r"(?:brakes?|steering|temperature|temp|gauge) (?:(?:is|are|feels?|works?|seems?) )?(?:fine|ok|okay|good)\b",
            "",
        ),
        (r"sounds like a race ?car\b", "loud"),
        (r"(?:to|at|from) the races?\b|races? (?:go )?(?:karts?|cars|bikes)\b|mind(?:s)? (?:is )?racing\b", ""),
        (r"hot (?:day|out|outside|weather)\b|(?:\w+ miles )?down the road\b", ""),
        (r"(lamps?|lights?) (?:is |are )?glow(?:s|ing)?\b", r"\1 on"),
        (r"tire pressure\b", "tire"),
        # said to be absent
        (
            rf"(?:no|not|never|nor|without|isnt|aint)(?: (?:any|a|an|see|even|really|actually|once|had|have))* {_BAD}",
            "",
        ),
    )
)


def without_chance_words(text: str) -> str:
    """The text with each such way of talking replaced by what it means for the car."""
    for pattern, meaning in WAYS:
        text = pattern.sub(f" {meaning} " if meaning else " ", text)
    return text
