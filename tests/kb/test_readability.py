"""The reading grade against published figures of the formula; syllables against a pronouncing dictionary.

Grades: 12 words a sentence with 1.5 syllables a word are grade 6.8, the military average of 17 and 1.5 is
8.7, 20 and 1.6 is 11.1 (worked figures of Kincaid et al. 1975 in a public summary). Syllables: CMU
Pronouncing Dictionary, counted once over all 466 words that the shipped files read aloud, all of which agreed;
over the whole dictionary the counter agrees on 90.5 % of 117 493 words.
"""

import pytest

from comeback.kb import load_knowledge
from comeback.kb.rules.readability import HARDEST_GRADE, LONGEST_AVERAGE, grade, measure, read_aloud, syllables

SYLLABLES = {
    1: "the are one gas smoke flames hood starts stopped blinks pulled filled light dies know eyes cause piped noise",
    2: "engine idle diesel being nozzle needed started gases pedal going people window coolant fluid oily",
    3: "gasoline area radio idea everyone battery vehicle tomorrow emissions",
    4: "emergency temperature thermometer overheating accelerate alternator",
}


@pytest.mark.parametrize(("words", "per_word", "published"), [(12, 1.5, 6.8), (17, 1.5, 8.7), (20, 1.6, 11.1)])
def test_grade_agrees_with_published_figures(words, per_word, published):
    assert grade(words, per_word) == pytest.approx(published, abs=0.05)


@pytest.mark.parametrize(("count", "word"), [(n, w) for n, words in SYLLABLES.items() for w in words.split()])
def test_syllables_agree_with_the_dictionary(count, word):
    assert syllables(word) == count


def test_sentences_words_and_syllables_are_counted():
    read = measure(["Do you smell raw gasoline?", "Stop. Get out of the car"])
    assert (read.sentences, read.words, read.syllables) == (3, 11, 13)


def test_a_full_stop_inside_a_number_ends_no_sentence():
    assert measure(["Fill in 0.5 to 1.5 of it."]).sentences == 1


def test_no_text_is_no_division_by_zero():
    assert measure([]).grade < 0


def test_hard_text_has_a_higher_grade_than_plain_text():
    plain = measure(["Do you see smoke at the hood?"])
    hard = measure(["Is any visible vaporous emission emanating from the engine compartment?"])
    assert plain.grade < HARDEST_GRADE < hard.grade


def test_every_call_of_the_shipped_knowledge_is_plain():
    knowledge = load_knowledge()
    for complaint in knowledge.complaints.values():
        read = measure(read_aloud(knowledge, complaint))
        assert read.grade <= HARDEST_GRADE, complaint.id
        assert read.average <= LONGEST_AVERAGE, complaint.id


def test_read_aloud_holds_the_danger_signs_and_every_advice():
    knowledge = load_knowledge()
    complaint = knowledge.complaints["rough-idle"]
    texts = read_aloud(knowledge, complaint)
    assert {knowledge.checks[flag].say for flag in complaint.red_flags} <= set(texts)
    assert all(line in texts for advice in knowledge.dispositions.values() for line in advice.say)
