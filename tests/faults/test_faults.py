"""A short run of the script that prints what the program survives; its full run is by hand."""

import re
import subprocess
import sys
from pathlib import Path

import pytest


def rows(*arguments):
    """What the script says, line by line."""
    script = Path(__file__).with_name("faults.py")
    done = subprocess.run([sys.executable, script, *arguments], capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr[-8000:]
    return done.stdout.splitlines()[2:]


@pytest.mark.skipif(sys.platform == "win32", reason="the faults need fork and kill")
def test_nothing_is_lost_and_nothing_ends_in_a_traceback():
    lines = rows("--short")
    assert len(lines) == 9
    assert all(line.endswith("| yes |") for line in lines)


@pytest.mark.skipif(sys.platform == "win32", reason="strace is for Linux")
def test_each_answer_is_flushed_to_the_disk_before_it_is_acknowledged():
    (line,) = rows("--part", "flush")
    if "skipped" in line:
        pytest.skip("no strace here (apt-get install strace), or it may not trace")
    assert re.search(r"\| (\d+) answers acknowledged, \1 of them flushed before \|.*\| yes \|$", line)
