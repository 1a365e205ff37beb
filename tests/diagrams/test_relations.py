"""Maps of services and drawings around one entry: true to the knowledge, whole, inside the page, large enough."""

import html
import io
import re
from functools import partial

import pytest
from pypdf import PdfReader

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.diagrams.drawing import size_of
from comeback.diagrams.printing import PAPERS, WALL_PAPERS, typeset
from comeback.diagrams.relations import LETTER, MOST, POINTS, SIGN, left_out, page_of
from comeback.engine.analysis.relations import service_map, surroundings
from comeback.kb import load_knowledge

SERVICES = sorted(load_knowledge().services)
AROUND = [
    ("cause", "vacuum-hose-off"), ("check", "wet-ground"), ("complaint", "rough-idle"), ("complaint", "oil-leak")
]  # fmt: skip
WORDS = re.compile(r'<text [^>]*x="([-\d.]+)" y="([-\d.]+)"[^>]*font-size="([\d.]+)"[^>]*>([^<]*)</text>')
WIDTHS = {
    222: "'ijl", 278: "ftI !,./:;", 333: "r()-", 500: "ckJsvxyz", 556: "abdeghnopqu0123456789L?", 611: "FTZ",
    667: "ABEKPSVXY&", 722: "CDHNRUw", 778: "GOQ", 833: "Mm",
}  # fmt: skip
WIDTH = {letter: width / 1000 for width, letters in WIDTHS.items() for letter in letters}
"""In type sizes: Adobe's font metrics of Helvetica (AFM), from memory; any other letter counts as the widest."""


def parts(graph):
    return {kind: {node.partition(":")[2] for node, k in graph.nodes(data="kind") if k == kind}
            for kind in ("step", "cause", "complaint", "check", "repair")}  # fmt: skip


@pytest.mark.parametrize("service", SERVICES)
def test_a_map_says_what_the_knowledge_says(shipped, service):
    graph = service_map(shipped, service, MOST)
    for start, end, chance in graph.edges(data="chance"):
        (kind, _, one), (_, _, other) = start.partition(":"), end.partition(":")
        if kind == "step":
            assert (shipped.causes[other].service, shipped.causes[other].step) == (service, one)
            continue
        shown = [
            dict(zip(shipped.checks[check].names, shipped.chances(one, check), strict=True))[result]
            for check, result in shipped.complaints[other].reports.items()
            if result != shipped.checks[check].expected
        ]
        assert chance == min(shown) > 0


@pytest.mark.parametrize("service", SERVICES)
@pytest.mark.parametrize("most", [4, MOST])
def test_every_slip_kept_comes_from_a_step_and_leads_to_a_complaint(shipped, service, most):
    graph = service_map(shipped, service, most)
    for node, kind in graph.nodes(data="kind"):
        into = {graph.nodes[n]["kind"] for n in graph.predecessors(node)}
        out = {graph.nodes[n]["kind"] for n in graph.successors(node)}
        assert (into, out) == {
            "step": (set(), {"cause"}), "cause": ({"step"}, {"complaint"}), "complaint": ({"cause"}, set())
        }[kind], node  # fmt: skip


@pytest.mark.parametrize("service", SERVICES)
def test_the_rare_are_left_out_and_counted_but_never_one_that_forbids_driving(shipped, service):
    slips = {c.id: c for c in shipped.causes.values() if c.service == service and c.kind.value == "slip"}
    graph = service_map(shipped, service, 4)
    kept = parts(graph)["cause"]
    gone = slips.keys() - kept
    assert graph.graph["left_out"]["slip"] == len(gone)
    assert not gone or f"{len(gone)} slip" in left_out(graph)
    complaints = {c.name for c in shipped.complaints.values() if c.after((service,))}
    named = {one for node, name in graph.nodes(data="name") if node[:5] == "compl" for one in name.split(" / ")}
    assert named <= complaints
    everything = service_map(shipped, service, 99)
    assert graph.graph["left_out"]["complaint"] + len(named) == everything.graph["left_out"]["complaint"] + len(
        {one for node, name in everything.nodes(data="name") if node[:5] == "compl" for one in name.split(" / ")}
    )
    reporting = {c for c in slips if service_map(shipped, service, 99).has_node(f"cause:{c}")}
    grave = {c for c in reporting if slips[c].drive.word in ("tow", "get-clear")}
    assert grave <= kept
    assert {n for n, danger in graph.nodes(data="danger") if danger} == {f"cause:{c}" for c in grave}
    mild = kept - grave
    assert not mild or min(slips[c].frequency for c in mild) >= max(
        (slips[c].frequency for c in reporting - kept), default=0
    )


def test_a_leak_of_oil_is_no_leak_of_coolant(shipped):
    assert "coolant-leak" not in parts(service_map(shipped, "oil-service", 99))["complaint"]
    around = surroundings(shipped, "complaint", "coolant-leak", 999)
    assert parts(around)["cause"].isdisjoint(c.id for c in shipped.causes.values() if c.service == "oil-service")


