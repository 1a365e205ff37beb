"""A danger sign that stands is not asked away: only somebody who corrects it takes it back.

Common practice, no source. All cases are invented.
"""

from comeback.cli.search import named_signs

LEAVE = "q\r"
FUEL = "4\rsmells of gasoline\r1\r"


def test_words_of_danger_do_not_ask_again_for_a_sign_that_was_seen(press, knowledge):
    _, screen, walk = press("bay", FUEL + "4d\rpetrol on the floor\r" + LEAVE)
    first = next(a for a in walk.case.answers if a.check == "drip-kind")
    assert first.result == "fuel", screen
    named = named_signs(knowledge, "petrol on the floor")
    assert "drip-kind" in named
    assert walk.situation.results["drip-kind"] == "fuel"
    assert "drip-kind" not in getattr(walk.step, "checks", ())


def test_a_place_with_a_word_of_danger_is_looked_at_as_a_place(press):
    _, screen, walk = press("bay", FUEL + "n\rn\rsaw fuel filter connector\r" + LEAVE)
    assert "Which of these did you look at?" in screen or walk.step.check
    assert "Before anything else" not in screen.rsplit("saw fuel filter", 1)[-1]
