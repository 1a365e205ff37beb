"""Builds of cars: which of them exist, and how they read in words."""

import pytest

from comeback.kb.vocabulary import FEATURE_LEADS, FEATURE_VALUES, FEATURES, NEVER_BUILT, can_be_built


@pytest.mark.parametrize(
    ("vehicle", "built"),
    [  # common practice, no source
        ({"drive": "hybrid", "throttle": "cable"}, False),
        ({"drive": "hybrid", "key": "keyed"}, False),
        ({"injection": "direct", "throttle": "cable"}, False),
        ({"drive": "hybrid"}, True),  # what is not known allows everything
        ({"drive": "gasoline", "throttle": "cable", "key": "keyed", "injection": "port"}, True),
    ],
)
def test_which_builds_there_are(vehicle, built):
    assert can_be_built(vehicle) is built


def test_the_builds_that_no_car_has_are_named_by_words_of_the_list():
    assert all(value in FEATURES[feature] for row in NEVER_BUILT for feature, value in row.items())


def test_every_value_reads_as_words_of_its_own():
    """No name of a feature is glued to a value that holds it already ("key with a key in a lock")."""
    assert FEATURE_LEADS.keys() == FEATURES.keys()
    for feature, values in FEATURES.items():
        for value in values:
            assert feature not in FEATURE_LEADS[feature].split() or feature not in FEATURE_VALUES[value].split()
    assert f"{FEATURE_LEADS['key']}{FEATURE_VALUES['keyed']}" == "started with a key in a lock"
    assert f"{FEATURE_LEADS['air']}{FEATURE_VALUES['airflow-meter']}" == "air measured by MAF sensor"
