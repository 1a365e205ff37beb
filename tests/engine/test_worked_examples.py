"""The worked examples in the docstrings: the numbers counted by hand there are what the program gives."""

import doctest

import pytest

from comeback.engine.belief import exact_posterior, messages, subset_union
from comeback.engine.choosing import repair_sequence, value_of_information

WORKED = (exact_posterior, messages, subset_union, repair_sequence, value_of_information)


@pytest.mark.parametrize("module", WORKED, ids=lambda module: module.__name__)
def test_a_docstring_worked_by_hand_is_what_the_program_gives(module):
    found = doctest.testmod(module)
    assert found.attempted
    assert not found.failed
