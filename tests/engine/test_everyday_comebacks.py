"""Comebacks that every shop sees: found by a look, repaired first time, and told apart. Common practice, no source."""

import pytest

from comeback.engine.case import facts
from comeback.engine.walk import steps
from comeback.engine.walk.walk import begin_walk
from comeback.kb.vocabulary import Audience, Disposition
from support.own_comebacks import OwnComeback, play

CARS = {
    "bat-main-fuse-cracked": (
        "battery", "battery-lamp",
        {"battery-lamp": "stays", "charge-volts": "low", "main-fuse": "open"},
    ),
    "hood-held-up": ("air-filter", "hood-loose", {"hood-sits": "up", "hood-shut": "stays-up"}),
    "oil-ring-groove": (
        "oil-service", "oil-leak",
        {"drip-kind": "oil", "wet-ground": "wet", "oil-spot": "large", "dipstick": "low", "filter-seat": "ring-groove"},
    ),
    "oil-level-kept": ("oil-service", "oil-level-light", {"oil-level-lamp": "low", "oil-level-data": "old-value"}),
    "bat-airbag-voltage": ("battery", "airbag-light", {"airbag-lamp": "stays", "airbag-codes": "low-voltage"}),
    "bat-device-drains": (
        "battery", "no-crank",
        {"start": "no-crank", "dash-at-start": "dim", "flat-after": "after-night", "plugged-in": "found"},
    ),
    "spk-coil-bolt": (
        "plugs-coils", "rough-idle",
        {"idle-shake": "shakes", "misfire-count": "one-cylinder", "coil-mounts": "bolt-missing"},
    ),
    "cool-level-plug-off": ("coolant-change", "coolant-lamp", {"coolant-lamp": "lit-on", "level-plug": "off"}),
    "tb-new-not-adapted": (
        "throttle-off", "limp-home",
        {"gas-pedal-limp": "capped", "codes-throttle": "learn", "throttle-adapted": "not-learned"},
    ),
    "belt-off": (
        "coolant-change", "battery-lamp",
        {"battery-lamp": "stays", "heat-gauge": "hot", "belt-look": "off", "charge-volts": "low"},
    ),
    "alternator-plug-old": (
        "oil-service", "battery-lamp",
        {"battery-lamp": "stays", "charge-volts": "low", "alternator-look": "plug-off", "codes-volts": "stored"},
    ),
    "alt-plug-off": (
        "belt", "battery-lamp",
        {"belt-parts": "alternator", "battery-lamp": "stays", "charge-volts": "low", "alternator-look": "plug-off"},
    ),
    "charging-weak": (
        "oil-service", "battery-lamp",
        {"battery-lamp": "stays", "charge-volts": "low", "charge-ripple": "ripple", "codes-volts": "stored"},
    ),
    "spk-boot-torn": (
        "plugs-coils", "rough-idle",
        {
            "idle-shake": "shakes", "engine-lamp": "lit-on", "codes-misfire": "one",
            "misfire-count": "one-cylinder", "coil-out-look": "torn",
        },
    ),
    "weak-battery": (
        "oil-service", "no-crank",
        {"start": "no-crank", "dash-at-start": "dim", "battery-rest": "low", "crank-volts": "low", "load-test": "low"},
    ),
    "wheel-sensor-worn": ("air-filter", "skid-lamp", {"skid-lamp": "lit-on", "codes-brake": "stored"}),
    "sen-o2-plug-off": (
        "sensors", "engine-light",
        {"sensor-kind": "o2", "engine-lamp": "lit-on", "codes-o2": "stored", "o2-wire": "unplugged"},
    ),
    "sen-speed-gap": (
        "sensors", "stalls-driving",
        {"sensor-kind": "speed", "stalls": "while-driving", "codes-speed": "stored", "speed-seat": "loose"},
    ),
    "belt-tensioner-weak": (
        "belt", "belt-noise",
        {"noise": "squeal", "worst-when": "first-minutes", "tensioner-look": "at-stop", "tensioner-idle": "jumps"},
    ),
    "af-cabin-filter": (
        "air-filter", "weak-fan",
        {"fan-air": "weak", "cabin-filter-look": "wrong"},
    ),
    "evaporator-musty": ("oil-service", "cabin-odor", {"vent-smell": "musty"}),
    "fuel-pump-faulty": (
        "fuel", "tank-whine",
        {"tank-sound": "whines", "start": "long-crank", "rail-hold": "falls", "prime-pressure": "low"},
    ),
    "muffler-rusted": ("oil-service", "louder", {"loudness": "louder", "exhaust-below": "hole"}),
}  # fmt: skip
MOST_SCREENS = 6
"""Screens in the bay; a full walk takes about seven on average."""


