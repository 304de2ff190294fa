"""What the outside checks share."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def spice() -> ModuleType:
    """Give the ngspice harness; skip the test where ngspice is not installed."""
    path = Path(__file__).with_name("spice.py")
    spec = importlib.util.spec_from_file_location("spice_harness", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    if module.NGSPICE is None:
        pytest.skip("ngspice is not installed; it is the reference for this test")
    return module
