"""Compare reading a long log with pandas and Polars: whole processes, the same file, one run.

The others read the columns and give minimum, mean and maximum of each; ``holdshort log`` finds
dips, charge, energy, resistance and losses as well, and needs no compiled library.
``python tests/bench_log.py [--rows N] [--rounds N]``; a library that is not installed is left out.
"""

import argparse
import importlib.util
import json
import os
import statistics
import subprocess
import sys
import sysconfig
import tempfile
import time
from pathlib import Path

SETUP = {
    "holdshort": 1,
    "parts": {
        "pack": {"kind": "battery", "chemistry": "lipo", "cells": 3, "capacity": "5000 mAh"},
        "rx": {"kind": "receiver", "voltage": {"min": "4 V"}, "ports": {"supply": "supply"}},
    },
    "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}},
    "leads": [],
    "log": {
        "time": "Time",
        "columns": {
            "Rx V": {"measures": "voltage", "at": "rx"},
            "Pack V": {"measures": "voltage", "at": "pack"},
            "Pack A": {"measures": "current", "of": "pack"},
            "LQ": {"measures": "link-quality", "of": "rx"},
            "Lost": {"measures": "lost-frames", "of": "rx"},
            "Ail": {"measures": "position", "of": "aileron"},
        },
    },
}
FRAME = """
import {library} as library
frame = library.read_csv({path!r})
print(frame.min(), frame.mean(), frame.max())
"""


def write_log(path: Path, rows: int) -> None:
    """Write an invented log at 100 Hz with a dip every thousand seconds."""
    with path.open("w", encoding="utf-8") as file:
        file.write("Time,Rx V,Pack V,Pack A,LQ,Lost,Ail,Spare\n")
        for at in range(rows):
            ampere = 1.0 + at * 7919 % 8000 / 1000.0
            volts = 3.4 if at % 100_000 in range(50_000, 50_030) else 7.4 - 0.02 * ampere
            file.write(
                f"{at / 100:.2f},{volts:.2f},{12.4 - 0.016 * ampere:.3f},{ampere:.2f},"
                f"{90 + at * 31 % 11},{at // 5000},{at * 37 % 201 - 100},0\n"
            )


def measure(command: list[str], rounds: int) -> tuple[float, float]:
    """Return the median wall time in seconds and the peak memory in MB of a command."""
    times: list[float] = []
    peak = 0.0
    for _ in range(rounds):
        start = time.perf_counter()
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, status, usage = os.wait4(process.pid, 0)
        if os.waitstatus_to_exitcode(status) not in {0, 1}:
            raise SystemExit(f"this failed: {command}")
        times.append(time.perf_counter() - start)
        peak = max(peak, usage.ru_maxrss / 1024)
    return statistics.median(times), peak


def main() -> None:
    """Print the comparison."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=3)
    arguments = parser.parse_args()
    holdshort = str(Path(sysconfig.get_path("scripts")) / "holdshort")
    with tempfile.TemporaryDirectory() as folder:
        setup, log = Path(folder) / "setup.yaml", Path(folder) / "log.csv"
        setup.write_text(json.dumps(SETUP), encoding="utf-8")
        write_log(log, arguments.rows)
        print(f"{arguments.rows:,} rows, {log.stat().st_size / 1e6:.0f} MB")
        print(f"{'':12}{'seconds':>10}{'MB':>8}")
        commands = {"holdshort": [holdshort, "log", str(setup), str(log)]}
        for library in ("pandas", "polars"):
            if importlib.util.find_spec(library) is not None:
                code = FRAME.format(library=library, path=str(log))
                commands[library] = [sys.executable, "-c", code]
        for name, command in commands.items():
            seconds, peak = measure(command, arguments.rounds)
            print(f"{name:12}{seconds:>10.2f}{peak:>8.0f}")


if __name__ == "__main__":
    main()
