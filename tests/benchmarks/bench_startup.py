"""Time to --version, to --help, to the first question and to each next one, as a user at a terminal waits.

  python tests/benchmarks/bench_startup.py --times 7

Each start is a process of its own on a pseudo-terminal; a question counts as shown when its last
line has arrived. The knowledge is cached beforehand, as after the first start ever. Beside the milliseconds stands how
many bare starts of Python that is, for machines differ. Aims, not assertions: --version 2.5 bare starts, --help 4, the
first question 10; 100 ms to each next question. With a log there already, the first prompt also lists unfinished walks.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time

import pexpect

END = "\\? help"
CALL = ["n", "intake", "it idles too fast", "1", "n", "1", "1", "1", "d", "1", "1"]


def once(*arguments: str) -> float:
    """Seconds that a command takes from start to end."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], capture_output=True, check=True)
    return time.perf_counter() - start


def call(plain: bool, environment: dict[str, str]) -> tuple[float, float, list[float]]:
    """Seconds to the first question, to its prompt, and to each next question after Enter."""
    start = time.perf_counter()
    arguments = ["-m", "comeback.cli", "call", *(["--plain"] if plain else [])]
    child = pexpect.spawn(sys.executable, arguments, env=environment, dimensions=(24, 80), encoding="utf-8", timeout=60)
    child.delaybeforesend, child.ptyproc.delayafterterminate = 0, 0.5
    child.expect("driving right now")
    first = time.perf_counter() - start
    child.expect(f"{END}.*>")
    ready, waits = time.perf_counter() - start, []
    for typed in CALL:
        time.sleep(0.4)  # a person reads; the log's library loads meanwhile
        child.send(typed)
        time.sleep(0.05)
        begin = time.perf_counter()
        child.send("\r")
        if child.expect([END, "other words", "Read back"]) == 2:
            break
        waits.append(time.perf_counter() - begin)
    child.close(force=True)
    return first, ready, waits


def row(name: str, seconds: list[float], bare: float) -> str:
    """A line of the table: middle and worst in milliseconds, and the middle in bare starts of `bare` seconds."""
    ms = sorted(1000 * s for s in seconds)
    middle = statistics.median(ms)
    return f"| {name} | {len(ms)} | {middle:.0f} | {ms[-1]:.0f} | {middle / bare / 1000:.1f} |"


def main() -> None:
    """Measure and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=5)
    times = parser.parse_args().times
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "TERM": "xterm", "XDG_DATA_HOME": folder, "COMEBACK_LOG": "", "COMEBACK_BY": "Ida",
                       "XDG_CACHE_HOME": folder}  # fmt: skip
        call(True, environment)  # fills the cache
        bare = [once("-c", "pass") for _ in range(times)]
        rows = {
            "Python itself": bare,
            "--version": [once("-m", "comeback.cli", "--version") for _ in range(times)],
            "--help": [once("-m", "comeback.cli", "--help") for _ in range(times)],
        }
        for plain in (False, True):
            runs = [call(plain, environment) for _ in range(times)]
            kind = "plain" if plain else "line editor"
            rows[f"first question, {kind}"] = [first for first, _, _ in runs]
            rows[f"its prompt, {kind}"] = [ready for _, ready, _ in runs]
            rows[f"next question, {kind}"] = [wait for _, _, waits in runs for wait in waits]
        print("| what | times | median ms | worst ms | bare starts |\n|---|--:|--:|--:|--:|")
        for name, seconds in rows.items():
            print(row(name, seconds, statistics.median(bare)))


if __name__ == "__main__":
    main()
