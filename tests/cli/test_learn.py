"""`comeback learn`: what it says, the file it writes for review, and that it changes nothing by itself."""

import random
import stat

import pytest

from comeback.cli import exit_codes, main
from comeback.engine.case.events import Draft
from comeback.engine.case_log.store import open_log
from comeback.kb import load_knowledge
from support.places import SMALL

AT = "2026-03-02T08:15:00+01:00"


@pytest.fixture
def learn(tmp_path, monkeypatch, capsys):
    """learn(arguments ...) -> (exit code, standard output, standard error)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COMEBACK_LOG", str(tmp_path / "cases.db"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))

    def run(*arguments):
        try:
            code = main(["learn", "--knowledge", str(SMALL), *arguments])
        except SystemExit as end:
            code = int(end.code)
        said = capsys.readouterr()
        assert "should not happen" not in said.err, said.err
        return code, said.out, said.err

    return run


def fill(place, shop, loose, fuse, turns):
    """Closed and proven cases: so many loose lamps, of which `turns` turned by hand, and so many blown fuses."""
    log, chance = open_log(place, shop), random.Random(shop)
    for number in range(loose + fuse):
        cause, repair = ("lamp-loose", "screw-in-lamp") if number < loose else ("fuse-out", "replace-fuse")
        closed = {"complaint": "dark", "words": "", "causes": [cause], "repairs": [repair], "proven": True}
        first = log.open_case(Draft("opened", AT, "Ida", {"car": "green hatchback"}), "k1", chance.choice)
        drafts = [
            Draft("service", AT, "Ida", {"service": "lamp-change"}),
            Draft("complaint", AT, "Ida", {"complaint": "dark", "words": ""}),
            Draft("answered", AT, "Ida", {"results": {"lamp-turns": "turns" if number < turns else "tight"}}),
            Draft("repaired", AT, "Ida", {"repair": repair}),
            Draft("closed", AT, "Ida", closed),
        ]
        log.append(first.case, 1, drafts, "k1")
    log.close()


def test_empty_log_teaches_nothing(learn, tmp_path):
    code, out, _ = learn("-o", "own.yaml")
    assert code == exit_codes.DONE
    assert "nothing to learn from" in out
    assert not (tmp_path / "own.yaml").exists()


def test_numbers_are_written_for_review_and_used_as_an_overlay(learn, tmp_path):
    fill(tmp_path / "cases.db", "mill", 40, 4, 24)
    code, out, _ = learn("--services-done", "lamp-change=2000", "-o", "own.yaml")
    assert code == exit_codes.DONE
    text = (tmp_path / "own.yaml").read_text()
    assert "40 in 2,000 services, 1 shop; judgment w" in text
    assert stat.S_IMODE((tmp_path / "own.yaml").stat().st_mode) == 0o600
    knowledge = load_knowledge(SMALL, overlays=[tmp_path / "own.yaml"])
    revised = knowledge.revisions["causes.lamp-loose.frequency"]
    assert revised.value == pytest.approx(1000 * (8 + 40) / 3000)  # 8 of 1000 as judged, 40 of 2000 counted
    assert revised.base == revised.was == 8
    assert knowledge.sources["own-cases"].status == "counted"
    assert "running the 44 latest proven cases" in " ".join(out.split())
    assert "already revised at own.yaml" in learn("--overlay", "own.yaml")[1]


def test_written_numbers_are_checked_and_explained_with_their_evidence(learn, tmp_path, capsys):
    fill(tmp_path / "cases.db", "mill", 40, 4, 24)
    assert learn("--services-done", "lamp-change=2000", "-o", "own.yaml")[0] == exit_codes.DONE

    def told(*arguments):
        code = main([*arguments])
        return code, " ".join(capsys.readouterr().out.split())

    assert "causes.lamp-loose.frequency" in (tmp_path / "own.yaml").read_text()
    assert "revise" not in told("check", str(SMALL), "--overlay", "own.yaml")[1]
    shown = told("explain", "lamp-loose", "--knowledge", str(SMALL), "--overlay", "own.yaml")[1]
    assert "frequency: 16 instead of 8. 40 in 2,000 services, 1 shop" in shown
    (tmp_path / "own.yaml").write_text((tmp_path / "own.yaml").read_text().replace("was: 8,", "was: 9,"))
    code, said = told("check", str(SMALL), "--overlay", "own.yaml")
    assert code == exit_codes.KNOWLEDGE
    assert "The number was 9 when this was written and is 8 now. Look at it again." in said


def test_nothing_is_written_unasked_nor_over_a_file(learn, tmp_path):
    fill(tmp_path / "cases.db", "mill", 40, 0, 0)
    _, out, _ = learn()
    assert "Nothing was changed" in out
    assert not list(tmp_path.glob("*.yaml"))
    (tmp_path / "own.yaml").write_text("mine")
    code, _, err = learn("-o", "own.yaml")
    assert (code, "already exists" in err) == (exit_codes.FILES, True)
    assert (tmp_path / "own.yaml").read_text() == "mine"


def test_number_that_stays_is_printed_with_what_was_found_and_expected(learn, tmp_path):
    """9 loose lamps in 800 services; 8 of 1000 make 6.4 likely."""
    fill(tmp_path / "cases.db", "mill", 9, 0, 9)
    said = " ".join(learn("--services-done", "lamp-change=800")[1].split())
    assert "causes.lamp-loose.frequency stays 8: 9 in 800 services, 1 shop; expected 6.4; the cases allow" in said


def test_overlay_says_what_was_left_alone_and_why(learn, tmp_path):
    """A blown fuse asks for a tow in base.yaml: 0 in 5000 services do not make it rarer."""
    fill(tmp_path / "cases.db", "mill", 200, 0, 0)
    assert learn("--services-done", "lamp-change=5000", "-o", "own.yaml")[0] == exit_codes.DONE
    text = " ".join((tmp_path / "own.yaml").read_text().replace("#", "").split())
    assert "Left alone, not lowered: with this cause the car must not be driven" in text
    assert "causes.fuse-out.frequency 4 (found 0, expected 20)" in text


def test_one_shop_of_several(learn, tmp_path):
    fill(tmp_path / "cases.db", "mill", 40, 10, 30)
    fill(tmp_path / "cases.db", "hill", 0, 3, 0)
    code, out, _ = learn("--shop", "hill", "--services-done", "hill/lamp-change=100")
    said = " ".join(out.split())
    assert code == exit_codes.DONE
    assert "of 2 shops; numbers for shop hill." in said
    assert "causes.fuse-out.frequency stays 4: here 3 in about 100; all: 13 in about" in said


def test_predictions_are_made_by_running_proven_cases_again(learn, tmp_path):
    fill(tmp_path / "cases.db", "mill", 12, 0, 12)
    assert "running the 12 latest proven cases through today's knowledge" in " ".join(learn()[1].split())


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--services-done", "lamp-change"], "there is no service"),
        (["--services-done", "lamp-chang=5"], "Did you mean 'lamp-change'?"),
        (["--services-done", "lamp-change=0"], "'0' is not a number of services"),
        (["--services-done", "lamp-change=x"], "'x' is not a number of services"),
        (["--services-done", "lamp-change=5"], "for which shop?"),
        (["--shop", "dale"], "No closed case is from shop 'dale'"),
    ],
)
def test_bad_use_gets_one_clear_line(learn, tmp_path, arguments, words):
    fill(tmp_path / "cases.db", "mill", 1, 0, 0)
    fill(tmp_path / "cases.db", "hill", 1, 0, 0)
    code, _, err = learn(*arguments)
    assert code == exit_codes.USAGE
    assert words in err
