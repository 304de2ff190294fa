"""What a plain lint must not load: the whole budget of one file is start-up."""

import subprocess
import sys
from pathlib import Path

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"

STAY_OUT = (
    "asyncio", "concurrent.futures", "csv", "ctypes", "difflib", "email", "html", "http",
    "importlib.metadata", "jinja2", "json", "jsonschema", "logging", "matplotlib",
    "multiprocessing", "networkx", "numpy", "pickle", "pydantic.networks",
    "pydantic.plugin._loader", "rich", "ruamel", "scipy", "shutil", "socket", "statistics",
    "string", "subprocess", "tempfile", "traceback", "unicodedata", "urllib.request", "xml",
    "zipfile",
    "holdshort.analysis.bench_cards", "holdshort.analysis.compared",
    "holdshort.analysis.facts_document", "holdshort.editor", "holdshort.fixlist.json_format",
    "holdshort.rulebook.data_rules", "holdshort.rulebook.fixes", "holdshort.setup.schema",
    "holdshort.testkit",
)  # fmt: skip

OF_A_SECTION = (
    "holdshort.analysis.balance", "holdshort.analysis.data_paths",
    "holdshort.analysis.known_tests", "holdshort.analysis.logs.study",
    "holdshort.analysis.proof", "holdshort.analysis.stated", "holdshort.analysis.telemetry",
    "holdshort.rulebook.deferrals", "holdshort.rulebook.hangar", "holdshort.setup.balance",
    "holdshort.setup.evidence", "holdshort.setup.logs", "holdshort.setup.telemetry",
)  # fmt: skip
"""What a file pays for that has the section, or a hangar file above it."""

LINT = """
import io, sys
from holdshort.cli import main
kept, sys.stdout = sys.stdout, io.StringIO()
code = main(["lint", {file!r}])
sys.stdout = kept
print(code in (0, 1), sorted(name for name in {names!r} if name in sys.modules))
"""


def loaded(example: str, names: tuple[str, ...]) -> tuple[str, str]:
    """Lint an example in a new process; return whether it ran and which ``names`` it loaded."""
    script = LINT.format(file=str(EXAMPLES / example), names=names)
    # -S keeps the site module out, which loads what other installed packages ask it to.
    command = [sys.executable, "-S", "-c", f"import sys; sys.path[:] = {sys.path!r}\n{script}"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return done.stdout.strip(), done.stderr


def test_a_plain_lint_loads_nothing_it_does_not_need() -> None:
    assert loaded("tarn-swift.yaml", STAY_OUT) == ("True []", "")


def test_a_file_pays_only_for_the_sections_it_has() -> None:
    assert loaded("minimal.yaml", (*STAY_OUT, *OF_A_SECTION)) == ("True []", "")


def test_the_names_that_stay_out_are_names_of_modules() -> None:
    """A module that was renamed or taken out would be watched for in vain."""
    ours = [name for name in (*STAY_OUT, *OF_A_SECTION) if name.startswith("holdshort.")]
    script = "".join(f"import {name}\n" for name in ours)
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
