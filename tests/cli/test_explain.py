"""`comeback explain`: everything about one entry, in 80 columns."""

import json

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.cli.commands import explain
from comeback.cli.reports import explaining
from comeback.engine.analysis.mimics import mimics
from support.places import SMALL_FOLDER as SMALL


def explained(capsys, *arguments):
    code = run(["explain", *arguments])
    out, err = capsys.readouterr()
    return code, out, err


def test_a_cause_is_explained_whole(capsys):
    code, out, _ = explained(capsys, "fuse-out", "--knowledge", SMALL)
    assert code == exit_codes.DONE
    for words in ("Fuse blown", "wear", "4 of 1000 cars", "Tow", "A fuse has blown.", "Invented for tests (judgement)"):
        assert words in out
    shows = [line.split("%")[0].split()[-1] for line in out.splitlines() if "%" in line][:3]
    assert shows == ["99", "98", "20"]  # most often seen first
    assert "95 % Replace the fuse (replace-fuse), about 10 min. Proof: Voltage at the socket" in " ".join(out.split())


def test_mimics_name_the_check_that_tells_them_apart(small):
    (found,) = mimics(small, small.causes["lamp-loose"])
    # shared: light 0.9; joint: light 0.99, lamp-turns 0.95, volts 0.98, spark 0.20
    assert found.likeness == pytest.approx(0.9 / (0.99 + 0.95 + 0.98 + 0.20))
    assert (found.cause, found.apart_by, found.apart) == ("fuse-out", "volts", pytest.approx(0.98))


def test_a_trouble_code_leads_to_its_result_and_its_causes(capsys, knowledge):
    code, out, _ = explained(capsys, "p0171")
    assert code == exit_codes.DONE
    assert out.startswith("Code P0171")
    assert "codes-lean" in out
    causes = out.partition("Shown by")[2].partition("Sources")[0]
    weights = {c.id: c.frequency * knowledge.chances(c.id, "codes-lean")[1]
               for c in knowledge.causes.values() if "codes-lean" in c.shows}  # fmt: skip
    most = sorted(weights, key=lambda name: (-weights[name], name))[:20]
    places = [causes.index(f"({name})") for name in most]
    assert places == sorted(places)


@pytest.mark.parametrize(
    ("asked", "meant"), [("vacum-hose-of", "vacuum-hose-off"), ("vacuum hose off", "vacuum-hose-off")]
)
def test_a_slip_of_spelling_is_answered_with_what_was_meant(capsys, asked, meant):
    code, out, err = explained(capsys, asked)
    assert (code, out) == (exit_codes.USAGE, "")
    assert meant in err


@pytest.mark.parametrize(
    "arguments", [["no-such-thing-at-all"], [], ["light", "--kind", "cause"], ["x", "--list", "cause"]]
)
def test_what_is_not_there_is_a_usage_error(capsys, arguments):
    code, _, err = explained(capsys, *arguments, "--knowledge", SMALL)
    assert code == exit_codes.USAGE
    assert err.startswith("comeback: ")


def test_a_check_and_a_complaint_may_share_an_id(capsys):
    _, out, _ = explained(capsys, "stalls")
    assert "Check stalls" in out
    assert "Complaint stalls" in out
    _, out, _ = explained(capsys, "stalls", "--kind", "check")
    assert "Complaint stalls" not in out


@pytest.mark.parametrize("kind", explain.KINDS)
def test_every_entry_of_every_kind_fits_80_columns(knowledge, kind):
    from comeback.cli.look import Look

    for name in explaining.ids(knowledge, kind):
        (page,) = explaining.pages(knowledge, name, kind)
        assert all(len(text) < 80 for _, text in page.lines(Look())), name


def test_kinds_on_the_command_line_are_those_that_can_be_explained():
    assert set(explain.KINDS) == set(explaining.KINDS)


def test_ids_are_listed(capsys):
    code, out, _ = explained(capsys, "--list", "cause", "--knowledge", SMALL)
    assert code == exit_codes.DONE
    assert [line.split()[0] for line in out.splitlines()] == ["lamp-loose", "fuse-out"]


@pytest.mark.parametrize(
    ("arguments", "held"),
    [
        (("explain", "P0171"), "Mixture too lean, bank 1"),
        (("handover", "battery"), "battery-clamps"),
        (("rehearse", "--walks", "2", "--even"), "closed wrongly"),
    ],
)
def test_what_is_printed_can_be_had_as_json(capsys, arguments, held):
    assert run([*arguments, "--json"]) == exit_codes.DONE
    out = capsys.readouterr().out
    json.loads(out)
    assert held in out
