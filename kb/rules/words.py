"""Rules for words: what is read aloud, what a result says, what a step and a caution say.

They are common practice for questionnaires, phone scripts and work instructions: one question at a time, plain words,
answers that state what was seen, one action a step, the command first in a caution. The limits in words are judged.
"""

import re
from collections.abc import Iterator

from comeback.kb.rules.bearing import steps_of
from comeback.kb.rules.readability import HARDEST_GRADE, LONGEST_AVERAGE, measure, read_aloud
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.yaml.reader import Path

Broken = tuple[Path, str]
"""Place in an entry, and what is wrong with the remedy; the file and line come later."""

MOST_WORDS = 20
"""Words of a question read aloud, and of a step, at most."""
MOST_CAUTION_WORDS, MOST_REMINDER_WORDS = 40, 8
"""Words of a caution, and of its reminder on paper, at most."""
DIRECTION = "running direction"
"""What names the way to turn an engine."""
_TURNED = re.compile(r"\b(?:turn|rotate) the (?:crankshaft|crank pulley|engine|piston)\b", re.I)
_OILED_SEAL = re.compile(r"\b(?:oil|grease)\w*\b[^.;]*\bseals?\b|\bseals?\b[^.;]*\b(?:oil|grease)\w*\b", re.I)
_NEGATIVE = re.compile(r"\b(no|not|never|none|nothing|nobody|neither|nor|without|cannot|unless)\b|n't\b", re.I)
_TAG = re.compile(r",\s*(\w+n't|is|are|was|were|do|does|did|has|have|right|correct|yes|no)(\s+\w+)?\s*\?$", re.I)
_LEADING = re.compile(r"^(is|are|was|were|do|does|did|has|have|wo|would|could)n't\b|^(so|surely|you mean)\b", re.I)
_NO_COMMAND = re.compile(
    r"(the|an?|this|that|these|those|it|there|you|your|if|when|while|because|danger|warning|caution|notice)\b", re.I
)
_SAYS_NOTHING = re.compile(
    r"(not )?(ok|okay|checked|done|fine|good|bad|normal|abnormal|yes|no|pass(ed)?|fail(ed)?|faulty|defective)", re.I
)


def two_questions_in_one(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """What is read aloud is one question of at most 20 words that joins no two."""
    for check in _spoken(knowledge):
        path, said = ("checks", check.id, "say"), str(check.say)
        if said.count("?") != 1:
            yield path, "Read exactly one question aloud. Split it, or end it with '?'."
        if len(said.split()) > MOST_WORDS:
            yield path, f"A question read aloud has at most {MOST_WORDS} words. Shorten it."
        joined = re.search(r"\b(and|or)\b", said)
        if joined:
            yield path, f"'{joined[0]}' joins two questions; the answer fits only one. Ask one of them."


def question_that_leads(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A question that hints at an answer gets that answer."""
    for check in _spoken(knowledge):
        if _TAG.search(str(check.say)) or _LEADING.search(str(check.say)):
            yield ("checks", check.id, "say"), "This question hints at one answer. Ask it neutrally."


def double_negative(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Callers misunderstand two negatives in one question or answer."""
    for check in _spoken(knowledge):
        labels = [(("results", name), label) for name, label in check.results.items()]
        for path, text in [(("say",), str(check.say)), *labels]:
            if any(len(_NEGATIVE.findall(part)) > 1 for part in text.split(",")):
                yield ("checks", check.id, *path), "Two negatives in one. Say what is there instead."


def result_that_says_nothing(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A result states what was seen, not that it was looked at."""
    for check in knowledge.checks.values():
        for name, label in check.results.items():
            if _SAYS_NOTHING.fullmatch(label.strip(" .")):
                yield ("checks", check.id, "results", name), f"'{label}' does not say what was seen. Write that."


def answers_that_do_not_part(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Results are different from each other, and a reading can give each of them."""
    for check in knowledge.checks.values():
        seen: dict[str, str] = {}
        for name, label in check.results.items():
            words = re.sub(r"\W+", " ", label).strip().lower()
            if words in seen:
                yield ("checks", check.id, "results", name), f"This reads like '{seen[words]}'. Say how it differs."
            seen.setdefault(words, name)
        for name in check.results if check.reading else ():
            if check.reading and name not in check.reading.bands:
                yield ("checks", check.id, "reading", "bands"), f"No reading gives '{name}'. Add its band."


def step_of_two_actions(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A step is one action of at most 20 words."""
    for path, text in steps_of(knowledge):
        if any(len(sentence.split()) > MOST_WORDS for sentence in re.split(r"(?<=[.?!])\s+", text)):
            yield path, f"A step has at most {MOST_WORDS} words. Split it."
        if re.search(r"\band then\b", text):
            yield path, "'and then' joins two actions. Make it two steps."


def caution_too_long(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A caution begins with the command and has at most 40 words in all."""
    for caution in knowledge.cautions.values():
        words = len(caution.text.split())
        if words > MOST_CAUTION_WORDS:
            message = f"{words} words; nobody reads more than {MOST_CAUTION_WORDS} before a job. Shorten it."
            yield ("cautions", caution.id), message
        if _NO_COMMAND.match(caution.avoid):
            yield ("cautions", caution.id, "avoid"), "Begin with the command: 'Do not', 'Keep', 'Let' ..."


def reminder_too_long(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A reminder shares its place on paper with many others: 8 words at most."""
    for caution in knowledge.cautions.values():
        words = len(caution.reminder.split())
        if words > MOST_REMINDER_WORDS:
            message = f"{words} words; a reminder has at most {MOST_REMINDER_WORDS}. Shorten it."
            yield ("cautions", caution.id, "reminder"), message


def too_hard_to_follow(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """What a call reads aloud is plain enough for everybody; see `kb.rules.readability`."""
    for complaint in knowledge.complaints.values():
        read = measure(read_aloud(knowledge, complaint))
        if read.grade > HARDEST_GRADE or read.average > LONGEST_AVERAGE:
            figures = f"grade {read.grade:.1f} (limit {HARDEST_GRADE:g}), {read.average:.1f} words a sentence"
            message = f"What this call reads aloud: {figures} (limit {LONGEST_AVERAGE:g}). Use shorter words."
            yield ("complaints", complaint.id), message


def turned_without_direction(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """An engine is turned by hand only the way it runs: backward the timing drive can go slack and skip a tooth."""
    for path, text in steps_of(knowledge):
        found = _TURNED.search(text)
        if found and DIRECTION not in text:
            yield path, f"'{found[0]}' names no direction. Write 'in its {DIRECTION}'."


def injector_seal_oiled(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """At an injector only O-rings are oiled; the tip seal of a direct injector goes in dry, or it blows."""
    injectors = {path[:2] for path, text in steps_of(knowledge) if "injector" in text.lower()}
    for path, text in steps_of(knowledge):
        found = _OILED_SEAL.search(text)
        if found and path[:2] in injectors:
            told = "at an injector only O-rings are oiled, a tip seal goes in dry"
            yield path, f"'{found[0]}': {told}. Say which is which."


def _spoken(knowledge: KnowledgeBase) -> Iterator[Check]:
    yield from (check for check in knowledge.checks.values() if check.say is not None)
