"""Lines a second from text to decoded values, by form of the text.

  python tests/benchmarks/bench_decode.py            # 100,000 lines of each form
  python tests/benchmarks/bench_decode.py --lines 20000

Aim, not an assertion: 10,000 lines a second. A line is one answer or one CAN frame.
"""

import argparse
import time

from comeback.engine.readout.protocol.framing import read_lines
from comeback.engine.readout.protocol.j1979 import collect

FORMS = {
    "bare answers": ["41 0C 0B 54", "41 05 7B", "41 07 9A", "41 0B 21"],
    "CAN, identifiers": ["7E8 04 41 0C 0B 54", "7E8 03 41 05 7B", "7E9 04 43 01 01 71"],
    "long answers": ["7E8 10 14 49 02 01 31 31 31", "7E8 21 31 31 31 31 31 31 31", "7E8 22 31 31 31 31 31 31 31"],
    "log with times": ["10:32:01.250 RX 41 0C 0B 54", "10:32:01.300 RX 41 05 7B"],
    "older link": ["48 6B 10 41 0C 0B 54 5F", "48 6B 10 41 05 7B 84"],
    "garbage": ["static on the line", "\x93\x88 41 zz", "NO DATA"],
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lines", type=int, default=100_000)
    count = parser.parse_args().lines
    print(f"{'form':20} {'lines':>8} {'s':>7} {'lines/s':>10}")
    for name, sample in FORMS.items():
        lines = (sample * (count // len(sample) + 1))[:count]
        start = time.perf_counter()
        collect(read_lines(lines))
        spent = time.perf_counter() - start
        print(f"{name:20} {count:8} {spent:7.2f} {count / spent:10.0f}")


if __name__ == "__main__":
    main()
