"""What a service has just renewed is not called worn; the new part may be faulty. Common practice, no source."""

import pytest

from comeback.engine.belief.network import build_network
from comeback.engine.case import facts
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience


def after(knowledge, service, complaint, **findings):
    """The bay's walk after a service, with findings."""
    walk = open_walk(knowledge, Audience.BAY)
    walk = walk.imagine(facts.ServiceNamed(service=service))
    walk = walk.imagine(facts.ComplaintNamed(complaint=complaint))
    return walk.imagine(walk.answers({check.replace("_", "-"): found for check, found in findings.items()}, "", ""))


@pytest.mark.parametrize(
    ("service", "complaint", "findings", "worn", "new"),
    [
        ("plugs-coils", "rough-idle", {"codes_misfire": "one"}, "plugs-worn", "spk-plug-cracked"),
        ("plugs-coils", "rough-idle", {"coil_swap": "follows"}, "coil-weak", "spk-coil-faulty"),
        ("battery", "no-crank", {"crank_volts": "low", "bat_label": "fits"}, "weak-battery", "bat-faulty"),
        ("coolant-change", "slow-warm-up", {}, "thermostat-open", "cool-thermostat-stuck-open"),
        ("pcv-evap", "hard-start-after-filling", {"purge_vacuum": "vacuum"}, "purge-stuck-open", "purge-valve-faulty"),
    ],
)
def test_a_part_renewed_by_this_service_is_not_worn_but_may_be_faulty(
    knowledge, service, complaint, findings, worn, new
):
    names = {check.replace("_", "-"): result for check, result in findings.items()}
    assert all(result in knowledge.checks[check].results for check, result in names.items())
    suspects = dict(after(knowledge, service, complaint, **findings).view.repair_candidates(0.01))
    assert worn not in suspects
    assert new in suspects
    assert worn in dict(after(knowledge, "oil-service", complaint, **findings).view.repair_candidates(0.0001))


def test_while_nobody_knows_which_service_was_done_worn_parts_stay_suspects(knowledge):
    every = tuple(knowledge.services)
    assert "weak-battery" in build_network(knowledge, every, one_of=True).causes
    assert "weak-battery" not in build_network(knowledge, ("battery", "oil-service")).causes


def test_nobody_is_told_as_a_fact_that_it_is_not_from_the_service(knowledge):
    for cause in knowledge.causes.values():
        assert "not from the service" not in cause.tell, cause.id
    for cause in knowledge.causes.values():
        if cause.service and cause.id.endswith("faulty"):
            assert not {"worn", "old", "age"} & set(cause.tell.lower().split()), cause.id
