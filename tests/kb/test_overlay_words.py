"""Words of an entry revised in a shop's own file: texts, lists, danger that is never made milder silently."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.kb import load_knowledge, loader, shipped_folder
from comeback.kb.examination import examine
from comeback.kb.loader import gather
from comeback.kb.overlay.overlay import mark_places
from comeback.kb.overlay.revised_numbers import RevisedPlace
from comeback.kb.overlay.revised_words import changed
from comeback.kb.revision import Change
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Disposition
from comeback.kb.yaml.reader import Document, read_yaml
from support.places import SMALL

WORDS = """\
revise:
  complaints.dark.words:
    add: [pitch black, nothing to see]
  services.lamp-change.words: {add: new bulb}
  causes.lamp-loose.tell:
    value: The new lamp was not tight.
    was: The lamp is loose.
  checks.lamp-turns.point: {value: Behind the cover}
  checks.light.results.dark: {value: The lamp stays dark, was: The lamp is dark}
  checks.lamp-turns.cautions: {add: hot-lamp}
  causes.lamp-loose.drive: {value: tow, was: book}
"""


def problems(file):
    return [str(problem) for problem in examine(SMALL, overlays=[file])[2] if problem.file == str(file)]


def test_texts_words_and_lists_are_revised_and_all_else_stays(overlay):
    shipped, revised = load_knowledge(SMALL), load_knowledge(SMALL, overlays=[overlay(WORDS)])
    assert revised.complaints["dark"].words == ("no light", "pitch black", "nothing to see")
    assert revised.services["lamp-change"].words == ("new bulb",)
    assert revised.causes["lamp-loose"].tell == "The new lamp was not tight."
    assert revised.checks["lamp-turns"].point == "Behind the cover"
    assert revised.checks["light"].results == {"lit": "The lamp is lit", "dark": "The lamp stays dark"}
    assert revised.checks["lamp-turns"].cautions == ("hot-lamp",)
    assert revised.causes["lamp-loose"].drive is Disposition.TOW
    assert revised.causes["fuse-out"] == shipped.causes["fuse-out"]
    assert revised.causes["lamp-loose"].shows == shipped.causes["lamp-loose"].shows


def test_every_change_remembers_file_and_line_and_what_stood_there(overlay, tmp_path):
    reading = gather(SMALL, overlays=[overlay(WORDS)])[1]
    told = reading.changes["causes.lamp-loose.tell"]
    assert (told.at, told.base, told.now) == ("own.yaml:5", "The lamp is loose.", "The new lamp was not tight.")
    assert reading.changes["complaints.dark.words"].at == "own.yaml:2"
    assert (reading.remarks, reading.milder) == ([], [])
    for _ in range(2):  # the second time from the cache of parsed files
        knowledge = load_knowledge(SMALL, overlays=[tmp_path / "own.yaml"], cache=tmp_path / "cache")
        assert knowledge.causes["lamp-loose"].tell == "The new lamp was not tight."


def test_numbers_and_words_of_one_entry_are_revised_together(overlay):
    text = WORDS + "  causes.lamp-loose.frequency: {value: 9, was: 8, evidence: counted, source: invented}\n"
    cause = load_knowledge(SMALL, overlays=[overlay(text)]).causes["lamp-loose"]
    assert (cause.frequency, cause.tell) == (9, "The new lamp was not tight.")


def test_two_files_may_add_to_one_list(overlay, tmp_path):
    overlay("revise:\n  complaints.dark.words: {add: pitch black}\n", "one.yaml")
    overlay("revise:\n  complaints.dark.words: {add: gloomy, drop: no light}\n", "two.yaml")
    assert load_knowledge(SMALL, overlays=[tmp_path]).complaints["dark"].words == ("pitch black", "gloomy")
    assert len(gather(SMALL, overlays=[tmp_path])[1].changes) == 2


def test_fields_that_must_agree_change_in_several_lines(overlay):
    text = """\
revise:
  checks.lamp-turns.sense: {value: feel}
  checks.lamp-turns.audience: {add: phone}
  checks.lamp-turns.say: {value: Does the lamp turn?}
