"""What an overlay must give a reason for: whatever warns less than the knowledge it stands on."""

import pytest

from comeback.kb import KnowledgeError, load_knowledge
from comeback.kb.loader import gather
from support.places import SMALL

REVISED = "revise:\n  {}: {{{}}}\n"
MORE = """\
revise:
  checks.spark.engine_off.yes: {value: until-repaired}
  checks.spark.runs_engine: {value: true}
  checks.spark.drives: {value: true}
  repairs.replace-fuse.never: {value: Never put a larger fuse in.}
  repairs.replace-fuse.cautions: {add: hot-lamp}
  repairs.replace-fuse.level: {value: specialist, was: technician}
  services.lamp-change.steps.screw-in.cautions: {add: hot-lamp}
  set_ups.ladder.cautions: {add: hot-lamp}
"""
"""More warning than before; taking it back warns less."""


@pytest.mark.parametrize(
    ("path", "fields", "words"),
    [
        ("checks.spark.cautions", "drop: hot-lamp", "takes the caution 'hot-lamp' away"),
        ("checks.spark.cautions", "value: [], was: hot-lamp", "takes the caution 'hot-lamp' away"),
        ("complaints.dark.red_flags", "drop: spark", "takes the danger sign 'spark' away"),
        ("causes.fuse-out.drive", "value: come-in, was: tow", "lowers `drive` from tow to come-in"),
        ("checks.spark.red_flag.yes", "value: book, was: get-clear", "'yes' from get-clear down to book"),
        ("checks.spark.red_flag.yes", "value: null, was: get-clear", "'yes' from get-clear away"),
        ("checks.spark.passed", "value: [no]", "lets one more result end the search"),
        ("checks.spark.calm", "value: [no]", "lets one more result make the advice milder"),
        ("services.lamp-change.only_if", "value: {drive: gasoline}", "the car's fuel is not asked"),
        ("checks.spark.tier", "value: look, was: people", "lets other checks come before"),
        ("checks.spark.only_if", "value: {throttle: cable}", "changes when a danger sign is asked for"),
        ("checks.spark.needs.light", "value: lit", "changes when a danger sign is asked for"),
        ("checks.spark.services", "add: lamp-change", "changes when a danger sign is asked for"),
        ("checks.spark.audience", "drop: phone", "takes a danger sign from the questions of the phone"),
        ("checks.spark.say", "value: Is it well?, was: Do you see sparks?", "how a danger sign is asked for"),
        ("checks.spark.results.yes", "value: All is well, was: Sparks", "changes what a danger sign says"),
        ("causes.fuse-out.only_if", "value: {throttle: cable}", "the cars that a dangerous cause is thought of for"),
        ("causes.fuse-out.not_after", "add: lamp-change", "leaves a dangerous cause out after a service"),
        ("cautions.hot-lamp.injury", "value: damage-only, was: minor-or-moderate", "makes CAUTION a milder NOTICE"),
        ("cautions.hot-lamp.avoid", "value: Wait., was: Let the lamp cool.", "changes what a caution says"),
        ("dispositions.tow.say", "value: Drive on., was: Do not drive.", "changes what the caller is told"),
    ],
)
def test_what_warns_less_is_a_problem_unless_it_says_why(overlay, path, fields, words):
    file = overlay(REVISED.format(path, fields))
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge(SMALL, overlays=[file])
    told = [str(problem) for problem in caught.value.problems]
    assert any(one.startswith(f"{file}:2:3: This ") and words in one and "`reason: ...`" in one for one in told), told
    file = overlay(REVISED.format(path, fields + ", reason: seen to be so for ten years"))
    reading = gather(SMALL, overlays=[file])[1]
    assert reading.problems == []
    assert [(at, words in what, "ten years" in what) for at, what in reading.milder] == [("own.yaml:2", True, True)]


@pytest.mark.parametrize(
    ("path", "fields", "words"),
    [
        ("checks.spark.engine_off.yes", "value: until-looked, was: until-repaired", "keeps the engine off until-repai"),
        ("checks.spark.runs_engine", "value: false, was: true", "no longer says that the engine runs"),
        ("checks.spark.told", "value: unmistakable, was: look", "no longer takes"),
        ("checks.spark.drives", "value: false, was: true", "no longer says that the car is driven"),
        ("checks.spark.follow_up.yes", "value: [], was: spark", "no longer asks about 'spark' after 'yes'"),
        ("checks.spark.before_driving.yes", "value: Go., was: Look first.", "what the caller is told after 'yes'"),
        ("repairs.replace-fuse.never", "value: '', was: Never put a larger fuse in.", "what must never be done"),
        ("repairs.replace-fuse.cautions", "drop: hot-lamp", "takes the caution 'hot-lamp' away"),
        ("repairs.replace-fuse.level", "value: technician, was: specialist", "what was left to a specialist"),
        ("services.lamp-change.steps.screw-in.cautions", "drop: hot-lamp", "takes the caution 'hot-lamp' away"),
        ("services.lamp-change.red_flags", "drop: spark", "takes the danger sign 'spark' away"),
        ("set_ups.ladder.cautions", "drop: hot-lamp", "takes the caution 'hot-lamp' away"),
        ("checks.volts.set_up", "drop: ladder", "takes the caution 'hot-lamp' away with the set-up 'ladder'"),
    ],
)
def test_what_warns_less_in_other_fields_is_a_problem_too(tmp_path, overlay, path, fields, words):
    base = (SMALL / "base.yaml").read_text()
    for old, new in (("    red_flag: {yes: get-clear}\n", "    red_flag: {yes: get-clear}\n"
                      "    engine_off: {yes: until-repaired}\n    runs_engine: true\n    drives: true\n"
                      "    told: look\n    follow_up: {yes: spark}\n    before_driving: {yes: Look first.}\n"),
                     ("    parts: 3\n", "    parts: 3\n    never: Never put a larger fuse in.\n    cautions: hot-lamp\n"
                      "    level: specialist\n"),
                     ("    plain: lamp service\n", "    plain: lamp service\n    red_flags: spark\n"),
                     ("{do: Screw the new lamp in.}", "{do: Screw the new lamp in., cautions: hot-lamp}"),
                     ("minutes: 5, source", "minutes: 5, cautions: hot-lamp, source")):  # fmt: skip
        assert old in base
        base = base.replace(old, new)
    (tmp_path / "base").mkdir()
    (tmp_path / "base" / "base.yaml").write_text(base)
    _, reading = gather(tmp_path / "base", overlays=[overlay(REVISED.format(path, fields))])
    assert [words in problem.message and problem.rule == "milder" for problem in reading.problems] == [True]


def test_what_warns_more_needs_no_reason(overlay):
    assert gather(SMALL, overlays=[overlay(MORE)])[1].problems == []
