"""Closing a case: the cause is the one that somebody saw, so that learned frequencies count no guess."""

import pytest

from comeback.cli.look import Look
from comeback.cli.prompt.ending_replies import ending_reply
from comeback.cli.prompt.reply import Record, Remark
from comeback.cli.screens import endings, screens, wording
from comeback.engine.walk import steps
from comeback.engine.walk.closing import alternatives
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience


def closing(knowledge, causes, repairs):
    walk = begin_walk(knowledge, "plugs-coils", "rough-idle", Audience.BAY)
    return walk.with_step(steps.CloseCase("rough-idle", tuple(causes), tuple(repairs), True))


@pytest.fixture
def one_of_two(knowledge):
    """A proven repair that removes two causes, both named: which of them it was, nobody has said."""
    repair = next(r for r in knowledge.repairs.values() if len(r.removes) > 1)
    return closing(knowledge, list(repair.removes)[:2], [repair.id])


def test_of_two_alternatives_one_is_picked_and_y_confirms_neither(one_of_two):
    step = one_of_two.step
    assert alternatives(one_of_two.knowledge, step)
    assert isinstance(ending_reply(one_of_two, step, "y"), Remark)
    picked = ending_reply(one_of_two, step, "1")
    assert isinstance(picked, Record)
    assert picked.fact.causes == step.causes[:1]
    assert ending_reply(one_of_two, step, "1 2").fact.causes == step.causes  # both may have been there
    assert ending_reply(one_of_two, step, "d").fact.causes == ()
    assert not screens.hint(one_of_two).startswith("y")


def test_alternatives_stand_as_a_question_not_as_a_finding(one_of_two, knowledge):
    shown = " ".join(Look(200).paint(endings.close(one_of_two, one_of_two.step, Look(200))).split())
    first, second = (knowledge.causes[cause].name for cause in one_of_two.step.causes)
    assert f"{first} or {second}" in shown
    assert wording.CLOSE_KEYS[0].strip() not in shown


def test_a_list_with_nothing_but_the_cause_named_is_not_shown(knowledge):
    repair = next(r for r in knowledge.repairs.values() if len(r.removes) == 1)
    walk = closing(knowledge, repair.removes, [repair.id])
    shown = Look(100).paint(endings.close(walk, walk.step, Look(100)))
    assert wording.CLOSE_KEYS[0].strip() in shown
    assert wording.CLOSE_KEYS[1].strip() not in shown
    assert "1 or 1 3" not in screens.hint(walk)
    assert ending_reply(walk, walk.step, "y").fact.causes == walk.step.causes


def test_what_two_repairs_removed_is_confirmed_together(knowledge):
    first, second = [r for r in knowledge.repairs.values() if len(r.removes) == 1][:2]
    walk = closing(knowledge, [*first.removes, *second.removes], [first.id, second.id])
    assert not alternatives(knowledge, walk.step)
    assert ending_reply(walk, walk.step, "y").fact.causes == walk.step.causes
