"""The invented scenario of the README: a call, taken over in the bay, repaired, proven and closed."""

import json
import os
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).parent.parent.parent


def comeback(tmp_path, *arguments):
    done = subprocess.run(
        [sys.executable, "-m", "comeback.cli", *arguments, "--json"],
        capture_output=True, text=True, cwd=TOP, timeout=120,
        env={**os.environ, "XDG_DATA_HOME": str(tmp_path), "COMEBACK_LOG": ""},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_the_scenario_ends_with_the_right_cause_proven(tmp_path):
    call = comeback(tmp_path, "call", "--answers", "tests/demo/call.yaml", "--by", "Ida", "--car", "green hatchback")
    assert call["disposition"] == "come-in"
    bay = comeback(tmp_path, "triage", call["case"], "--answers", "tests/demo/bay.yaml", "--by", "Ben")
    assert bay["closed"]["causes"] == ["map-sensor-not-seated"]
    assert bay["closed"]["proven"] is True
    asked_by_phone = {answer["check"] for answer in bay["answers"] if answer["audience"] == "phone"}
    before_repair = {a["check"] for a in bay["answers"] if a["audience"] == "bay" and not a["epoch"]}
    assert not asked_by_phone & before_repair
    assert len(before_repair) <= 12