def played(knowledge, cause):
    service, complaint, told = CARS[cause]
    mapped = {"service": service, "complaint": complaint, "cause": cause, "facts": told}
    return play(knowledge, OwnComeback(cause, "", "soon", dangerous=False, source="common practice", mapped=mapped))


@pytest.mark.parametrize("cause", CARS)
def test_the_first_repair_fixes_it_after_a_few_screens(knowledge, cause):
    one = played(knowledge, cause)
    assert one.fixed
    assert one.first_right
    assert one.screens <= MOST_SCREENS


def made_before_the_repair(knowledge, cause):
    """Checks made in the bay by the car of this cause before its first repair, in order."""
    service, complaint, told = CARS[cause]
    walk, made = begin_walk(knowledge, service, complaint, Audience.BAY), []
    while not isinstance(walk.step, steps.DoRepair):
        match walk.step:
            case steps.ChooseCondition(feature=feature, values=values):
                walk = walk.imagine(facts.ConditionNamed(feature=feature, value=values[0]))
                continue
            case steps.MakeCheck(check=check):
                checks = (check,)
            case step:
                checks = step.checks
        made += checks
        walk = walk.imagine(walk.answers({c: told.get(c, knowledge.checks[c].expected) for c in checks}, "", ""))
    return made


def test_charging_voltage_and_cables_come_before_an_alternator(knowledge):
    made = made_before_the_repair(knowledge, "charging-weak")
    assert next(c for c in made if c in ("charge-volts", "charge-ripple")) == "charge-volts"
    assert {"belt-look", "alternator-look"} <= set(made)


def test_the_well_and_the_boot_are_seen_before_a_coil_is_swapped(knowledge):
    made = made_before_the_repair(knowledge, "spk-boot-torn")
    assert "coil-out-look" in made
    assert "coil-swap" not in made


def test_the_battery_is_measured_before_it_is_replaced(knowledge):
    assert "battery-rest" in made_before_the_repair(knowledge, "weak-battery")[:8]


def test_air_in_the_line_is_not_the_reason_why_it_cranks_long_every_morning(knowledge):
    """Air is out after the first start; pressure lost overnight comes back each morning. Common practice, no source."""
    told = {"start": "long-crank", "long-crank-when": "after-sitting", "rail-hold": "falls"}
    mapped = {"service": "fuel", "complaint": "hard-start", "cause": "fuel-pump-faulty", "facts": told}
    one = play(knowledge, OwnComeback("", "", "soon", dangerous=False, source="common practice", mapped=mapped))
    assert one.fixed
    assert one.first_right


def test_a_battery_light_after_alternator_work_may_drive_in(knowledge):
    assert played(knowledge, "alt-plug-off").advice is Disposition.COME_IN


@pytest.mark.parametrize("cause", ["hood-held-up", "oil-ring-groove", "belt-off", "bat-main-fuse-cracked"])
def test_what_may_not_be_driven_is_towed(knowledge, cause):
    assert played(knowledge, cause).advice >= Disposition.TOW


def test_a_hood_that_sits_up_forbids_driving(knowledge):
    walk = begin_walk(knowledge, "air-filter", "hood-loose", Audience.PHONE)
    walk = walk.imagine(walk.answers({"hood-smoke": "none"}, "", ""))
    assert walk.view.ruling.advice >= Disposition.TOW


def test_slips_that_ruin_an_engine_are_rarer_than_drips(knowledge):
    ruin = ("oil-plug-loose", "oil-filter-loose", "oil-thread-stripped", "oil-two-rings", "oil-not-filled")
    assert sum(knowledge.causes[name].frequency for name in ruin) < knowledge.causes["oil-washer-old"].frequency
    assert knowledge.causes["oil-not-filled"].frequency <= 0.1


@pytest.mark.parametrize("service", ["oil-service", "coolant-change"])
def test_a_joint_that_opens_leaves_more_on_the_ground_than_one_that_seeps(knowledge, service):
    opens, seeps = {
        "oil-service": ("oil-two-rings", "oil-washer-old"),
        "coolant-change": ("cool-clamp-loose", "cool-drain-open"),
    }[service]
    spot = "oil-spot" if service == "oil-service" else "coolant-spot"
    large = knowledge.checks[spot].names.index("large")
    assert knowledge.chances(opens, spot)[large] > 3 * knowledge.chances(seeps, spot)[large]


@pytest.mark.parametrize(("complaint", "advice"), [("milky-oil", Disposition.TOW), ("cap-foam", Disposition.COME_IN)])
def test_coolant_in_the_oil_is_towed_and_foam_under_the_cap_alone_is_looked_at(knowledge, complaint, advice):
    """Foam under the cap with a clear dipstick is mostly water from short trips; common practice, no source."""
    view = begin_walk(knowledge, "oil-service", complaint, Audience.PHONE).view
    assert view.advice is advice
