"""What a case says of a fix is held against the fix that its rule proposes."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from holdshort.analysis import Aircraft
from holdshort.rulebook import Edit, Finding, Fix, Hold, Outcome, Pack, Severity, Source, rule
from holdshort.testkit import run_cases

CASES = """\
rule: lamp-too-dim
base:
  holdshort: 1
  parts: {{lamp: {{kind: lights}}}}
  devices: {{lamp: {{part: lamp, note: dim}}, tail: {{part: lamp}}}}
cases:
  - name: dim
    finds:
      - {{at: devices.lamp.note, says: [dim]{lamp}}}
      - {{at: devices.tail, says: [dim]{tail}}}
"""


@rule(
    "lamp-too-dim",
    title="A dim lamp",
    severity=Severity.NOTE,
    hold=Hold.FLIGHT,
    subject="test",
    sources=("B1",),
)
def lamp_too_dim(aircraft: Aircraft) -> Iterator[Outcome]:
    lamp, tail = aircraft.setup.devices.values()
    edits = (Edit("set", lamp.at("note"), "bright"), Edit("remove", tail.at()))
    yield Finding(lamp.at("note"), "It is dim.", "Brighten it.", fix=Fix("Brightens it.", edits))
    yield Finding(tail.at(), "It is dim too.", "Brighten it.")


def problems(folder: Path, lamp: str, tail: str = "") -> list[str]:
    text = CASES.format(lamp=lamp, tail=tail)
    (folder / "lamp-too-dim.yaml").write_text(text, encoding="utf-8")
    sources = {"B1": Source("B1", "a book", "read")}
    pack = Pack("bench", 1, (lamp_too_dim,), sources, folder, folder)
    return [str(flaw) for result in run_cases(pack, lamp_too_dim) for flaw in result.problems]


@pytest.mark.parametrize(
    ("lamp", "tail"),
    [
        ("", ""),
        (", fixes: {devices.lamp.note: bright, devices.tail: null}", ""),
        ("", ", fixes: {}"),
    ],
)
def test_the_fix_that_is_expected(tmp_path: Path, lamp: str, tail: str) -> None:
    assert problems(tmp_path, lamp, tail) == []


@pytest.mark.parametrize(
    "lamp",
    [
        ", fixes: {}",
        ", fixes: {devices.lamp.note: bright}",
        ", fixes: {devices.lamp.note: warm, devices.tail: null}",
        ", fixes: {devices.lamp.note: bright, devices.rail: null}",
    ],
)
def test_another_fix_than_expected_is_a_flaw_where_it_is_expected(
    tmp_path: Path, lamp: str
) -> None:
    found = problems(tmp_path, lamp)
    assert len(found) == 1
    assert found[0].startswith(f"{tmp_path}/lamp-too-dim.yaml:9: expected the fix")
    assert "'devices.lamp.note': 'bright'" in found[0]


def test_a_fix_where_none_is_proposed_is_a_flaw(tmp_path: Path) -> None:
    found = problems(tmp_path, "", ", fixes: {devices.tail.note: bright}")
    assert [text.partition(", got ")[2] for text in found] == ["{}"]
