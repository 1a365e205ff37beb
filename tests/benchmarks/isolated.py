"""One measurement in a process of its own, with a limit on time and memory; where it stops is an answer."""

import json
import resource
import subprocess
import sys
from dataclasses import dataclass

SECONDS = 30
GIGABYTES = 8


@dataclass(frozen=True)
class Outcome:
    """What the process printed, or why there is no answer."""

    answer: dict | None
    reason: str = ""


def limit_memory() -> None:
    """Called in the process that measures, before it builds anything."""
    resource.setrlimit(resource.RLIMIT_AS, (GIGABYTES << 30, GIGABYTES << 30))


def report(**answer: object) -> None:
    """Print the answer of this process, with its peak memory in megabytes."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps({**answer, "peak_mb": peak}))


def run_isolated(script: str, *words: object) -> Outcome:
    """Run `script` with `words` by this interpreter; its last line of output is the answer."""
    command = [sys.executable, script, *map(str, words)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS, check=False)
    except subprocess.TimeoutExpired:
        return Outcome(None, f"no answer in {SECONDS} s")
    if done.returncode:
        last = (done.stderr.strip().splitlines() or [f"exit {done.returncode}"])[-1]
        out_of_memory = "alloc" in last.lower() or "memory" in last.lower()
        return Outcome(None, f"no answer in {GIGABYTES} GB" if out_of_memory else f"no answer: {last[:60]}")
    return Outcome(json.loads(done.stdout.strip().splitlines()[-1]))
