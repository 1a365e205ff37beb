"""Several answers of one panel on paper: the repairs of each row are tried. Beside plain enumeration."""

from itertools import product

import numpy as np
import pytest

from comeback.engine.charts.decision_graph import ROWS, SEVERAL, Growth, Limits, graph_of, start
from comeback.engine.charts.growth import each_of_several, result_chances, several_chance
from comeback.engine.charts.looks import Looks
from comeback.engine.charts.outcomes import outcomes
from comeback.engine.walk.steps import ReadPanel
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

CHECKS = ("codes-lean", "codes-misfire", "codes-idle")
REPAIRS = ("refit-vacuum-hose", "replace-plugs")


@pytest.fixture(scope="module")
def walk():
    return start(load_knowledge(), "intake-cleaning", "rough-idle", Audience.BAY)


@pytest.fixture(scope="module")
def there(walk):
    return outcomes(walk, Looks(walk.knowledge, "intake-cleaning", "rough-idle"))


def test_chance_of_an_answer_where_two_or_more_are_abnormal(walk, there):
    """Oracle: all results of three checks listed, those with two abnormal ones kept, for some sets of causes."""
    several = several_chance(walk, there.sets, CHECKS)
    shown = each_of_several(walk, there.sets, CHECKS, several)
    tables = {check: result_chances(walk, there.sets, check)[1] for check in CHECKS}
    names = {check: walk.knowledge.checks[check].names for check in CHECKS}
    for s in range(0, len(several), max(1, len(several) // 20)):
        both = [c for c in product(*(range(len(names[check])) for check in CHECKS)) if sum(map(bool, c)) >= 2]
        chance = {c: np.prod([tables[check][s, r] for check, r in zip(CHECKS, c, strict=True)]) for c in both}
        assert sum(chance.values()) == pytest.approx(several[s], abs=1e-12)
        for k, check in enumerate(CHECKS):
            for r, name in enumerate(names[check][1:], 1):
                wanted = sum(p for c, p in chance.items() if c[k] == r) / sum(chance.values())
                assert shown[f"{check}:{name}"][s] == pytest.approx(wanted, abs=1e-9)


def test_rows_that_are_always_shown_settle_as_much_as_one_end_with_all_their_repairs(there):
    always = np.ones(len(there.sets.weights))
    found = there.by_rows({"a:x": REPAIRS[:1], "b:y": REPAIRS[1:]}, {"a:x": always, "b:y": always})
    assert found.repaired == pytest.approx(there.settled(REPAIRS).repaired)
    assert found.handed == pytest.approx(there.settled(REPAIRS).handed)
    assert found.clean <= found.share


def test_rows_that_are_never_shown_settle_nothing(there):
    never = np.zeros(len(there.sets.weights))
    assert there.by_rows({"a:x": REPAIRS}, {"a:x": never}).repaired == 0


@pytest.mark.parametrize(("second", "chance"), [("a:y", 0.8), ("b:x", 0.64)])
def test_two_answers_of_one_check_exclude_each_other_those_of_two_do_not(there, second, chance):
    """By hand: 0.4 + 0.4 = 0.8; 1 - 0.6 x 0.6 = 0.64. Each cause of a set counts by its own repair."""
    often = np.full(len(there.sets.weights), 0.4)
    rows = {"a:x": REPAIRS[:1], second: REPAIRS[:1]}
    found = there.by_rows(rows, dict.fromkeys(rows, often))
    place = [action.id for action in there.actions].index(REPAIRS[0])
    wanted = 0.0
    for weight, causes in zip(there.sets.weights, there.sets.now, strict=True):
        if causes.any() and not (causes & ~there.meant[place]).any():
            wanted += weight * chance ** causes.sum()
    assert found.repaired == pytest.approx(wanted)


def test_several_codes_lead_to_the_row_of_each(walk):
    growth = Growth(walk, Limits())
    growth.grow(3)
    graph = graph_of(growth)
    boxes = {box.number: box for box in graph.boxes}
    panel = next(box for box in graph.boxes if isinstance(box.step, ReadPanel))
    assert [boxes[way.target].step for way in panel.exits if SEVERAL in way.answers] == [ROWS]
    assert graph.clean <= graph.carried


def test_by_phone_nothing_is_asked_on_paper_where_every_answer_sends_people_away():
    """A caller who smells gasoline is told to get clear whatever else is seen; reading on would keep them there."""
    walk = start(load_knowledge(), "intake-cleaning", "fuel-smell", Audience.PHONE)
    growth = Growth(walk, Limits())
    growth.grow(6)
    graph = graph_of(growth)
    assert [box.step.disposition.word for box in graph.boxes] == ["get-clear"]
    assert graph.carried == 1.0
