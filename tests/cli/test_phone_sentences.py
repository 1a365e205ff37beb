"""Three hundred sentences of customers: the right complaint, no danger hidden or made up.

The sentences: tests/data/phone_sentences.yaml, written before the knowledge was read.
Every third sentence is held out: no phrase or pattern was added because of it.
"""

import pytest

from comeback.cli.words.chance import without_chance_words
from comeback.cli.words.search import find_complaints
from comeback.cli.words.speech import LIGHT, ideas, raw_words
from support.phone_sentences import hear

LEAST_FIRST, LEAST_READ_OUT = 0.97, 0.99
LEAST_FIRST_HELD_OUT, LEAST_READ_OUT_HELD_OUT = 0.94, 0.95
"""Before any word was added: 53 and 75 %; held out 54 and 78 %."""


@pytest.fixture(scope="module")
def heard(knowledge):
    return hear(knowledge)


def share(sentences, right):
    """The share that is right, and those that are not, to be read in the report."""
    wrong = [(one.said, one.listed[:3]) for one in sentences if not right(one)]
    return 1 - len(wrong) / len(sentences), wrong


@pytest.mark.parametrize(
    ("held_out", "least_first", "least_read_out"),
    [(False, LEAST_FIRST, LEAST_READ_OUT), (True, LEAST_FIRST_HELD_OUT, LEAST_READ_OUT_HELD_OUT)],
)
def test_what_the_customer_says_is_listed_first_or_read_out(heard, held_out, least_first, least_read_out):
    sentences = [one for one in heard if one.held_out == held_out and one.meant]
    first, not_first = share(sentences, lambda one: one.first)
    read_out, not_read_out = share(sentences, lambda one: one.read_out)
    assert first >= least_first, not_first
    assert read_out >= least_read_out, not_read_out


def test_what_the_sentences_mean_is_known(knowledge, heard):
    assert {name for one in heard for name in (*one.danger, *(n for group in one.meant for n in group))} <= {
        *knowledge.complaints
    }


def test_no_danger_that_was_said_is_hidden(heard):
    assert [one.said for one in heard if one.hidden] == []


def test_a_word_of_danger_said_of_something_else_raises_none(heard):
    assert [(one.said, one.named) for one in heard if one.invented] == []


@pytest.mark.parametrize(
    "said",
    [
        "no brakes",
        "it won't stop, I stepped on the brake and nothing",
        "there's no smoke but I see flames",
        "gas all over the ground at the gas station",
        "smells like gas when I give it gas",
        "foot on the brake and the pedal goes to the floor",
        "no, smoke is coming out",
        "the heater's not working and it smells of gas",
        "it won't start. Smells of gas",
    ],
)
def test_a_danger_beside_a_chance_word_is_still_heard(knowledge, said):
    """Sentences made up for this test."""
    assert find_complaints(knowledge, said, knowledge.complaints).danger


@pytest.mark.parametrize(
    ("said", "left"), [("it bogs when i give it gas", "it bogs when i accelerate"), ("no smoke", "")]
)
def test_ways_of_talking_are_read_as_what_they_mean_for_the_car(said, left):
    """Sentences made up for this test."""
    assert without_chance_words(said).split() == left.split()


def test_every_phrase_says_something_by_itself(knowledge):
    """A phrase of nothing but "not" or "over" would fit any sentence."""
    entries = ((name, entry) for name, entry in knowledge.complaints.items() if entry.reports)
    phrases = [(name, phrase) for name, entry in entries for phrase in entry.words]
    assert [(n, p) for n, p in phrases if {*ideas(raw_words(p))} <= LIGHT.keys() - {"stop"}] == []
