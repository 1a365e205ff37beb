"""`comeback check`: problems with their places, and the report."""

from pathlib import Path

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.kb import shipped_folder
from support.places import SMALL_FOLDER as SMALL

BROKEN = str(Path(__file__).parent.parent / "kb" / "rules" / "double_negative.yaml")


def checked(capsys, *arguments):
    code = run(["check", *arguments])
    out, err = capsys.readouterr()
    return code, out, err


def test_no_problem_is_said_with_what_was_read(capsys):
    code, out, err = checked(capsys, SMALL)
    assert (code, err) == (exit_codes.DONE, "")
    assert "No problems. 1 services, 1 complaints, 2 causes" in out
    assert out.splitlines()[0] == f"Read: 1 file in {SMALL}"


def test_each_problem_is_one_line_with_its_place(capsys):
    code, out, err = checked(capsys, SMALL, BROKEN)
    assert code == exit_codes.KNOWLEDGE
    assert f"{BROKEN}:3:24: Two negatives in one." in out
    assert err.endswith("problems.\n")
    assert "[double-negative]" in out


OWN = """\
revise:
  causes.lamp-loose.frequency: {value: 9, was: 8, evidence: counted, source: invented}
  complaints.dark.words: {add: [pitch black, gloomy]}
  causes.fuse-out.drive: {value: book, was: tow, reason: our cars light their way by two fuses}
"""


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A shop's own folder with one file, and no configuration or overlay but what the test says."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("COMEBACK_OVERLAY", raising=False)
    folder = tmp_path / "my-shop"
    folder.mkdir()
    (folder / "own.yaml").write_text(OWN)
    return folder


def test_it_says_what_was_read_and_what_the_overlay_changes(capsys, shop):
    code, out, _ = checked(capsys, SMALL, "--overlay", str(shop))
    assert code == exit_codes.DONE
    assert out.splitlines()[:5] == [
        f"Read: 1 file in {SMALL}",
        f"      1 file in {shop} (overlay)",
        "Revised by the overlay: 1 number and 2 texts or lists.",
        "Warns less than before, and says why:",
        "  own.yaml:4  causes.fuse-out.drive lowers `drive` from tow to book: our cars light their way by two fuses",
    ]


def test_the_shipped_folder_is_said_with_its_path_and_another_copy_is_named(capsys, shop, monkeypatch):
    monkeypatch.chdir(shop)
    folder = shipped_folder()
    said = "".join(checked(capsys)[1:])
    assert f"Read: {len(list(folder.glob('*.yaml')))} files in {folder} (came with the program)\n" in said
    assert "Not read" not in said
    (shop / "kb" / "knowledge").mkdir(parents=True)
    said = "".join(checked(capsys)[1:])
    assert "Not read: kb/knowledge in this folder, another copy. To check that: comeback check kb/knowledge" in said


def test_files_that_are_not_read_are_named_with_the_remedy(capsys, shop):
    (shop / "more.txt").write_text(OWN)
    (shop / "own.yaml.txt").write_text(OWN)
    for quiet in ("README.md", ".hidden", "own.yaml~", "own.bak"):
        (shop / quiet).write_text("a note")
    code, out, err = checked(capsys, SMALL, "--overlay", str(shop))
    assert code == exit_codes.KNOWLEDGE
    assert out.splitlines() == [
        f"{shop}/more.txt:1:1: This file is not read: knowledge is in files ending in .yaml. Rename it to more.yaml, "
        "or move it out of the folder. [not-read]",
        f"{shop}/own.yaml.txt:1:1: This file is not read: knowledge is in files ending in .yaml. Rename it to own.yaml,"
        " or move it out of the folder. [not-read]",
    ]
    assert f"1 file in {shop} (overlay)" in err


def test_an_overlay_checked_as_if_it_were_the_whole_is_told_so(capsys, shop):
    code, out, err = checked(capsys, str(shop))
    assert code == exit_codes.KNOWLEDGE
    assert out == (
        f"{shop}:1:1: No settings and no scale here: this looks like an overlay, a shop's own files beside the shipped "
        f"ones. Give it with --overlay: comeback check --overlay {shop} [overlay]\n"
    )
    assert err.endswith("1 problem.\n")


def test_a_slip_of_form_in_an_overlay_is_told_as_such_and_no_more(capsys, shop):
    (shop / "own.yaml").write_text("revise:\n\tcauses.x.frequency: 1\n")
    for arguments in ([str(shop)], ["--overlay", str(shop)]):
        _, out, _ = checked(capsys, *arguments)
        assert (
            out == f"{shop}/own.yaml:2:1: There is a tab here. Use spaces instead, two for each step inwards. [yaml]\n"
        )


def test_lines_to_write_instead_stand_alone_so_that_they_can_be_copied(capsys, shop):
    (shop / "own.yaml").write_text("complaints:\n  dark: {words: [gloomy]}\n")
    _, out, _ = checked(capsys, SMALL, "--overlay", str(shop))
    assert out.splitlines()[1:] == ["revise:", "  complaints.dark.words:", '    add: ["gloomy"]']


def test_the_report_counts_what_may_be_met_after_each_service(capsys):
    code, out, _ = checked(capsys, SMALL, "--report")
    assert code == exit_codes.DONE
    assert all(len(line) < 80 for line in out.splitlines())
    row = next(line for line in out.splitlines() if line.startswith("lamp-change"))
    assert row.split()[1:] == ["1", "1", "2", "4", "2"]


def test_the_report_names_causes_that_no_check_in_the_bay_tells_apart(capsys, shop):
    """Lamp seat and voltage part the two causes of the small files; a twin of one that shows the same is named."""
    told = "No check in the bay tells these apart"
    assert told not in checked(capsys, SMALL, "--report")[1]
    twin = Path(SMALL, "base.yaml").read_text().partition("  lamp-loose:\n")[2].partition("\n  fuse-out:")[0]
    (shop / "own.yaml").write_text(f"causes:\n  lamp-twin:\n{twin}\n")
    _, out, _ = checked(capsys, SMALL, "--overlay", str(shop), "--report")
    assert "  lamp-loose, lamp-twin" in out.partition(told)[2]


def test_problems_do_not_keep_the_report_back_but_are_counted(capsys):
    code, out, err = checked(capsys, SMALL, BROKEN, "--report")
    assert code == exit_codes.DONE
    assert "causes: these and all wear" in " ".join(out.split())
    assert "problems. To list: comeback check" in err
