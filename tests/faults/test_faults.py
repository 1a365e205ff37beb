"""A short run of the script that prints what the program bears; its full run is by hand."""

import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.skipif(sys.platform == "win32", reason="the faults need fork and kill")
def test_nothing_is_lost_and_nothing_ends_in_a_traceback():
    script = Path(__file__).with_name("faults.py")
    done = subprocess.run([sys.executable, script, "--short"], capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr[-8000:]
    lines = done.stdout.splitlines()[2:]
    assert len(lines) == 7
    assert all(line.endswith("| yes |") for line in lines)
