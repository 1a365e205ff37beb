"""A trouble code that no family lists never proves that a family has no code.

Which system a code belongs to: SAE J2012 / ISO 15031-6 by the third character, from memory.
"""

import pytest

from comeback.engine.readout.findings.code_findings import family_results, without_family
from comeback.engine.readout.findings.interpretation import interpret
from comeback.engine.readout.findings.judging import Surroundings
from comeback.engine.readout.protocol.trouble_codes import area, may_mean
from comeback.engine.readout.text.typed_data import read_typed

POWERTRAIN = [f"P{number:04X}" for number in range(0x4000)]  # P0000 to P3FFF


@pytest.fixture(scope="module")
def hundreds(knowledge):
    """Family -> first three characters of the codes that it lists."""
    checks = (check for check in knowledge.checks.values() if check.codes)
    return {check.id: {code[:3] for codes in check.codes.values() for code in codes} for check in checks}


def test_no_code_that_is_not_listed_clears_a_family_of_its_hundred(knowledge, hundreds):
    strange = without_family(knowledge, POWERTRAIN)
    assert len(strange) > 15000
    for code in strange:
        results = family_results(knowledge, (code,))
        assert {name for name in hundreds if code[:3] in hundreds[name] and results[name] is not None} == set(), code


def test_a_readout_of_an_unknown_code_concludes_no_absence_for_its_system(knowledge, hundreds):
    """P0399 and P2399 are of the ignition system, P1399 is a maker's code of it; P3FFF may be anything."""
    for word, systems in (("P0399", ("P03",)), ("P2399", ("P03",)), ("P1399", ("P03",)), ("P3FFF", ("P00", "P04"))):
        found = interpret(read_typed([word]).data, knowledge, Surroundings())
        told = {told.check for told in found.findings}
        assert not [name for name, own in hundreds.items() if own & set(systems) and name in told]
        assert any(f"{word} is not known here" in remark for remark in found.remarks)


def test_a_fuel_pressure_code_of_another_hundred_leaves_the_fuel_family_open(knowledge):
    """P2293, fuel pressure regulator 2 (SAE J2012, from memory): its hundred holds no code of the fuel family."""
    assert "P2293" in without_family(knowledge, ["P2293"])
    assert family_results(knowledge, ["P2293"])["codes-fuel"] is None


def test_a_known_code_without_a_family_opens_what_it_may_belong_to(knowledge):
    """P0170 says that trims are out of limits, not to which side."""
    results = family_results(knowledge, ["P0170"])
    assert results["codes-lean"] is None
    assert results["codes-rich"] is None
    assert results["codes-misfire"] == "none"


def test_families_of_other_systems_stay_without_code(knowledge):
    results = family_results(knowledge, ["P0399", "P0171"])
    assert (results["codes-lean"], results["codes-evap"], results["codes-coil"]) == ("lean", "none", None)


@pytest.mark.parametrize("code", ["B1234", "C0035"])
def test_codes_of_body_and_chassis_leave_the_engine_families_alone(knowledge, code):
    assert None not in family_results(knowledge, [code]).values()


def test_systems_by_third_character():
    assert (area("P0205"), area("P2270")) == ("fuel and air metering, injectors", "fuel and air metering")
    assert "injector" not in area("P2234")
    assert may_mean("P2270", "P0171")
    assert not may_mean("P0A80", "P0171")
