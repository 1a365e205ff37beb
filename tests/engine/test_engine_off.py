"""While a danger sign keeps the engine off, nothing that runs it comes before what can be looked at without.

What must hold is common practice in workshops, no source: no engine is run over a fuel leak, without oil
pressure or with a knock before the cause has been looked for with the engine off.
"""

import pytest

from comeback.engine.case import facts
from comeback.engine.choosing.next_check import best_check
from comeback.engine.choosing.valuation import value_options
from comeback.engine.walk import steps
from comeback.engine.walk.bay_step import STAYS_OFF
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience, EngineOff

RUNNING = ("rpm", "idle", "blip", "start the engine", "crank")


def runs(check):
    return any(word in f"{check.condition} {check.do}".lower() for word in RUNNING)


@pytest.fixture(scope="module")
def marked(knowledge):
    """The shipped knowledge with marks of this test's own, so that it does not hang on the files'."""
    off = {"raw-fuel": {"smell": EngineOff.LOOKED}, "oil-lamp": {"stays": EngineOff.REPAIRED}}
    checks = {
        name: check.model_copy(update={"runs_engine": runs(check), "engine_off": off.get(name, {})})
        for name, check in knowledge.checks.items()
    }
    return knowledge.model_copy(update={"checks": checks, "version": f"{knowledge.version}-marked"})


def answered(walk, told):
    """One step on: what is told, everything else as expected."""
    known = walk.knowledge.checks
    match walk.step:
        case steps.DangerScreen(checks) | steps.ReadPanel(checks=checks) | steps.LookRound(checks):
            results = {check: told.get(check, known[check].expected) for check in checks}
        case steps.MakeCheck() | steps.ProveRepair() | steps.ProofRound():
            results = {check: told.get(check, known[check].expected) for check in steps.checks_of(walk.step)}
        case steps.ChooseCondition(feature, values):
            return walk.imagine(facts.ConditionNamed(feature=feature, value=values[0]))
        case steps.DoRepair(repair):
            return walk.imagine(facts.Repaired(repair=repair))
        case _:
            return None
    again = getattr(walk.step, "again", None) is not None
    return walk.imagine(walk.answers(results, "", "", again=again))


def taken(knowledge, complaint, told, most=40):
    """The steps of a bay walk with the walks that asked for them."""
    walk = begin_walk(knowledge, "intake-cleaning", complaint, Audience.BAY)
    for _ in range(most):
        yield walk, walk.step
        walk = answered(walk, told)
        if walk is None:
            return


def _quiet_repairs(walk):
    return [name for name in walk.view.repairs() if not walk.view.runs_engine(name)]


@pytest.mark.parametrize("complaint", ["rough-idle", "hesitation", "fuel-smell"])
def test_with_a_fuel_smell_what_runs_the_engine_comes_last_and_says_so(marked, complaint):
    for walk, step in taken(marked, complaint, {"raw-fuel": "smell"}):
        if not walk.view.engine_off or isinstance(step, steps.DoRepair):
            continue
        running = any(marked.checks[check].runs_engine for check in steps.checks_of(step))
        assert running == bool(getattr(step, "despite", ())), step
        if running and isinstance(step, steps.MakeCheck | steps.LookRound | steps.ReadPanel):
            s = walk.view
            quiet = [check for check in s.askable() if not marked.checks[check].runs_engine]
            seen = value_options(marked, s.network, s.evidence, quiet, _quiet_repairs(walk), s.standing_set_ups, s.sets)
            assert best_check(seen) is None, f"{step} came before what can be looked at with the engine off"


@pytest.mark.parametrize("complaint", ["rough-idle", "oil-lamp"])
def test_with_the_oil_lamp_lit_the_engine_never_runs_before_a_repair(marked, complaint):
    for walk, step in taken(marked, complaint, {"oil-lamp": "stays"}):
        if walk.case.repairs:
            break
        if "oil-lamp" in walk.view.engine_off and "oil-lamp" not in steps.checks_of(step):
            assert not any(marked.checks[check].runs_engine for check in steps.checks_of(step)), step
    else:
        assert isinstance(step, steps.HandOver)
        assert step.reason == STAYS_OFF


