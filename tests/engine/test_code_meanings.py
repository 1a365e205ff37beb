"""Trouble codes: what is listed, in which family, and that a twin of a code means the same.

Titles: SAE J2012 / ISO 15031-6, compared with an open list of them; the standards were not read.
"""

import pytest

from comeback.engine.readout.findings.code_findings import family_results
from comeback.engine.readout.protocol.trouble_codes import area, lamp_timing
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience

TWINS = [  # the same circuit or state of another cylinder or bank
    [f"P030{n}" for n in range(1, 9)],
    [f"P020{n}" for n in range(1, 9)],
    [f"P035{n}" for n in range(1, 9)],
    [f"P{n}" for n in range(2300, 2322, 3)],
    ["P0011", "P0021"], ["P0012", "P0022"], ["P0014", "P0024"], ["P0015", "P0025"],
    ["P0016", "P0018"], ["P0017", "P0019"],
    ["P0325", "P0330"], ["P0327", "P0332"], ["P0328", "P0333"],
    ["P0340", "P0345", "P0365", "P0390"], ["P0342", "P0347"], ["P0343", "P0348"],
    ["P0131", "P0151"], ["P0132", "P0152"], ["P0133", "P0153"], ["P0134", "P0154"], ["P0135", "P0155"],
    ["P0137", "P0157"], ["P0141", "P0161"], ["P2195", "P2197"], ["P2196", "P2198"],
    ["P0171", "P0174"], ["P0172", "P0175"], ["P2191", "P2193"], ["P2192", "P2194"], ["P0420", "P0430"],
    ["P0642", "P0652", "P0698"], ["P0638", "P0639"], ["P0480", "P0481", "P0482"],
]  # fmt: skip
MEANINGS = {
    "P0355": "coil E", "P0208": "cylinder 8", "P0021": "bank 2", "P0345": "Camshaft sensor A", "P0330": "Knock sensor",
    "P0161": "bank 2 sensor 2", "P2198": "rich", "P0018": "camshaft A", "P0234": "Boost too high", "P0405": "EGR",
    "P0458": "purge valve", "P0450": "Tank pressure", "P0462": "Fuel level", "P0126": "too cool", "P0528": "Fan speed",
    "P0622": "Alternator", "P0633": "Immobilizer", "P0653": "voltage B", "P0685": "Main relay", "P2181": "Cooling",
    "P2301": "coil A", "P2610": "timer", "U0131": "steering", "U0151": "airbag", "P0315": "not learned",
}  # fmt: skip


def family_of(knowledge, code):
    return {name: r for name, r in family_results(knowledge, [code]).items() if r not in (None, "none")}


@pytest.mark.parametrize("twins", TWINS, ids=lambda twins: twins[0])
def test_a_twin_is_listed_and_counts_as_the_same(knowledge, twins):
    assert all(code in knowledge.codes for code in twins)
    families = [family_of(knowledge, code) for code in twins]
    assert families[0]
    assert all(family == families[0] for family in families)


@pytest.mark.parametrize(("code", "words"), MEANINGS.items())
def test_meaning_of_a_standard_code(knowledge, code, words):
    assert words.lower() in knowledge.codes[code].meaning.lower()


def test_every_code_of_a_family_has_its_meaning_and_no_code_counts_twice(knowledge):
    listed = [code for check in knowledge.checks.values() for codes in check.codes.values() for code in codes]
    assert len(listed) == len(set(listed))
    assert set(listed) <= set(knowledge.codes)


@pytest.mark.parametrize(
    ("code", "result"),
    [
        ("P0505", {"codes-idle": "control"}),  # idle control system: neither low (P0506) nor high (P0507)
        ("P0506", {"codes-idle": "low"}),
        ("P0507", {"codes-idle": "high"}),
        ("P0121", {"codes-throttle": "learn"}),  # range, not circuit
        ("P0221", {"codes-throttle": "learn"}),
        ("P2118", {"codes-throttle": "moves-wrong"}),  # motor current: the plate is hard to move
        ("P0122", {"codes-throttle": "circuit"}),
        ("P0010", {}),  # circuit of the oil control valve: no question of oil
    ],
)
def test_a_code_counts_as_what_its_title_says(knowledge, code, result):
    assert family_of(knowledge, code) == result


@pytest.mark.parametrize("code", ["P0217", "P0218", "P0234", "P2270"])
def test_a_state_of_the_engine_is_no_circuit(code):
    assert "circuit" not in lamp_timing(code)
    assert "injector circuit" not in area(code)


@pytest.mark.parametrize("cylinder", [4, 5, 6, 7, 8])
def test_a_coil_code_beside_its_misfire_leads_to_the_coil_connector_whatever_the_cylinder(knowledge, cylinder):
    """P0304 with P0354 did, P0305 with P0355 named three others (common practice, no source)."""
    walk = begin_walk(knowledge, "plugs-coils", "rough-idle", Audience.BAY)
    codes = [f"P030{cylinder}", f"P035{cylinder}"]
    walk = walk.imagine(walk.answers(family_results(knowledge, codes), "", ""))
    cause, chance = walk.view.repair_candidates(0)[0]
    assert cause == "spk-coil-plug-off"
    assert chance > 0.8
