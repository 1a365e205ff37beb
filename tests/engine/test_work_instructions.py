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
