"""A shop's own files: they add and revise, every number keeps its evidence, mistakes are named at their place."""

import pytest

from comeback.kb import KnowledgeError, load_knowledge
from comeback.kb.loader import gather
from comeback.kb.overlay.overlay import overlay_lines
from comeback.kb.revision import Revision
from comeback.kb.schema import result_distribution
from support.places import SMALL

GOOD = """\
sources:
  own: {title: Own cases, status: counted}
revise:
  causes.lamp-loose.frequency: {value: 7.2, was: 8, evidence: 31 cars in 4100 services, source: own}
  causes.lamp-loose.shows.lamp-turns: {value: 80, evidence: 40 of 50, source: own}
  causes.fuse-out.shows.volts.low: {value: 1.5, evidence: 1 of 60, source: own}
  checks.light.otherwise.dark: {value: hardly, evidence: a guess, source: own}
  checks.light.minutes: {value: 1, evidence: by the watch, source: own}
  repairs.screw-in-lamp.removes.lamp-loose: {value: 90, evidence: 9 of 10, source: own}
  repairs.replace-fuse.parts: {value: 4, evidence: the bill, source: own}
  set_ups.ladder.minutes: {value: 3, evidence: by the watch, source: own}
  settings.rate_per_hour: {value: 75, evidence: our rate, source: own}
"""


def test_single_numbers_are_revised_and_all_else_stays(overlay):
    shipped, revised = load_knowledge(SMALL), load_knowledge(SMALL, overlays=[overlay(GOOD)])
    assert revised.causes["lamp-loose"].frequency == 7.2
    assert revised.chances("lamp-loose", "lamp-turns") == pytest.approx((0.2, 0.8))
    assert revised.chances("fuse-out", "volts") == pytest.approx((0.005, 0.015, 0.98))
    assert revised.leak("light") == pytest.approx((0.95, 0.05))
    assert revised.checks["light"].minutes == 1
    assert revised.repairs["screw-in-lamp"].removes["lamp-loose"] == pytest.approx(0.9)
    assert revised.repairs["replace-fuse"].parts == 4
    assert revised.set_ups["ladder"].minutes == 3
    assert (revised.settings.rate_per_hour, revised.settings.hand_over_minutes) == (75, 100)
    assert revised.chances("lamp-loose", "light") == shipped.chances("lamp-loose", "light")
    assert revised.causes["fuse-out"].frequency == shipped.causes["fuse-out"].frequency


def test_every_number_remembers_where_it_came_from(overlay, tmp_path):
    for _ in range(2):  # the second time from the cache of parsed files
        knowledge = load_knowledge(SMALL, overlays=[overlay(GOOD)], cache=tmp_path / "cache")
        one = knowledge.revisions["causes.lamp-loose.frequency"]
        assert (one.value, one.base, one.evidence, one.source) == (7.2, 8, "31 cars in 4100 services", "own")
        assert one.at == "own.yaml:4"
        assert knowledge.revisions["causes.fuse-out.shows.volts.low"].base == 0
        assert knowledge.revisions["causes.lamp-loose.shows.lamp-turns.turns"].base == 95


def test_version_covers_shipped_files_and_overlay(overlay):
    shipped = load_knowledge(SMALL).version
    one = load_knowledge(SMALL, overlays=[overlay(GOOD)]).version
    two = load_knowledge(SMALL, overlays=[overlay(GOOD.replace("7.2", "7.3"))]).version
    assert len({shipped, one, two}) == 3


def test_a_cause_may_show_in_another_check_and_a_repair_cure_another_cause(overlay):
    text = line("causes.lamp-loose.shows.volts.low", "value: 20, evidence: 2 of 10, source: invented")
    text += "  repairs.screw-in-lamp.removes.fuse-out: {value: 5, evidence: once, source: invented}\n"
    knowledge = load_knowledge(SMALL, overlays=[overlay(text)])
    assert knowledge.chances("lamp-loose", "volts") == pytest.approx((0.8, 0.2, 0))
    assert knowledge.repairs["screw-in-lamp"].removes == pytest.approx({"lamp-loose": 0.97, "fuse-out": 0.05})
    assert knowledge.revisions["causes.lamp-loose.shows.volts.low"].base == 0


