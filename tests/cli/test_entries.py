"""A service or complaint named on the command line in a person's words: taken if only one fits, else those that fit."""

import pytest

from comeback.cli.errors import UsageError
from comeback.cli.words.search_services import complaint_named, service_named


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("oil-change", "oil-service"), ("oil", "oil-service"), ("spark plugs", "plugs-coils"), ("battery", "battery")],
)
def test_a_service_is_known_by_the_words_for_it(knowledge, typed, meant):
    assert service_named(knowledge, typed) == meant


@pytest.mark.parametrize(
    ("typed", "fitting"),
    [
        ("no-start", ("no-start-cranks", "no-crank")),
        ("leaks", ("fluid-leak", "oil-leak")),
        ("check-engine", ("engine-light", "light-drives-fine")),
    ],
)
def test_words_that_fit_several_complaints_list_two_or_three(knowledge, typed, fitting):
    with pytest.raises(UsageError) as told:
        complaint_named(knowledge, typed)
    listed = str(told.value).split("Type one of: ")[1]
    assert all(name in listed for name in fitting)
    assert listed.count("), ") < 3, "two or three"


def test_an_engine_light_offers_no_overheating_engine(knowledge):
    with pytest.raises(UsageError) as told:
        complaint_named(knowledge, "check engine light came on")
    assert "overheating" not in str(told.value)


def test_a_slip_of_the_fingers_is_understood_and_nonsense_is_not(knowledge):
    assert complaint_named(knowledge, "rough-idel") == "rough-idle"
    with pytest.raises(UsageError, match="There is no complaint 'xyzzyq'"):
        complaint_named(knowledge, "xyzzyq")
