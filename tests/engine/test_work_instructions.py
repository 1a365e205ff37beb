"""Work that ruins an engine if it is done as it stood once: what the shipped instructions say now.

Common practice, no source, where none is named.
"""

import re

from comeback.kb.rules.bearing import steps_of
from comeback.kb.rules.words import DIRECTION, injector_seal_oiled, turned_without_direction


def said(entry):
    return " ".join(entry.steps)


def test_an_engine_is_turned_by_hand_only_the_way_it_runs(knowledge):
    """Course notes on timing belts (docslib.org/doc/2080643): never the other way, a belt may jump a tooth."""
    turned = [text for _, text in steps_of(knowledge) if re.search(r"turn the (crankshaft|engine)", text, re.I)]
    assert len(turned) >= 4
    assert all(DIRECTION in text for text in turned)


def test_spark_plugs_are_out_where_the_engine_is_turned_in_a_repair(knowledge):
    """The check for liquid in a cylinder leaves them in: with them out it would not stop."""
    for name in ("dry-cylinders", "repair-plug-thread"):
        text = said(knowledge.repairs[name])
        assert re.search(r"all (spark )?plugs out", text)
        assert re.search(r"all (spark )?plugs out", text).start() < text.index(DIRECTION)
    assert "plugs-out" in knowledge.repairs["retrieve-object"].set_up


def test_a_spark_plug_thread_is_cut_with_the_piston_down_and_both_valves_closed(knowledge):
    """Spark Plug Hole Thread Repair (automedia.com): the tap must not touch the piston. Valves: no source."""
    steps = list(knowledge.repairs["repair-plug-thread"].steps)
    place = next(k for k, text in enumerate(steps) if "below top dead center" in text)
    assert "both valves closed" in steps[place]
    assert place < next(k for k, text in enumerate(steps) if text.startswith("Grease the tap"))


def test_tip_seals_of_direct_injectors_are_new_dry_and_sized_and_port_rings_oiled(knowledge):
    port, direct = knowledge.services["fuel"].steps["fit-injectors"].do.split("Direct injectors:")
    assert "O-rings, oiled" in port
    assert all(word in direct for word in ("new", "dry", "sized", "tool"))
    assert "oil" not in direct
    for name in ("direct-seal-handover", "injector-direct-handover"):
        assert "dry" in str(knowledge.repairs[name].never)


def test_the_rules_find_what_stood_there_once(knowledge):
    old = {
        "repair-plug-thread": "Turn the piston to its top, valves shut.",
        "replace-injector-seals": "Fit new upper and lower seals, oiled lightly.",
    }
    repairs = {
        name: knowledge.repairs[name].model_copy(update={"steps": ("Lift the injectors.", text)})
        for name, text in old.items()
    }
    before = knowledge.model_copy(update={"repairs": {**knowledge.repairs, **repairs}})
    assert [path[1] for path, _ in turned_without_direction(before)] == ["repair-plug-thread"]
    assert [path[1] for path, _ in injector_seal_oiled(before)] == ["replace-injector-seals"]


def test_one_act_has_one_figure_wherever_it_stands(knowledge):
    """A flooded engine that starts is held at 2000 rpm as long in the repair as in the procedure."""
    both = (said(knowledge.repairs["clear-flood"]), said(knowledge.procedures["clear-flood-cranking"]))
    minutes = [re.search(r"2000 rpm for (\d+) min", text)[1] for text in both]
    assert minutes[0] == minutes[1]


def order(entry, *words):
    """True if the steps name these words one after the other."""
    text, place = said(entry), -1
    for word in words:
        place = text.find(word, place + 1)
        if place < 0:
            return False
    return True


def test_nothing_is_cut_near_fuel_before_leaks_are_looked_for_and_lines_shielded(knowledge):
    repair = knowledge.repairs["mend-exhaust-pipe"]
    assert {"fuel-vapour", "hot-parts", "lifting"} <= {*repair.cautions}
    assert order(
        repair, "fuel leaks", "Shield fuel lines", "extinguisher", "Support the pipe", "eye protection", "cut it"
    )


def test_braked_wheels_are_turned_on_the_lift_out_of_park(knowledge):
    repair = knowledge.repairs["release-parking-brake"]
    assert {"car-rolls", "lifting", "hot-parts"} <= {*repair.cautions}
    assert order(repair, "release it all the way", "Shift to N", "raise the car on the lift", "Turn each braked wheel")


def test_an_open_fan_beside_the_airbag_names_its_dangers(knowledge):
    for entry in (knowledge.checks["blower-run"], knowledge.repairs["replace-blower"]):
        assert {"airbag-live", "moving-parts", "hot-parts"} <= {*entry.cautions}


def test_what_is_reached_from_below_is_on_the_lift(knowledge):
    assert "on the lift" in knowledge.checks["speed-seat"].do
    assert "lifting" in knowledge.checks["speed-seat"].cautions
    for name in ("seat-speed-sensor", "latch-speed-plug", "clean-evaporator"):
        assert "hoist" in knowledge.repairs[name].set_up
        assert "lifting" in knowledge.repairs[name].cautions


def test_cleaner_is_sprayed_with_the_ignition_off_and_the_fan_runs_after_it(knowledge):
    assert order(knowledge.repairs["clean-evaporator"], "ignition off", "Spray", "drain", "Run the fan")


def test_the_air_conditioner_is_smelled_with_the_engine_running_and_its_exhaust_led_away(knowledge):
    check = knowledge.checks["vent-smell"]
    assert check.runs_engine
    assert "exhaust-gas" in check.cautions


def test_codes_are_saved_before_a_sensor_comes_off(knowledge):
    for name in ("replace-o2-sensor", "replace-crank-sensor", "replace-wheel-sensor"):
        repair = knowledge.repairs[name]
        assert repair.steps[0].startswith("Save the codes")
        assert order(repair, "Save the codes", "Clear the codes")


def test_a_road_test_of_the_antilock_light_is_marked_and_wants_good_brakes(knowledge):
    repair = knowledge.repairs["replace-wheel-sensor"]
    assert repair.drives
    assert repair.runs_engine
    assert "brake-assist" in repair.cautions
    assert order(repair, "Drive above 20 mph", "firm pedal", "red brake light off")


def test_a_caller_hears_the_danger_of_what_is_driven_on(knowledge):
    for name in ("muffler-rusted", "exhaust-leak"):
        assert all(word in knowledge.causes[name].tell for word in ("windows open", "not let it idle", "get out"))
    assert "coolant drops" in knowledge.causes["steam-in-the-cold"].tell
    assert "windshield stays clear" in knowledge.causes["blower-worn"].tell
    assert "red brake light" in knowledge.causes["wheel-sensor-worn"].tell
    assert "no harm" not in knowledge.causes["washer-fluid-smell"].tell
    assert order(knowledge.repairs["rinse-cowl"], "coolant level", "Rinse")


def test_a_caller_with_a_worn_parking_brake_is_not_made_to_move_the_car(knowledge):
    tell = knowledge.causes["parking-brake-worn"].tell
    assert "block the wheels" in tell
    assert "level ground" not in tell