"""
    assert load_knowledge(SMALL, overlays=[overlay(text)]).checks["lamp-turns"].say == "Does the lamp turn?"
    without = overlay(text.replace("  checks.lamp-turns.say: {value: Does the lamp turn?}\n", ""))
    assert any("a phone check needs `say:`" in problem for problem in problems(without))


def test_bands_are_revised_one_by_one_and_told_where_they_were(overlay):
    good = "revise:\n  checks.volts.reading.bands.present: {value: [12, 16], was: [11, 16]}\n"
    good += "  checks.volts.reading.bands.low: {value: [5, 12], was: [5, 11]}\n"
    assert load_knowledge(SMALL, overlays=[overlay(good)]).checks["volts"].reading.bands["low"] == (5, 12)
    file = overlay(good.replace("[5, 12]", "[5, 10]"))
    assert any(line.startswith(f"{file}:2:3: The bands must run from 0 to 16") for line in problems(file))


def line(path, fields):
    return f"revise:\n  {path}: {{{fields}}}\n"


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        (line("complaints.dark.wrds", "add: x y"), "2:3", "'wrds' is not in complaints.dark. Did you mean 'words'?"),
        (line("complaints.dark.words", "value: x y"), "2:3", 'Say what the files say now, so that a later change is '
         'noticed. Write: was: ["no light"]'),
        (line("causes.lamp-loose.tell", "value: Loose."), "2:3", 'Write: was: "The lamp is loose."'),
        (line("causes.lamp-loose.tell", "add: Loose."), "2:3", "is not a list. Write `value:` and `was:`."),
        (line("complaints.dark.words", "reason: why not"), "2:3", "`value:` and `was:`, or `add:` and `drop:`."),
        (line("complaints.dark.words", "value: x y, add: x"), "2:3", "Write the new text"),
        ("revise:\n  complaints.dark.words: [one]\n", "2:3", "has the fields value and was, or add and drop"),
        ("revise:\n  complaints.dark:\n    words: {add: [one]}\n", "2:3", "with points: complaints.dark.words."),
        ("revise:\n  complaints:\n    dark: {words: {add: [one]}}\n", "2:3", "with points: complaints.dark.words."),
        ("revise:\n  complaints:\n    dark: {words: [one]}\n", "2:3", "with points: complaints.dark.words."),
        (line("complaints.dark.words", "add: x y, sorce: z"), "2:44", "Unknown field 'sorce'. Did you mean 'source'?"),
        (line("complaints.dark.words", "add: x y, source: z"), "2:3", "Unknown source 'z'"),
        (line("checks.light.results.dim", "value: Dim"), "2:3", "'dim' is not in checks.light.results."),
        (line("checks.light.results", "value: Dim"), "2:3", "Name one: checks.light.results.lit, checks"),
        (line("checks.volts.reading", "value: Dim"), "2:3", "checks.volts.reading.unit"),
        (line("checks.spark.id", "value: Dim"), "2:3", "'id' cannot be revised"),
        (line("checks.light.needs.lamp-seat", "add: turns"), "2:3", "'lamp-seat' is not in checks"),
        (line("checks.light.needs.lamp-turns", "add: turn"), "2:3", "has no result 'turn'. Did you mean 'turns'?"),
        ("revise:\n  causes.fuse-out: yes\n", "2:3", "causes.fuse-out.FIELD"),
        ("revise:\n  causes.fuse-out: true\n", "2:3", "causes.fuse-out.FIELD"),
        (line("checks.light.say.x", "value: Dim"), "2:3", "'x' is not in checks.light.say."),
        (line("checks.light.tier", "value: glance, was: look"), "2:30", "tier: 'glance' is not one of: people,"),
        (line("checks.light.cautions", "add: hot-lmp"), "2:3", "'hot-lmp' is not in cautions. Did you mean 'hot-lamp'"),
        (line("checks.light.say", "value: Is it lit? Is it on?, was: Is the lamp lit?"), "2:3", "exactly one question"),
        (line("complaints.dark.words", "drop: no lite"), "2:26", "'no lite' is not in the list. Did you mean"),
        (line("complaints.dark.words", "add: no light"), "2:26", "'no light' is in the list already"),
        (line("causes.lamp-loose.tell", "value: Loose., was: The lamp was loose."), "2:48",
         'Look at it again. Write: was: "The lamp is loose."'),
        (line("causes.lamp-loose.tell", "value: Loose., was: The lamp is loose.")
         + "  causes.lamp-loose.tell.x: {add: y}\n", "3:3", "'x' is not in"),
    ],
)  # fmt: skip
def test_mistake_is_named_at_its_place(overlay, text, place, words):
    file = overlay(text)
    lines = problems(file)
    assert any(one.startswith(f"{file}:{place}: ") and words in one for one in lines), lines


def test_what_moved_underneath_is_told_by_the_check_and_does_not_stop_the_work(overlay):
    file = overlay(line("causes.lamp-loose.tell", "value: Loose., was: The lamp was loose."))
    assert load_knowledge(SMALL, overlays=[file]).causes["lamp-loose"].tell == "Loose."
    assert len(problems(file)) == 1


def test_line_breaks_and_one_word_alone_do_not_count_as_moved(overlay):
    text = "revise:\n  causes.lamp-loose.tell:\n    value: Loose.\n    was: The lamp\n      is   loose.\n"
    text += "  complaints.dark.red_flags: {value: [spark], was: spark}\n"
    assert problems(overlay(text)) == []


def test_an_entry_written_again_is_answered_with_the_lines_to_write(overlay):
    text = """\