def test_overlay_adds_entries(overlay):
    text = """\
causes:
  socket-rusty: {name: Socket rusty, kind: wear, frequency: 2, drive: book, explain: Rust insulates., tell: Rust.,
                 shows: {light: 70}, source: invented}
revise:
  causes.socket-rusty.frequency: {value: 3, evidence: seen more often, source: invented}
"""
    knowledge = load_knowledge(SMALL, overlays=[overlay(text)])
    assert knowledge.causes["socket-rusty"].frequency == 3


def test_folder_of_overlay_files(overlay, tmp_path):
    overlay(GOOD)
    overlay("revise:\n  causes.fuse-out.frequency: {value: 5, evidence: more, source: own}\n", "more.yaml")
    assert load_knowledge(SMALL, overlays=[tmp_path]).causes["fuse-out"].frequency == 5


FREQUENCY, END = "causes.lamp-loose.frequency", "evidence: because, source: invented"


def line(path, fields="value: 5, evidence: because, source: invented"):
    return f"revise:\n  {path}: {{{fields}}}\n"


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        (line("causes.lamp-lose.frequency"), "2:3", "'lamp-lose' is not in causes. Did you mean 'lamp-loose'?"),
        (line("causes.lamp-loose.frequncy"), "2:3", "'frequncy' is not in causes.lamp-loose. Did you mean 'frequency'"),
        (line("causes.lamp-loose.name", "value: 5, was: Lamp not screwed in"), "2:35", "name: 5 is not text"),
        (line("causes.lamp-loose"), "2:3", "Name one field of 'lamp-loose', in one line with points"),
        (line("causes.lamp-loose.frequency.x"), "2:3", "names nothing below"),
        (line("causes.lamp-loose.shows.amps"), "2:3", "'amps' is not in checks"),
        (line("causes.fuse-out.shows.volts.high"), "2:3", "no abnormal result 'high'"),
        (line("causes.fuse-out.shows.volts.present"), "2:3", "no abnormal result 'present'"),
        (line("checks.light.otherwise.lit"), "2:3", "no abnormal result 'lit'"),
        (line("repairs.screw-in-lamp.removes.fuse-in"), "2:3", "'fuse-in' is not in causes. Did you mean 'fuse-out'?"),
        (line("dispositions.tow.harm"), "2:3", "'harm' cannot be revised. It weighs danger."),
        (line("lamps.x.minutes"), "2:3", "Unknown section 'lamps'"),
        (line("settings.rate"), "2:3", "Unknown setting 'rate'. Use one of: hand_over_minutes, rate_per_hour"),
        (line("x"), "2:3", "Unknown section 'x'"),
        (line(FREQUENCY, "value: 0, " + END), "2:3", "out of range"),
        (line(FREQUENCY, "value: 1e999, " + END), "2:3", "out of range"),
        (line(FREQUENCY, "value: mostly, " + END), "2:3", "no number"),
        (line(FREQUENCY, "value: true, " + END), "2:3", "no numbers"),
        (line(FREQUENCY, "value: '4,5', " + END), "2:3", "Write a point, not a comma: 4.5"),
        (line(FREQUENCY, "value: 4,5, " + END), "2:40", "Write a point: 4.5"),
        (line("causes.lamp-loose.shows.light", "value: 80 %, " + END), "2:3", "Write the number alone: 80."),
        (line(FREQUENCY, "value: 5, evidence: w, source: invented"), "2:53", "evidence: 'w' is too short"),
        (line("causes.lamp-loose.shows.light", "value: 101, " + END), "2:3", "0 to 100"),
        (line("causes.lamp-loose.shows.light", "value: often, " + END), "2:3", "hardly"),
        (line(FREQUENCY, "value: 5, evidence: because, source: ghost"), "2:3", "Unknown source 'ghost'"),
        (line(FREQUENCY, "value: 5, source: invented"), "2:32", "'evidence' is missing"),
        (line(FREQUENCY, "value: 5, evidence: x y, source: invented, wy: 1"), "2:80", "Unknown field 'wy'"),
        ("revise:\n  causes.lamp-loose.frequency: 5\n", "2:3", "has the fields value, was, evidence and source."),
        ("revise: [1]\n", "1:9", "`revise:` holds paths, each with what it shall be."),
        ("revised: {}\n", "1:1", "Unknown section 'revised'. Did you mean 'revise'?"),
        (
            line("causes.fuse-out.shows.volts.low", "value: 60, " + END),
            "2:3",
            "add up to 158 %",
        ),
        (
            line("causes.lamp-loose.shows.light.dark")
            + "  causes.lamp-loose.shows.light: {value: 6, evidence: xx, source: invented}\n",
            "3:3",
            "already revised at own.yaml:2",
        ),
    ],
)  # fmt: skip
def test_mistake_is_named_at_its_place(overlay, text, place, words):
    file = overlay(text)
    with pytest.raises(KnowledgeError) as caught:
        load_knowledge(SMALL, overlays=[file])
    lines = [str(problem) for problem in caught.value.problems]
    assert any(one.startswith(f"{file}:{place}: ") and words in one for one in lines), lines


