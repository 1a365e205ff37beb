"""Knowledge files that are bombs: each must be refused, or read, in bounded time and memory."""

import json
import os
import resource
import time
from pathlib import Path

from storage_faults import Figure

from comeback.kb.examination import examine

MEMORY_MB, SECONDS = 1500, 60
LAUGHS = "\n".join([f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" if n else "a0: &a0 [x]" for n in range(9)])
BOMBS = {
    "aliases of aliases": LAUGHS,
    "100,000 brackets": "[" * 100_000,
    "50,000 braces": "{a: " * 50_000,
    "6 MB of text": "a: " + "x" * 6_000_000,
    "4.9 MB of one word": "causes: " + "x" * 4_900_000,
    "200,000 causes": "causes:\n" + "".join(f"  c{n}: {{}}\n" for n in range(200_000)),
    "300,000 keys of one cause": "causes:\n  a:\n" + "".join(f"    k{n}: 1\n" for n in range(300_000)),
    "10,000 causes with nothing in them": "causes:\n" + "".join(f"  c{n}: {{}}\n" for n in range(10_000)),
    "100,000 revisions": "revise:\n" + "".join(f"  causes.c{n}.frequency: {{}}\n" for n in range(100_000)),
    "one number of 4 million digits": "settings: {rate_per_hour: " + "9" * 4_000_000 + "}",
    "one key of 4 million signs": "x" * 4_000_000 + ": 1",
    "a NUL in every line": "a: \x00\n" * 100_000,
}


def bombs(folder: Path) -> Figure:
    """Read each beside the smallest knowledge, in a process with a limit on memory."""
    worst, most, bad = 0.0, 0.0, []
    for number, (name, text) in enumerate(BOMBS.items()):
        file = folder / f"{number}.yaml"
        file.write_text(text)
        seconds, peak, good = _read(file)
        worst, most = max(worst, seconds), max(most, peak)
        if not good or seconds > SECONDS:
            bad.append(f"{name} ({seconds:.0f} s, {peak:.0f} MB)")
    text = f"{len(BOMBS) - len(bad)} of {len(BOMBS)} refused cleanly, at most {worst:.0f} s and {most:.0f} MB"
    return "knowledge files that are bombs", text + (f"; not: {', '.join(bad)}" if bad else ""), not bad


def _read(file: Path) -> tuple[float, float, bool]:
    """(seconds, peak MB, refused with problems that name their place)."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_MB << 20, MEMORY_MB << 20))
        start = time.perf_counter()
        good = False
        try:
            knowledge, _, problems = examine(Path(__file__).parent.parent / "kb" / "small", file)
            good = knowledge is None and all(str(p).startswith(str(file)) and len(str(p)) < 1000 for p in problems)
        finally:
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            os.write(writing, json.dumps([time.perf_counter() - start, peak, good]).encode())
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as stream:
        seconds, peak, good = json.loads(stream.read() or "[0, 0, false]")
    os.waitpid(child, 0)
    return seconds, peak, good