causes:
  lamp-loose:
    frequency: 12
    drive: watch
    tell: The lamp is loose.
    shows: {light: 70}
complaints:
  dark:
    words: [no light, pitch black]
"""
    file = overlay(text)
    one, two = (str(problem) for problem in examine(SMALL, overlays=[file])[2])
    assert one.startswith(f"{file}:2:3: causes 'lamp-loose' was already given at {SMALL}/base.yaml:25. To change it,")
    lines = """\
revise:
  causes.lamp-loose.frequency:
    value: 12
    was: 8
    evidence: "what was counted or read"
    source: judgement
  causes.lamp-loose.drive:
    value: "watch"
    was: "book"
  causes.lamp-loose.shows.light.dark:
    value: 70
    was: 90
    evidence: "what was counted or read"
    source: judgement"""
    assert one.partition("\n")[2] == lines
    assert two.endswith('revise:\n  complaints.dark.words:\n    add: ["pitch black"]')
    overlay(lines.replace("judgement", "invented").replace('"book"', '"book"\n    reason: it holds for a week'))
    assert problems(file) == []


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        (
            "causes.lamp-loose.frequency: 9",
            ["value: 9", "was: 8", 'evidence: "what was counted or read"', "source: judgement"],
        ),
        ("causes.lamp-loose.tell: Loose.", ['value: "Loose."', 'was: "The lamp is loose."']),
        ("complaints.dark.words: [gloomy]", ['add: ["gloomy"]']),
        ("settings.rate_per_hour: 90", ["value: 90", "was: 60"]),
    ],
)
def test_a_bare_value_is_answered_with_the_lines_to_write(overlay, text, lines):
    told = problems(overlay(f"revise:\n  {text}\n"))[0].splitlines()
    assert "Write them below it:" in told[0]
    assert told[1:3] == ["revise:", f"  {text.partition(':')[0]}:"]
    assert told[3 : 3 + len(lines)] == [f"    {line}" for line in lines]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("causes:\n  lamp-loose: {frequncy: 12}\n", "Unknown field 'frequncy'. Did you mean 'frequency'?"),
        ("causes:\n  lamp-loose: {frequency: 8}\n", "It says the same there: delete it here."),
    ],
)
def test_an_entry_written_again_that_changes_nothing_is_told_so(overlay, text, words):
    assert words in problems(overlay(text))[0]


lists = st.lists(st.sampled_from("abcdef"), unique=True)


@given(lists, lists, lists)
def test_adding_and_dropping_is_set_arithmetic_in_order(base, add, drop):
    place, change = RevisedPlace("complaints", "x", ("words",), is_list=True), Change(add=add, drop=drop)
    now, _ = changed(place, change, base) if add or drop else (base, [])
    assert set(now) == (set(base) - set(drop)) | set(add)
    assert [part for part in now if part in base and part not in drop][:1] == [p for p in base if p not in drop][:1]


anything = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 200) | st.floats() | st.sampled_from(["", "spark", "tow", "no light"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["yes", "a", "1"]), inner, max_size=2),
    max_leaves=4,
)
fields = st.dictionaries(st.sampled_from(["value", "was", "add", "drop", "reason", "evidence", "source"]), anything)
PATHS = (
    "causes.fuse-out.drive", "causes.fuse-out.only_if", "causes.fuse-out.source", "checks.spark.red_flag.yes",
    "checks.spark.engine_off.yes", "checks.spark.cautions", "checks.volts.reading.bands.low", "checks.spark.audience",
    "checks.volts.needs.spark", "checks.volts.codes.low", "complaints.dark.red_flags", "repairs.replace-fuse.never",
    "services.lamp-change.steps.screw-in.cautions", "repairs.replace-fuse.proof.check", "dispositions.tow.say",
)  # fmt: skip
parts = [*sorted({part for path in PATHS for part in path.split(".")}), "settings", "id", "shows", "results", "minutes"]
paths = st.sampled_from(PATHS) | st.lists(st.sampled_from(parts), min_size=1, max_size=5).map(".".join)
BASE = read_yaml((SMALL / "base.yaml").read_text(), "base.yaml")


def gathered(body):
    """Knowledge and reading of the smallest base with such a body below `revise:`."""
    own = Document("own", {"revise": body}, {}, {})
    mark_places(own)
    state = loader.LoadState()
    return loader._gathered([BASE, own], state, "0"), state


@settings(deadline=None)
@given(st.dictionaries(paths, fields | anything, max_size=4))
def test_whatever_is_written_below_revise_is_read_or_refused_in_plain_words(body):
    knowledge, reading = gathered(body)
    assert (knowledge is None) == bool(reading.problems)
    assert all(len(problem.message) < 600 for problem in reading.problems)


@settings(deadline=None)
@given(st.dictionaries(st.sampled_from(PATHS), fields, min_size=1, max_size=3))
def test_nothing_warns_less_than_before_without_a_reason_however_it_is_written(body):
    before, (knowledge, _) = gathered({})[0], gathered(body)
    if knowledge is not None and not any(isinstance(raw.get("reason"), str) for raw in body.values()):
        assert knowledge.causes["fuse-out"].drive >= before.causes["fuse-out"].drive
        assert knowledge.checks["spark"].red_flag.get("yes") == before.checks["spark"].red_flag["yes"]
        assert "hot-lamp" in knowledge.checks["spark"].cautions
        assert "spark" in knowledge.complaints["dark"].red_flags
        assert "Do not drive." in knowledge.dispositions[Disposition.TOW].say


def test_shipped_knowledge_takes_an_overlay_of_every_question(overlay):
    shipped: KnowledgeBase = load_knowledge()
    asked = {name: check for name, check in shipped.checks.items() if check.say}
    lines = [f'  checks.{name}.say: {{value: "{check.say}", was: "{check.say}"}}' for name, check in asked.items()]
    lines += [f"  complaints.{name}.words: {{add: [as never before]}}" for name in shipped.complaints]
    same = load_knowledge(overlays=[overlay("\n".join(["revise:", *lines]) + "\n")])
    assert same.checks == shipped.checks
    assert all(complaint.words[-1] == "as never before" for complaint in same.complaints.values())


@pytest.mark.parametrize("readme", [shipped_folder() / "README.md", SMALL.parents[2] / "README.md"], ids=str)
def test_the_example_that_the_trainer_reads_fits_the_shipped_knowledge(overlay, readme):
    text = next(part for part in readme.read_text(encoding="utf-8").split("```") if "\nrevise:" in part)
    knowledge, reading = gather(overlays=[overlay(text.removeprefix("yaml\n"))])
    assert (reading.problems, reading.remarks, reading.milder) == ([], [], [])
    assert knowledge.causes["vacuum-hose-off"].frequency == 12
    assert "shakes like a tractor" in knowledge.complaints["rough-idle"].words