def test_signs_that_need_the_engine_are_looked_for_only_after_those_that_do_not(marked):
    walk = begin_walk(marked, "intake-cleaning", "rough-idle", Audience.BAY)
    first = walk.step.checks
    assert "raw-fuel" in first
    assert not any(marked.checks[check].runs_engine for check in first)
    rest = set(marked.complaints["rough-idle"].red_flags) - set(first)
    assert rest
    calm = answered(walk, {})
    assert set(calm.step.checks) == rest
    assert not isinstance(answered(walk, {"raw-fuel": "smell"}).step, steps.DangerScreen)


def test_a_sign_is_lifted_by_the_repair_of_what_shows_in_it_and_by_no_other(marked):
    walk = begin_walk(marked, "intake-cleaning", "rough-idle", Audience.BAY)
    walk = answered(walk, {"raw-fuel": "smell"})
    assert walk.view.engine_off == {"raw-fuel": EngineOff.LOOKED}
    shows = {cause for cause, entry in marked.causes.items() if "raw-fuel" in entry.shows}
    meant = next(name for name, repair in marked.repairs.items() if shows & set(repair.removes))
    other = next(name for name, repair in marked.repairs.items() if not shows & set(repair.removes))
    assert walk.imagine(facts.Repaired(repair=other)).view.engine_off
    assert not walk.imagine(facts.Repaired(repair=meant)).view.engine_off


def test_signs_that_were_put_off_are_looked_for_at_the_first_start_after_the_repair(marked):
    walk = begin_walk(marked, "intake-cleaning", "rough-idle", Audience.BAY)
    off = {flag for flag in marked.complaints["rough-idle"].red_flags if marked.checks[flag].runs_engine}
    walk = answered(walk, {"raw-fuel": "smell"})
    walk = walk.imagine(facts.Repaired(repair="latch-fuel-connector"))
    assert set(walk.step.checks) == off
    assert isinstance(answered(walk, {}).step, steps.ProofRound)


def test_on_the_phone_nothing_is_held_back_by_it(marked):
    walk = begin_walk(marked, "intake-cleaning", "rough-idle", Audience.PHONE)
    assert set(walk.step.checks) == set(marked.complaints["rough-idle"].red_flags)


def test_what_mends_a_leak_may_run_the_engine_once_it_is_mended(knowledge):
    """Priming and the first start follow the repair: they do not keep it from being done."""
    walk = answered(begin_walk(knowledge, "intake-cleaning", "rough-idle", Audience.BAY), {"raw-fuel": "smell"})
    assert walk.view.engine_off
    assert not walk.view.runs_engine("latch-fuel-connector")
    assert walk.view.runs_engine("warm-road-trip")  # its own steps hold the revs and drive
    other = next(
        repair.id
        for repair in knowledge.repairs.values()
        if not repair.runs_engine
        and any(knowledge.procedures[name].runs_engine for name in repair.procedures)
        and not any("raw-fuel" in knowledge.causes[cause].shows for cause in repair.removes)
    )
    assert walk.view.runs_engine(other)


def test_reversed_battery_cables_are_looked_for_before_anything_is_switched_on(knowledge):
    walk = begin_walk(knowledge, "battery", "no-crank", Audience.BAY)
    assert "bat-poles" in walk.step.checks
    signs = {sign: knowledge.checks[sign].expected for sign in walk.step.checks}
    unsure = walk.imagine(walk.answers({**signs, "bat-poles": None}, "", ""))
    assert unsure.step.checks == ("bat-poles",)
    assert unsure.step.retry
    swapped = walk.imagine(walk.answers({**signs, "bat-poles": "swapped"}, "", ""))
    assert "bat-poles" in swapped.view.engine_off


@pytest.mark.parametrize("audience", ["phone", "bay"])
def test_of_an_engine_that_does_not_start_no_sign_of_a_running_one_is_asked(knowledge, audience):
    walk = begin_walk(knowledge, "oil-service", "", Audience(audience))
    walk = walk.imagine(facts.ComplaintNamed("no-start-cranks", also=("knocking", "stalls")))
    assert not {"metal-knock", "cabin-fumes", "lamp-flashing", "oil-lamp", "revs-hang"} & {*walk.step.checks}
