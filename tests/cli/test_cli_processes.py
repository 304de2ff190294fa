"""The command line as a process of its own: pipes, encodings, start-up, the installed command."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import holdshort
from holdshort.rulebook.packs import entry_points

SOURCE_ROOT = str(Path(holdshort.__file__).parents[1])
BENCH = """
import sys, types
from pathlib import Path
import holdshort.rulebook.packs as packs
from holdshort.rulebook import Clean, Hold, Pack, Severity, Source, rule

@rule("name-is-there", title="A name", severity=Severity.NOTE, hold=Hold.FLIGHT,
      subject="test", sources=("B1",))
def name_is_there(aircraft):
    yield Clean(aircraft.setup.place("aircraft"))

module = types.ModuleType("bench_process_pack")
sources = {"B1": Source("B1", "a book", "read")}
module.pack = Pack("bench", 1, (name_is_there,), sources, Path(), Path())
sys.modules["bench_process_pack"] = module
packs.entry_points = lambda: [("built-in", "bench_process_pack:pack")]
before = set(sys.modules)
from holdshort.cli import main
code = main(sys.argv[1:])
"""
LATE = (
    "json", "difflib", "traceback", "textwrap", "asyncio", "logging", "subprocess", "numpy",
    "jsonschema", "ruamel", "rich", "jinja2", "socket", "html", "xml",
)  # fmt: skip


def start(script: str, *arguments: str, **more: str) -> "subprocess.Popen[bytes]":
    environment = {**os.environ, **more}
    environment["PYTHONPATH"] = SOURCE_ROOT
    return subprocess.Popen(
        [sys.executable, "-c", script, *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment,
    )


@pytest.fixture
def wren(tmp_path: Path) -> str:
    file = tmp_path / "wren.yaml"
    file.write_text("holdshort: 1\naircraft: {name: Wren Ω}\n", encoding="utf-8")
    return str(file)


def test_a_reader_that_goes_away_is_no_error(wren: str) -> None:
    ended = f"{BENCH}\nsys.exit(code)"
    process = start(f"import time; time.sleep(0.3)\n{ended}", "lint", wren)
    assert process.stdout is not None
    process.stdout.close()
    assert process.stderr is not None
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait() == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_told(wren: str) -> None:
    full = f"import os; os.dup2(os.open('/dev/full', os.O_WRONLY), 1)\n{BENCH}\nsys.exit(code)"
    process = start(full, "lint", wren)
    _, err = process.communicate()
    assert process.returncode == 2
    assert err.decode().startswith("holdshort: The output could not be written: ")
    assert err.count(b"\n") == 1


def test_a_terminal_of_another_encoding(wren: str) -> None:
    process = start(f"{BENCH}\nsys.exit(code)", "lint", wren, PYTHONIOENCODING="ascii")
    out, err = process.communicate()
    assert (process.returncode, err) == (0, b"")
    assert rb"Wren \u03a9" in out


def test_lint_loads_only_what_it_needs(wren: str) -> None:
    report = f"{BENCH}\nprint(sorted(set(sys.modules) - before), file=sys.stderr)"
    process = start(report, "lint", wren)
    _, err = process.communicate()
    loaded = set(err.decode().strip("[]\n").replace("'", "").split(", "))
    assert "holdshort.cli.lint" in loaded
    assert not {name for name in loaded if name.split(".")[0] in LATE}
    ours = {name for name in loaded if name.startswith("holdshort.cli.")}
    assert not ours & {"holdshort.cli.start", "holdshort.cli.rules", "holdshort.cli.schema"}


def test_the_version_loads_neither_models_nor_rules() -> None:
    script = (
        "import sys\nfrom holdshort.cli import main\nmain(['--version'])\n"
        "print(sorted(name for name in sys.modules if name.split('.')[0] in"
        " ('pydantic', 'yaml')), file=sys.stderr)"
    )
    process = start(script)
    out, err = process.communicate()
    assert out.decode() == f"holdshort {holdshort.__version__}\n"
    assert err == b"[]\n"


def test_the_package_runs_as_a_module() -> None:
    process = start("import runpy; runpy.run_module('holdshort', run_name='__main__')")
    out, _ = process.communicate()
    assert process.returncode == 2
    assert out.startswith(b"usage: holdshort")


@pytest.mark.skipif(not entry_points(), reason="no rule pack is installed here")
def test_the_installed_rules_hold_no_starting_file(tmp_path: Path) -> None:
    command = shutil.which("holdshort", path=str(Path(sys.executable).parent))
    if command is None:
        pytest.skip("the command is not installed here")
    listed = subprocess.run([command, "start"], check=True, capture_output=True)
    layouts = [line.split()[0].decode() for line in listed.stdout.splitlines()]
    for layout in layouts:
        started = str(tmp_path / f"{layout}.yaml")
        subprocess.run([command, "start", layout, "-o", started], check=True)
    linted = subprocess.run(
        [command, "lint", "--format", "json", str(tmp_path)], check=False, capture_output=True
    )
    data = json.loads(linted.stdout)
    assert linted.returncode == 0, linted.stdout
    assert len(data["files"]) == len(layouts) > 0
    assert data["tally"]["clean"] > 0
    assert data["tally"]["mistakes"] == data["tally"]["crashes"] == 0
    told = {
        (found["rule"], found["severity"]) for file in data["files"] for found in file["findings"]
    }
    assert told == {("single-failure-loses-control", "note")}  # of the single-receiver layouts
