"""What a plain lint must not load: the whole budget of one file is start-up."""

import subprocess
import sys
from pathlib import Path

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "tarn-swift.yaml"

STAY_OUT = (
    "asyncio", "difflib", "email", "html", "http", "importlib.metadata", "jinja2", "json",
    "jsonschema", "logging", "matplotlib", "networkx", "numpy", "ruamel", "scipy", "socket",
    "subprocess", "traceback", "urllib.request", "xml",
)  # fmt: skip

LINT = f"""
import io, sys
from holdshort.cli import main
kept, sys.stdout = sys.stdout, io.StringIO()
code = main(["lint", {str(EXAMPLE)!r}])
sys.stdout = kept
print(code in (0, 1), sorted(name for name in {STAY_OUT!r} if name in sys.modules))
"""


def test_a_plain_lint_loads_nothing_it_does_not_need() -> None:
    # -S keeps the site module out, which loads what other installed packages ask it to.
    command = [sys.executable, "-S", "-c", f"import sys; sys.path[:] = {sys.path!r}\n{LINT}"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.stdout.strip(), done.stderr) == ("True []", "")
