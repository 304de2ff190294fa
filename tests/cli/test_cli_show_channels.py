"""``holdshort show channels`` from the shell."""

import json
from pathlib import Path

import pytest

from holdshort.cli import main

AIRCRAFT = """
holdshort: 1
radio:
  pulse: {centre: 1500 us, full: 500 us}
  channels:
    1: {drives: rudder, travel: 80 %}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "heron.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def test_the_table_is_printed(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["show", "channels", str(file)]) == 0
    # 1500 -+ 500 x 0.8 = 1100 and 1900
    assert "1100   1500   1900" in capsys.readouterr().out


def test_the_table_is_printed_for_programs(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["show", "channels", str(file), "--format", "json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["format"] == "holdshort-channels"
    assert found["channels"][0]["modes"][0]["low_us"] == pytest.approx(1100)


def test_what_cannot_be_read_is_told_and_left_out(
    file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file.write_text(AIRCRAFT + "    2: {drives: 7}\n", encoding="utf-8")
    assert main(["show", "channels", str(file)]) == 2
    captured = capsys.readouterr()
    assert "Left out, for mistakes of form: radio.channels.2." in captured.out
    assert "drives" in captured.err
