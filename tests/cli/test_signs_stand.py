"""A danger sign that stands is not asked away: only somebody who corrects it takes it back.

Common practice, no source. All cases are invented.
"""

from comeback.cli.words.search import named_signs

LEAVE = "q\r"
FUEL = "4\rsmells of gasoline\r1\r"


def test_words_of_danger_do_not_ask_again_for_a_sign_that_was_seen(press, knowledge):
    _, screen, walk = press("bay", FUEL + "2d\rsafe\rpetrol on the floor\r" + LEAVE)
    first = next(a for a in walk.case.answers if a.check == "drip-kind")
    assert first.result == "fuel", screen
    assert "drip-kind" in named_signs(knowledge, "petrol on the floor")
    assert walk.view.results["drip-kind"] == "fuel"
    assert "drip-kind" not in getattr(walk.step, "checks", ())


def test_a_place_with_a_word_of_danger_is_looked_at_as_a_place(press):
    _, screen, _ = press("bay", FUEL + "n\rsaw fuel filter fitting\r" + LEAVE)
    assert "Which of these did you look at?" in screen
    assert "Fuel filter, its fittings and its arrow" in screen
    assert screen.count("First, look for these") == 1


def test_fuel_named_as_the_work_that_was_done_is_no_danger(press):
    for words in ("fuel", "they did something with the fuel"):
        _, screen, walk = press("phone", f"n\r{words}\r" + LEAVE)
        assert "Which of these is it?" not in screen, words
        assert walk.case.complaint is None


def test_gasoline_where_it_should_not_be_is_a_danger_at_the_service_question_too(press):
    _, screen, _ = press("phone", "n\rpetrol everywhere\r" + LEAVE)
    assert "Which of these is it?" in screen
    assert "gasoline" in screen.lower()


def test_codes_that_were_typed_stand_on_the_screen_of_all_codes(press):
    _, screen, walk = press("bay", "8\rit shakes at idle\r1\rn\rn\rP0303\r" + LEAVE)
    if walk.step.__class__.__name__ == "ReadPanel":
        assert "So far    misfire codes (one cylinder)" in screen
    assert walk.view.results["codes-misfire"] == "one"
