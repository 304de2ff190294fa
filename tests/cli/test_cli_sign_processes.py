"""Signing by several programs at once, and killed at the wrong moment: nothing is lost."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from holdshort.document import read_document

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren, propulsion: none}
parts: {rx: {kind: receiver, ports: {1..4: servo}}, servo: {kind: servo}}
devices: {rx: {part: rx}, tail: {part: servo}}
leads: [{from: rx.1, to: tail}]
radio: {channels: {1: {drives: elevator}}}   # one channel
surfaces: {elevator: {servo: tail}}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def command(file: Path, test: str, before: str = "") -> list[str]:
    arguments = ["sign", str(file), test, "--passed", "--by", "A", "--on", "2026-05-01"]
    code = f"import sys; sys.path[:] = {sys.path!r}\n{before}\n"
    code += f"from holdshort.cli import main\nsys.exit(main({arguments!r}))"
    return [sys.executable, "-c", code]


def test_several_at_once_lose_nothing(file: Path) -> None:
    names = ["centres", "directions", "travels", "failsafe", "balance"]
    several = [
        subprocess.Popen(command(file, name), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        for name in names
    ]
    for one in several:
        _, trouble = one.communicate(timeout=120)
        assert (one.returncode, trouble) == (0, b"")
    root: dict[str, Any] = read_document(file.read_bytes(), "wren.yaml").root
    assert sorted(entry["test"] for entry in root["sign-offs"]) == sorted(names)
    assert "# one channel" in file.read_text(encoding="utf-8")
    assert os.listdir(file.parent) == ["wren.yaml"]  # noqa: PTH208  - as it is


# Waits for ever where the new text would be put in the place of the old one.
STUCK = """
import pathlib, time
def stuck(self, target):
    pathlib.Path({ready!r}).touch()
    time.sleep(600)
pathlib.Path.replace = stuck
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs signals")
def test_killed_before_the_new_file_is_in_place_the_old_one_is_whole(
    file: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    ready = tmp_path_factory.mktemp("ready") / "now"
    child = subprocess.Popen(command(file, "centres", STUCK.format(ready=str(ready))))
    deadline = time.monotonic() + 60
    while not ready.exists() and time.monotonic() < deadline and child.poll() is None:
        time.sleep(0.02)
    assert ready.exists()
    os.kill(child.pid, signal.SIGKILL)
    child.wait(timeout=60)
    assert file.read_text(encoding="utf-8") == AIRCRAFT
    # What was written aside is left, and the next one is not hindered by it.
    done = subprocess.run(command(file, "centres"), capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"test: centres" in file.read_bytes()


FAILING = """
import pathlib
def failing(self, target):
    raise OSError(28, "No space left on device")
pathlib.Path.replace = failing
"""


def test_a_full_disk_leaves_the_old_file_and_says_so(file: Path) -> None:
    done = subprocess.run(command(file, "centres", FAILING), capture_output=True, check=False)
    assert (done.returncode, done.stdout) == (2, b"")
    assert b"No space left on device" in done.stderr
    assert b"Traceback" not in done.stderr
    assert file.read_text(encoding="utf-8") == AIRCRAFT
    assert [path.name for path in file.parent.iterdir()] == ["wren.yaml"]


def test_a_lint_without_sign_offs_loads_nothing_of_them(file: Path) -> None:
    names = ("known_tests", "proof", "stated", "outcomes", "figures")
    code = (
        f"import io, sys; sys.path[:] = {sys.path!r}\n"
        "from holdshort.cli import main\n"
        "kept, sys.stdout = sys.stdout, io.StringIO()\n"
        f"main(['lint', {str(file)!r}])\n"
        "sys.stdout = kept\n"
        f"print([name for name in {names!r} if f'holdshort.analysis.{{name}}' in sys.modules])\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)
    assert (done.stdout.strip(), done.stderr) == (b"[]", b"")
