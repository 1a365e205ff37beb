"""Well-known general networks, carried exactly by fixing roots (see roots.py).

None of the three is noisy-OR in its own tables: the alarm has .95 for both causes where noisy-OR gives .957,
Martin's train .8 where it gives .6, dyspnoea .9 where it gives .933.
"""

from itertools import product

import pytest

from support import roots

EITHER_WAY = (True, False)
COMPUTED = 1e-9  # own enumeration, ten digits


def weight(chance, value):
    return chance if value else 1 - chance


# Russell & Norvig, AIMA 3rd ed., Fig. 14.2; story from Pearl 1988. Inputs read; the answers .284 and
# .000628 are from memory, confirmed by computation. Fixed: burglary, earthquake. The one cause is the
# alarm.
ALARM = {(True, True): 0.95, (True, False): 0.94, (False, True): 0.29, (False, False): 0.001}
CALLS = {"john": (0.05, 0.9), "mary": (0.01, 0.7)}


def burglary(seen):
    return roots.mix(
        {
            (b, e): (weight(0.001, b) * weight(0.002, e), *roots.one_cause(ALARM[b, e], CALLS, seen))
            for b, e in product(EITHER_WAY, repeat=2)
        }
    )


def test_two_calls_make_a_burglary_likely_but_not_certain():
    both = burglary({"john": True, "mary": True})
    assert both.root(0) == pytest.approx(0.284, abs=5e-4)
    assert both.root(0) == pytest.approx(0.2841718353643929, abs=COMPUTED)
    assert both.cause == pytest.approx(0.7606920388631075, abs=COMPUTED)
    assert burglary({"john": True}).root(0) == pytest.approx(0.01628372994676993, abs=COMPUTED)


def test_joint_chance_of_a_false_alarm_with_both_calls():
    quiet = (False, False)
    case = roots.one_cause(ALARM[quiet], CALLS, {"john": True, "mary": True})
    only = roots.mix({quiet: (0.999 * 0.998, *case)})
    assert only.evidence * only.cause == pytest.approx(0.000628, abs=5e-7)


# Fenton, web tutorial "The notion of explaining away evidence", Queen Mary University of London: read.
# Norman's table (.8/.1) is from memory, confirmed by computation: it gives the page's .17. The page
# truncates (.518 -> .51).
TRUNCATED = 0.01
MARTIN = {True: (0.6, 0.8), False: (0.5, 0.5)}  # by strike: (awake, overslept)
NORMAN = {True: (0.8, 0.8), False: (0.1, 0.1)}  # sleeping does not bear on Norman


def trains(seen):
    """Fixed: the strike. The one cause is that Martin overslept."""
    return roots.mix(
        {
            (s,): (weight(0.1, s), *roots.one_cause(0.4, {"martin": MARTIN[s], "norman": NORMAN[s]}, seen))
            for s in EITHER_WAY
        }
    )


def test_second_late_colleague_points_to_the_strike():
    one, two = trains({"martin": True}), trains({"martin": True, "norman": True})
    assert one.evidence == pytest.approx(0.51, abs=TRUNCATED)
    assert trains({"norman": True}).evidence == pytest.approx(0.17, abs=1e-12)
    assert (one.root(0), one.cause) == pytest.approx((0.13, 0.41), abs=TRUNCATED)
    assert (two.root(0), two.cause) == pytest.approx((0.54, 0.44), abs=TRUNCATED)


# Lauritzen & Spiegelhalter 1988, JRSS B 50(2):157-224 (paper not opened). Tables, priors and the chance
# of the evidence read in the test file test-misc.R of the R package gRain, posteriors in course documents
# quoting its output. Fixed: smoking, lung cancer, bronchitis. The one cause is tuberculosis.
LUNG = {True: 0.1, False: 0.01}
BRONCHITIS = {True: 0.6, False: 0.3}
# By bronchitis, then by tuberculosis or cancer.
DYSPNOEA = {(True, True): 0.9, (True, False): 0.8, (False, True): 0.7, (False, False): 0.1}
XRAY = {True: 0.98, False: 0.05}  # by either
SMOKER, CANCER, CHEST = 0, 1, 2


def asia(seen, tuberculosis, smokers=EITHER_WAY):
    """The clinic; `smokers`: the values of smoking that are still possible."""
    cases = {}
    for s, lung, bronchitis in product(smokers, EITHER_WAY, EITHER_WAY):
        tables = {
            "dyspnoea": (DYSPNOEA[bronchitis, lung], DYSPNOEA[bronchitis, True]),
            "xray": (XRAY[lung], XRAY[True]),
        }
        prior = 0.5 * weight(LUNG[s], lung) * weight(BRONCHITIS[s], bronchitis)
        cases[s, lung, bronchitis] = (prior, *roots.one_cause(tuberculosis, tables, seen))
    return roots.mix(cases)


def test_chest_clinic_before_any_finding():
    anyone = asia({}, 0.01 * 0.05 + 0.99 * 0.01)
    chances = (anyone.cause, anyone.root(CANCER), anyone.root(CHEST))
    assert chances == pytest.approx((0.0104, 0.055, 0.45), abs=1e-12)


def test_chest_clinic_visitor_to_asia_with_dyspnoea():
    visitor = asia({"dyspnoea": True}, 0.05)
    assert visitor.evidence * 0.01 == pytest.approx(0.004501375, abs=1e-12)
    chances = (visitor.root(CANCER), visitor.root(CHEST))
    assert chances == pytest.approx((0.09952515, 0.8114021), abs=5e-8)
    assert visitor.cause == pytest.approx(0.0877509649829219, abs=COMPUTED)


def test_chest_clinic_smoking_raises_cancer_and_bronchitis():
    smoker = asia({"dyspnoea": True}, 0.05, smokers=(True,))
    assert smoker.root(SMOKER) == pytest.approx(1.0)
    chances = (smoker.root(CANCER), smoker.root(CHEST))
    assert chances == pytest.approx((0.1455191, 0.8672582), abs=5e-8)


# Own enumeration of the same tables: x-ray shadow -> (tuberculosis, cancer, bronchitis).
SHADOW = {True: (0.39171172, 0.4442705078, 0.628821776), False: (0.0022486953, 0.002550419, 0.862760773)}


@pytest.mark.parametrize(("shadow", "expected"), SHADOW.items())
def test_chest_clinic_x_ray_tells_the_lungs_from_the_bronchi(shadow, expected):
    seen = asia({"dyspnoea": True, "xray": shadow}, 0.05)
    assert (seen.cause, seen.root(CANCER), seen.root(CHEST)) == pytest.approx(expected, abs=COMPUTED)