def test_number_that_has_changed_since_is_remarked_but_no_problem(overlay):
    knowledge, reading = gather(SMALL, overlays=[overlay(GOOD.replace("was: 8", "was: 6"))])
    assert knowledge is not None
    assert "was 6 when this was written and is 8 now" in str(reading.remarks[0])
    assert gather(SMALL, overlays=[overlay(GOOD)])[1].remarks == []


def test_files_that_end_in_yml_are_read_too(overlay):
    assert load_knowledge(SMALL, overlays=[overlay(GOOD, "own.yml").parent]).causes["lamp-loose"].frequency == 7.2


def test_an_overlay_of_which_nothing_is_read_stops_the_start_with_the_remedy(overlay, tmp_path):
    overlay(GOOD, "own.yaml.txt")
    with pytest.raises(KnowledgeError, match=r"This file is not read.*Rename it to own\.yaml, or move it out"):
        load_knowledge(SMALL, overlays=[tmp_path])
    overlay(GOOD)
    assert load_knowledge(SMALL, overlays=[tmp_path]).causes["lamp-loose"].frequency == 7.2


def test_what_it_was_may_be_a_word_of_the_scale_as_in_the_files(overlay):
    text = line("causes.lamp-loose.shows.light", "value: 80, was: mostly, evidence: 8 of 10, source: invented")
    reading = gather(SMALL, overlays=[overlay(text)])[1]
    assert (reading.problems, reading.remarks) == ([], [])
    reading = gather(SMALL, overlays=[overlay(text.replace("mostly", "half"))])[1]
    assert "was 50 when this was written and is 90 now" in str(reading.remarks[0])
    reading = gather(SMALL, overlays=[overlay(text.replace("mostly", "often"))])[1]
    assert "was: 'often' is no number. Write a number or one of: hardly, half, mostly." in str(reading.problems[0])


def test_missing_overlay_folder_is_named(tmp_path):
    with pytest.raises(FileNotFoundError, match="there is no such folder"):
        load_knowledge(SMALL, overlays=[tmp_path / "nowhere"])


def test_written_overlay_is_read_back_as_it_was(overlay):
    made = Revision(value=7.25, was=8, evidence='31 "cars": {of} 4,100 # \\ services', source="own")
    text = "\n".join(
        overlay_lines({"causes.lamp-loose.frequency": made}, ["head", ""], ["own: {title: Own cases, status: counted}"])
    )
    read = load_knowledge(SMALL, overlays=[overlay(text + "\n")]).revisions["causes.lamp-loose.frequency"]
    assert (read.value, read.was, read.evidence, read.source) == (7.25, 8, made.evidence, "own")


def test_shipped_knowledge_takes_an_overlay_of_every_frequency(overlay):
    shipped = load_knowledge()
    lines = [
        f"  causes.{name}.frequency: {{value: {cause.frequency}, evidence: same, source: judgement}}"
        for name, cause in shipped.causes.items()
    ]
    same = load_knowledge(overlays=[overlay("\n".join(["revise:", *lines]) + "\n")])
    assert same.causes == shipped.causes
    cause = next(iter(same.causes.values()))
    check = next(iter(cause.shows))
    assert sum(result_distribution(same.checks[check], cause.shows[check])) == pytest.approx(1)
