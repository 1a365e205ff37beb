"""Paper and screen agree: an answer on the chart leads to the step that the live walk comes to."""

import pytest

from comeback.engine.case.events import Kind
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience


def begin(knowledge, service, complaint, who):
    walk = open_walk(knowledge, Audience(who))
    walk = walk.imagine(walk.draft(Kind.SERVICE, "", "", service=service))
    return walk.imagine(walk.draft(Kind.COMPLAINT, "", "", complaint=complaint, words=""))


@pytest.mark.parametrize("who", ["bay", "phone"])
def test_every_path_of_the_small_chart(compiled, small, who, replayed):
    walk = begin(small, "lamp-change", "dark", who)
    assert replayed(compiled[who], walk, paths=True) >= len(compiled[who].boxes) - 1


@pytest.mark.parametrize("who", ["bay", "phone"])
def test_every_path_of_a_shipped_chart(shipped_graphs, shipped, who, replayed):
    walk = begin(shipped, "intake-cleaning", "hard-brake", who)
    assert replayed(shipped_graphs[who], walk, paths=True) > 3
