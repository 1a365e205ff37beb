"""Ends of paper under a danger sign: what has to do with the sign, and nothing that runs the engine first.

That this is how it must be is common practice, no source; the small knowledge is invented.
"""

import pytest

from comeback.engine.charts.dangers import said, warned
from comeback.engine.charts.decision_graph import OFF, SEVERAL, Limits, TryInOrder, compile_decision_graph
from comeback.engine.charts.looks import Looks
from comeback.engine.charts.outcomes import outcomes
from comeback.engine.rehearsal.simulated_walk import begin
from comeback.engine.walk.steps import DangerScreen
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience, EngineOff, Tier


def told(knowledge, running_checks=(), running_repairs=(), until=None, red=True, tier=Tier.PEOPLE):
    """The small knowledge with what runs the engine, and until when its sparks keep it off."""
    checks, repairs = dict(knowledge.checks), dict(knowledge.repairs)
    for name in running_checks:
        checks[name] = checks[name].model_copy(update={"runs_engine": True})
    for name in running_repairs:
        repairs[name] = repairs[name].model_copy(update={"runs_engine": True})
    off = {"yes": until} if until else {}
    flag = checks["spark"].red_flag if red else {}
    checks["spark"] = checks["spark"].model_copy(update={"engine_off": off, "red_flag": flag, "tier": tier})
    version = f"{running_checks}{running_repairs}{until}{red}{tier}"
    return knowledge.model_copy(update={"checks": checks, "repairs": repairs, "version": version})


def end_of(knowledge, answer="spark:yes"):
    limits = Limits(boxes=2, rare=1e-6)
    graph = compile_decision_graph(knowledge, "lamp-change", "dark", Audience.BAY, limits=limits)
    boxes = {box.number: box for box in graph.boxes}
    first = boxes[1]
    assert isinstance(first.step, DangerScreen)
    return next(boxes[way.target] for way in first.exits if answer in way.answers)


def test_only_repairs_of_causes_that_show_in_the_sign_are_named(small):
    """From the file: a blown fuse makes sparks (20 %), a loose lamp does not."""
    assert end_of(small).step == TryInOrder(("replace-fuse",), danger=True)


@pytest.mark.parametrize("until", list(EngineOff))
@pytest.mark.parametrize("tier", [Tier.PEOPLE, Tier.CAR])
def test_what_runs_the_engine_is_not_named_first_and_after_a_sign_to_people_not_at_all(small, until, tier):
    end = end_of(told(small, running_repairs=["replace-fuse"], until=until, tier=tier)).step
    if until is EngineOff.REPAIRED or tier is Tier.PEOPLE:
        assert end == OFF
    else:
        assert end == TryInOrder((), danger=True, then=("replace-fuse",), engine_off=until)


def test_a_look_that_runs_the_engine_counts_as_well(small):
    """The look before the fuse is the voltage; if the engine runs for it, it is not made first either."""
    end = end_of(told(small, running_checks=["volts"], until=EngineOff.REPAIRED)).step
    assert end == OFF


def test_what_does_not_run_it_stands_first(small):
    end = end_of(told(small, until=EngineOff.REPAIRED)).step
    assert end == TryInOrder(("replace-fuse",), danger=True, engine_off=EngineOff.REPAIRED)


def test_paper_asks_nothing_more_where_the_engine_stays_off(small):
    for until in EngineOff:
        assert not end_of(told(small, until=until)).exits


def test_an_abnormal_result_without_red_flag_is_an_ordinary_answer(small):
    end = end_of(told(small, red=False))
    assert end.step not in (OFF,)
    assert not getattr(end.step, "danger", False)


def test_of_one_sign_there_are_never_two_or_more(small):
    with pytest.raises(StopIteration):
        end_of(small, SEVERAL)


def test_two_signs_at_once_keep_off_what_one_of_them_keeps_off():
    """Smoke, raw fuel: each keeps the engine off until all is looked at that can be."""
    knowledge = load_knowledge()
    graph = compile_decision_graph(knowledge, "intake-cleaning", "rough-idle", Audience.BAY, limits=Limits(boxes=2))
    first = graph.boxes[0]
    assert len(first.step.checks) > 1
    assert all(knowledge.checks[name].engine_off for name in first.step.checks)
    end = next(graph.boxes[way.target - 1].step for way in first.exits if SEVERAL in way.answers)
    assert end == OFF or end.engine_off is not None


@pytest.mark.parametrize(("service", "complaint"), [("intake-cleaning", "rough-idle"), ("battery", "hard-start")])
def test_no_shipped_danger_end_starts_the_engine_first(service, complaint):
    """Read from the knowledge itself, apart from the code that makes the ends."""
    from comeback.engine.charts.looks import Looks

    knowledge = load_knowledge()
    limits = Limits(boxes=4)
    graph = compile_decision_graph(knowledge, service, complaint, Audience.BAY, limits=limits)
    looks = Looks(knowledge, service, complaint)
    ends = [box.step for box in graph.boxes if isinstance(box.step, TryInOrder) and box.step.engine_off]
    for end in ends:
        for name in end.repairs:
            look = looks.before(name)
            assert not knowledge.repairs[name].runs_engine
            assert look is None or not look[0].runs_engine
        assert not (end.then and end.engine_off is EngineOff.REPAIRED)


def test_what_is_grave_behind_a_sign_is_named_first(knowledge):
    """A gasoline smell after the fuel line was opened: its joints before all that is likelier and harmless."""
    walk = begin(knowledge, "intake-cleaning", "rough-idle", Audience.BAY)
    results = {check: knowledge.checks[check].expected for check in walk.step.checks} | {"raw-fuel": "smell"}
    walk = walk.imagine(walk.answers(results, "", ""))
    there = outcomes(walk, Looks(knowledge, "intake-cleaning", "rough-idle"))
    end, _ = said(there, warned(walk.view, [("raw-fuel", 1)]), 4)
    assert set(end.repairs[:2]) == {"latch-fuel-connector", "seal-rail-cap"}
