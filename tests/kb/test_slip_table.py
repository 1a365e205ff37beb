"""The knowledge answers the slip table: each row's words, findings and danger lead where the row says.

Source: 59 rows of service slips - customer's words, measurement, codes, whether the car may be
driven. They are common practice of the trade; there is no published source. `slips.yaml` retells
them in our own words, with an entry more where one row names several slips.
"""

from pathlib import Path

import pytest
import yaml

from comeback.cli.words.passed import parts_said
from comeback.cli.words.search import rank
from comeback.cli.words.sentence import find_parts
from comeback.engine.case import facts
from comeback.engine.walk.disposition import red_flag_floor
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience, Disposition

SLIPS = yaml.safe_load((Path(__file__).parent / "slips.yaml").read_text())
ROWS = {
    "INT": 19, "THR": 3, "AIR": 3, "SPK": 5, "BAT": 4, "OIL": 6,
    "FUE": 5, "PCV": 1, "EVP": 3, "COO": 4, "SEN": 3, "ALL": 3,
}  # fmt: skip
LEAST = {  # a row's verdict -> the mildest advice that it allows; the entry may ask for more
    "yes": Disposition.WATCH, "yes if clearing": Disposition.WATCH, "depends": Disposition.WATCH,
    "limited": Disposition.BOOK, "no": Disposition.TOW, "no start": Disposition.TOW, "stop": Disposition.TOW,
    "stop if lamp": Disposition.BOOK, "stop if hot": Disposition.BOOK, "stop if smoke": Disposition.BOOK,
}  # fmt: skip


def open_case(knowledge, slip, audience):
    """The walk after service, complaint, car, and everything that the caller answers."""
    walk = open_walk(knowledge, audience)
    walk = walk.imagine(facts.ServiceNamed(service=slip["service"]))
    walk = walk.imagine(facts.ComplaintNamed(complaint=slip["complaint"], words=slip["words"]))
    for feature, value in slip.get("car", {}).items():
        walk = walk.imagine(facts.ConditionNamed(feature=feature, value=value))
    complaint = knowledge.complaints[slip["complaint"]]
    flags = [flag for flag in complaint.red_flags if flag not in complaint.reports]
    asked = [knowledge.checks[flag] for flag in flags if walk.view.makes_sense(knowledge.checks[flag])]
    return walk.imagine(walk.answers({check.id: check.expected for check in asked} | slip["phone"], "", ""))


def read_codes(knowledge, codes):
    """The result of every check of the code panel when exactly these codes are read."""
    results = {}
    for check in knowledge.checks.values():
        if check.codes:
            seen = [name for name, meant in check.codes.items() if set(meant) & set(codes)]
            results[check.id] = max(seen, key=check.names.index, default=check.expected)
    return results


def test_every_row_of_the_table_is_here():
    named = {name.split()[0] for name in SLIPS}
    assert named == {f"{group}-{number:02}" for group, count in ROWS.items() for number in range(1, count + 1)}


def test_every_code_of_the_rows_is_known(knowledge):
    meant = {code for check in knowledge.checks.values() for codes in check.codes.values() for code in codes}
    named = {code for slip in SLIPS.values() for code in slip.get("codes", ())}
    assert named <= meant & set(knowledge.codes)


@pytest.mark.parametrize("name", SLIPS)
def test_words_findings_and_danger_lead_where_the_row_says(knowledge, name):
    slip = SLIPS[name]
    fitting = {c.id: (c.name, *c.words) for c in knowledge.complaints.values() if c.after((slip["service"],))}
    by_parts = find_parts(knowledge, parts_said(slip["words"]), tuple(fitting)).near
    assert slip["complaint"] in {*rank(slip["words"], fitting)[:3], *by_parts[:3]}

    assert all(Audience.PHONE in knowledge.checks[check].audience for check in slip["phone"])
    call = open_case(knowledge, slip, Audience.PHONE).view
    least, most = Disposition.of(slip["at_least"]), Disposition.of(slip.get("at_most", "get-clear"))
    advice, _ = red_flag_floor(knowledge, call.results)
    if advice < least or "at_most" in slip:  # a floor that is urgent enough stands whatever the losses say
        advice = call.ruling.advice
    assert LEAST[slip["driving"]] <= least <= advice <= most

    findings = slip["bay"] | (read_codes(knowledge, slip["codes"]) if "codes" in slip else {})
    bay = open_case(knowledge, slip, Audience.BAY)
    for check in findings:
        assert Audience.BAY in knowledge.checks[check].audience
        assert bay.view.makes_sense(knowledge.checks[check])
    bay = bay.imagine(bay.answers(findings, "", ""))
    seen = {(s.check, knowledge.checks[s.check].names[s.result]) for s in bay.view.evidence.sightings}
    assert set(findings.items()) <= seen
    first = [cause for cause, _ in bay.view.repair_candidates(0.0)[:3]]
    assert set(slip["causes"]) & set(first), first
