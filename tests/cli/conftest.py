"""A small rule pack that the command line finds in place of what is installed."""

import io
import sys
import types
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from holdshort.analysis import Aircraft
from holdshort.cli import main
from holdshort.rulebook import (
    Clean,
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Severity,
    Source,
    rule,
)


@rule(
    "aircraft-too-heavy",
    title="The aircraft is heavier than it may be",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="weight",
    sources=("B1",),
)
def too_heavy(aircraft: Aircraft) -> Iterator[Outcome]:
    declared = aircraft.setup.aircraft
    ready = declared.mass.ready if declared and declared.mass else None
    place = aircraft.setup.place("aircraft", "mass", "ready")
    if ready is None:
        yield NotChecked(place, "the mass ready to fly")
    elif ready > 25:
        yield Finding(place, f"It weighs {ready.text}.", "Build a lighter one.")
    else:
        yield Clean(place)


@rule(
    "battery-without-resistance",
    title="A battery whose resistance is not known",
    severity=Severity.NOTE,
    hold=Hold.POWER_UP,
    subject="power",
    sources=("B1",),
)
def no_resistance(aircraft: Aircraft) -> Iterator[Outcome]:
    for battery in aircraft.setup.of_kind("battery"):
        if getattr(battery.part, "resistance", None) is None:
            yield Finding(battery.at(), f"`{battery.name}` gives no resistance.", "Measure it.")
        else:
            yield Clean(battery.at())


@rule(
    "name-that-hurts",
    title="A rule that fails at a certain name",
    severity=Severity.NOTE,
    hold=Hold.FLIGHT,
    subject="test",
    sources=("B1",),
)
def hurting(aircraft: Aircraft) -> Iterator[Outcome]:
    if aircraft.setup.name == "stop":
        sys.exit(0)
    if aircraft.setup.name == "hurt":
        raise RuntimeError("that \x1b[31mhurt")
    yield Clean(aircraft.setup.place())


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("pages")
    text = "# The aircraft is heavier than it may be\n\nWhy **mass** matters.\n\x1b[2J\n"
    (folder / "aircraft-too-heavy.md").write_text(text, encoding="utf-8")
    (folder / "name-that-hurts.md").write_bytes(b"\xff\xfe not text")
    return folder


@pytest.fixture(scope="module", autouse=True)
def bench_pack(pages: Path) -> Iterator[Pack]:
    rules = (too_heavy, no_resistance, hurting)
    sources = {"B1": Source("B1", "a book about birds", "from memory")}
    pack = Pack("bench", 1, rules, sources, pages, pages)
    module = types.ModuleType("bench_pack_for_tests")
    module.__dict__["pack"] = pack
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, module.__name__, module)
        offered = [("built-in", f"{module.__name__}:pack")]
        patch.setattr("holdshort.rulebook.packs.entry_points", lambda: offered)
        yield pack


class Result:
    """What one run gave back."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code = code
        self.out = out
        self.err = err


Run = Callable[..., Result]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    def command(*arguments: str | Path, stdin: bytes | None = None) -> Result:
        if stdin is not None:
            monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        code = main([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        assert "Traceback" not in captured.err
        return Result(code, captured.out, captured.err)

    return command


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty current folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path
