"""Compare a cold lint of one file, and of 200 files in one process, with yamllint.

Run with the Python of an environment that has holdshort and yamllint installed as wheels and
byte-compiled; a run that writes no byte code compiles an editable install anew each time and
measures that instead. ``python tests/bench_lint.py [--fresh]``: with ``--fresh`` a temporary
environment is made from a wheel of this tree first.
"""

import argparse
import compileall
import os
import shutil
import statistics
import subprocess
import sys
import sysconfig
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ROUNDS = 15


def complete_setup(folder: Path) -> Path:
    """Copy the complete example, about 300 lines, and its parts."""
    shutil.copytree(ROOT / "examples" / "parts", folder / "parts", dirs_exist_ok=True)
    return Path(shutil.copy(ROOT / "examples" / "tarn-swift.yaml", folder / "one.yaml"))


def environment() -> dict[str, str]:
    """Return the environment without the switch that keeps byte code from being written."""
    return {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


def measure(command: list[str], rounds: int) -> tuple[float, float]:
    """Return the median wall time in seconds and the peak memory in MB of a command."""
    times: list[float] = []
    peak = 0.0
    for _ in range(rounds):
        start = time.perf_counter()
        process = subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment()
        )
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode not in {0, 1}:
            raise SystemExit(f"{command[0]} ended with {process.returncode}: nothing was measured")
        times.append(time.perf_counter() - start)
        peak = max(peak, usage.ru_maxrss / 1024)
    return statistics.median(times), peak


def fresh_scripts(folder: Path) -> Path:
    """Install this tree as a wheel, with yamllint, into a new environment; return its scripts."""
    subprocess.run([sys.executable, "-m", "venv", str(folder / "env")], check=True)
    scripts = folder / "env" / "bin"
    subprocess.run(
        [str(scripts / "python"), "-m", "pip", "install", "-q", str(ROOT), "yamllint"],
        check=True,
        env=environment(),
    )
    library = next((folder / "env" / "lib").iterdir())
    compileall.compile_dir(str(library), quiet=2)
    return scripts


def main() -> None:
    """Print both comparisons."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fresh", action="store_true")
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        scripts = fresh_scripts(folder) if arguments.fresh else Path(sysconfig.get_path("scripts"))
        files = folder / "files"
        files.mkdir()
        report(complete_setup(files), files, scripts, arguments.rounds)


def report(one: Path, folder: Path, scripts: Path, rounds: int) -> None:
    """Measure and print one file cold, then 200 files in one process."""
    print(f"{'':28}{'seconds':>10}{'MB':>8}")
    holdshort, yamllint = str(scripts / "holdshort"), str(scripts / "yamllint")
    lines = one.read_text().count("\n")
    floor = measure([str(scripts / "python"), "-c", "from pydantic import BaseModel"], rounds)
    ours = measure([holdshort, "lint", str(one)], rounds)
    theirs = measure([yamllint, "-d", "relaxed", str(one)], rounds)
    line("import of pydantic alone", floor)
    line(f"holdshort, {lines} lines", ours)
    line("yamllint, same file", theirs)
    print(f"one file: {ours[0] / theirs[0]:.2f} of yamllint's time")
    for number in range(200):
        shutil.copy(one, folder / f"copy-{number}.yaml")
    one.unlink()
    ours = measure([holdshort, "lint", str(folder)], 3)
    theirs = measure([yamllint, "-d", "relaxed", str(folder)], 1)
    line("holdshort, 200 files", ours)
    line("yamllint, 200 files", theirs)
    print(f"200 files: 1/{theirs[0] / ours[0]:.1f} of yamllint's time")


def line(label: str, figures: tuple[float, float]) -> None:
    """Print one row."""
    print(f"{label:28}{figures[0]:>10.3f}{figures[1]:>8.0f}")


if __name__ == "__main__":
    main()
