"""Paper and screen agree: an answer on the chart leads to the step that the live walk comes to."""

import pytest

from comeback.engine.rehearsal.simulated_walk import begin
from comeback.kb.vocabulary import Audience


@pytest.mark.parametrize("who", ["bay", "phone"])
def test_every_path_of_the_small_chart(compiled, small, who, replayed):
    walk = begin(small, "lamp-change", "dark", Audience(who))
    assert replayed(compiled[who], walk, paths=True) >= len(compiled[who].boxes) - 1


@pytest.mark.parametrize("who", ["bay", "phone"])
def test_every_path_of_a_shipped_chart(shipped_graphs, shipped, who, replayed):
    walk = begin(shipped, "intake-cleaning", "hard-brake", Audience(who))
    assert replayed(shipped_graphs[who], walk, paths=True) > 3