@pytest.mark.parametrize(("kind", "name"), AROUND)
def test_what_is_around_an_entry_is_linked_to_it(shipped, kind, name):
    whole, graph = surroundings(shipped, kind, name, 999), surroundings(shipped, kind, name, 6)
    assert all(graph.degree(node) for node in graph)
    around = parts(graph)
    assert name in around[kind]
    for cause in around["cause"]:
        fixing = {r.id for r in shipped.repairs.values() if cause in r.removes}
        linked = {end.partition(":")[2] for end in graph.successors(f"cause:{cause}")}
        assert linked <= fixing
        assert bool(linked) == bool(fixing)
    if kind == "cause":
        assert parts(whole)["check"] == set(shipped.causes[name].shows)
    missing = {k: len(parts(whole)[k] - around[k]) for k in around}
    assert graph.graph["left_out"].get("check", 0) == missing["check"]
    assert kind == "cause" or graph.graph["left_out"]["cause"] == missing["cause"]


def test_slips_of_one_name_are_told_apart(shipped):
    graph = surroundings(shipped, "complaint", "rough-idle", 20)
    names = [name for _, name in graph.nodes(data="name")]
    assert len(names) == len(set(names))


def drawn(shipped, asked, paper=PAPERS["letter"]):
    if isinstance(asked, str):
        return page_of(shipped.services[asked].name, partial(service_map, shipped, asked), paper, "Foot.")
    return page_of(asked[1], partial(surroundings, shipped, *asked), paper, "Foot.")


@pytest.mark.dot
@pytest.mark.parametrize("asked", [*SERVICES, *AROUND], ids=str)
def test_all_words_are_inside_the_page_and_9_points_or_more(shipped, asked):
    for paper in (PAPERS["letter"], PAPERS["a4"]):
        page = drawn(shipped, asked, paper)
        width, height = size_of(page["drawing"])
        texts = WORDS.findall(page["drawing"])
        assert texts
        for x, y, size, words in texts:  # SVG y runs down from -height to 0
            half = sum(WIDTH.get(letter, 1.0) for letter in html.unescape(words)) / 2 * float(size)
            assert half <= float(x) <= width - half
            assert -height <= float(y) <= 0
            assert float(size) * page["across"] * page["scale"] / width >= 9
        assert page["across"] <= page["width"] / page["scale"] - 60  # margins of 30
        around = 60 + 1.2 * (16 + 4 * 10)  # margins, a title line, two lines above and two below the drawing
        assert height * page["across"] / width <= page["height"] / page["scale"] - around
    assert POINTS * min(PAPERS["a4"].height / LETTER[0], PAPERS["a4"].width / LETTER[1]) >= 9


@pytest.mark.dot
@pytest.mark.parametrize("paper", [PAPERS["letter"], PAPERS["a4"], WALL_PAPERS["letter"], WALL_PAPERS["a4"]])
def test_one_landscape_page_with_every_word_the_same_bytes_twice(shipped, paper):
    page = drawn(shipped, "oil-service", paper)
    pdf, again = (typeset(drawn(shipped, "oil-service", paper), "pdf", "relations.typ")[0] for _ in range(2))
    assert pdf == again
    (only,) = PdfReader(io.BytesIO(pdf)).pages
    assert float(only.mediabox.width) == pytest.approx(max(paper.width, paper.height), abs=0.01)
    assert float(only.mediabox.height) == pytest.approx(min(paper.width, paper.height), abs=0.01)
    text = re.sub(r"\s+", " ", only.extract_text())
    for words in ("Oil and filter change", f"{SIGN}Oil drain plug loose", "Fluid leak", page["foot"]):
        assert words in text


@pytest.mark.dot
def test_only_black_white_and_outlines(shipped):
    drawing = drawn(shipped, "fuel")["drawing"]
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', drawing)) <= {"none", "white", "black", "transparent"}


@pytest.mark.dot
@pytest.mark.parametrize("words", [["map", "oil-service"], ["explain", "Rough-Idle", "--graph"]])
def test_the_ending_says_what_is_written(tmp_path, words):
    begins = {"svg": b"<svg", "png": b"\x89PNG", "pdf": b"%PDF"}
    for kind, start in begins.items():
        place, again = tmp_path / "new" / f"one.{kind}", tmp_path / f"two.{kind}"
        assert [run([*words, "-o", str(p)]) for p in (place, again)] == [exit_codes.DONE] * 2
        assert place.read_bytes().startswith(start)
        assert place.read_bytes() == again.read_bytes()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["map", "gearwheels", "-o", "x.svg"], "gearwheels"),
        (["map", "-o", "x.svg"], "Which service was done?"),
        (["map", "oil-service", "-o", "x.doc"], ".svg, .png, .pdf"),
        (["explain", "rough-idel", "--graph", "-o", "x.svg"], "rough-idle"),
        (["explain", "P0171", "--graph", "-o", "x.svg"], "causes, checks and complaints"),
        (["explain", "rough-idle", "--graph"], "-o"),
        (["explain", "rough-idle", "-o", "x.svg"], "--graph"),
    ],
)
def test_what_cannot_be_drawn_is_explained_and_nothing_is_written(tmp_path, monkeypatch, capsys, words, told):
    monkeypatch.chdir(tmp_path)
    assert run(words) == exit_codes.USAGE
    out, err = capsys.readouterr()
    assert not out
    assert told in err
    assert "Traceback" not in err
    assert not list(tmp_path.iterdir())
