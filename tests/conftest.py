"""Settings for all tests."""

import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).resolve().parent.parent

# `python -m pytest` puts the project folder on the import path, where the source roots `linter`
# and `rules` would pass for packages.
sys.path[:] = [entry for entry in sys.path if Path(entry or ".").resolve() != ROOT]

# Shared machines stall now and then: a slow example is no failure. CI draws the same ones again.
settings.register_profile(
    "default", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.register_profile("ci", parent=settings.get_profile("default"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "default")


@pytest.fixture(scope="session", autouse=True)
def _no_hangar_above(tmp_path_factory: pytest.TempPathFactory) -> None:
    """End the search for a hangar file at the folder of temporary files, whatever lies above."""
    (tmp_path_factory.getbasetemp() / ".git").mkdir(exist_ok=True)
