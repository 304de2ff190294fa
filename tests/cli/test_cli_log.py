"""``holdshort log``: files of every kind from the shell, and what comes back."""

import json
import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holdshort.cli import log_files
from holdshort.cli.log_files import LogFileError, read_pieces

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, resistance: 50 mΩ}
  rx: {kind: receiver, voltage: {min: 4 V, max: 9 V}, ports: {1..4: servo, supply: supply},
       draws: {rest: 0.1 A, cruise: 1 A, peak: 2 A, start: 0.1 A}}
devices: {pack: {part: pack}, rx: {part: rx}}
leads:
  - {from: pack, to: rx.supply, wire: 22 AWG, length: 20 cm}
log:
  time: Time
  columns:
    Rx V: {measures: voltage, at: rx}
    Pack A: {measures: current, of: pack}
"""
ROWS = ["Time,Rx V,Pack A", *[f"{at / 10},{8.2 - at % 3 / 100},{1 + at % 3}" for at in range(60)]]
GOOD = "\n".join(ROWS) + "\n"
DIP = GOOD.replace("3.0,8.2,1", "3.0,3.1,1")


@pytest.fixture
def file(here: Path) -> Path:
    path = here / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def logged(here: Path, data: str | bytes, name: str = "run.csv") -> Path:
    path = here / name
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    return path


def test_a_log_in_order(run: Any, file: Path, here: Path) -> None:
    result = run("log", file, logged(here, GOOD))
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith(f"Log {here / 'run.csv'} of Wren\n{file}\n")
    assert "No voltage under its limit" in result.out


def test_a_dip_is_held(run: Any, file: Path, here: Path) -> None:
    result = run("log", file, logged(here, DIP))
    assert (result.code, result.err) == (1, "")
    assert "DIP at `rx`" in result.out


def test_a_voltage_over_the_rating_is_held(run: Any, file: Path, here: Path) -> None:
    result = run("log", file, logged(here, GOOD.replace("3.0,8.2,1", "3.0,9.4,1")))
    assert (result.code, result.err) == (1, "")
    text = " ".join(result.out.split())
    assert "Measured highest 9.40 V at 3.00 s: OVER ITS RATING of 9.00 V" in text


def test_json_and_another_test(run: Any, file: Path, here: Path) -> None:
    result = run("log", file, logged(here, DIP), "--format", "json", "--sign", "each supply alone")
    data = json.loads(result.out)
    assert (result.code, data["format"], data["rows"]) == (1, "holdshort-log", 60)
    assert data["sign"]["test"] == "each supply alone"
    assert data["voltages"][0]["dips"]["count"] == 1


def test_a_test_that_is_not_known(run: Any, file: Path, here: Path) -> None:
    result = run("log", file, logged(here, GOOD), "--sign", "voltage under lode")
    assert (result.code, result.out) == (2, "")
    assert "Did you mean `voltage under load`?" in result.err


def test_the_newest_log_is_found_beside_the_setup_file(run: Any, here: Path) -> None:
    folder = here / "wren"
    folder.mkdir()
    file = folder / "wren.yaml"
    file.write_text(AIRCRAFT + "  files: [old.csv, run.csv]\n", encoding="utf-8")
    logged(folder, DIP)
    assert run("log", file).code == 1
    file.write_text(AIRCRAFT, encoding="utf-8")
    result = run("log", file)
    assert (result.code, result.out) == (2, "")
    assert "`log: files:`" in result.err


@pytest.mark.parametrize(
    "data",
    [
        b"\xef\xbb\xbf" + DIP.encode(),
        DIP.replace("\n", "\r\n").encode(),
        DIP.replace("\n", "\r").encode(),
        DIP.encode("utf-16"),
        b"\xfe\xff" + DIP.encode("utf-16-be"),
        DIP.replace("Pack A", "Pack A,T\xb0").replace(",1\n", ",1,9\n").replace(",2\n", ",2,9\n")
        .replace(",3\n", ",3,9\n").encode("latin-1"),
        DIP.rstrip("\n").encode(),
    ],
)  # fmt: skip
def test_marks_line_ends_and_encodings(
    run: Any, file: Path, here: Path, monkeypatch: pytest.MonkeyPatch, data: bytes
) -> None:
    path = logged(here, data)
    result = run("log", file, path, "--format", "json")
    assert (result.code, json.loads(result.out)["rows"]) == (1, 60)
    whole = [line for piece in read_pieces(str(path)) for line in piece.lines]
    assert [line.partition(",")[0] for line in whole[:3]] == ["Time", "0.0", "0.1"]
    for size in (7, 64, 100):
        monkeypatch.setattr(log_files, "PIECE", size)
        cut = [line for piece in read_pieces(str(path)) for line in piece.lines]
        assert cut == whole


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (b"\n\n \n", "is empty"),
        (b"Time,Rx V\n\x00\x01\x02\n", ":2: this is not text"),
        (b"\x1f\x8b\x08\x00rest", "is compressed"),
        (b"a,b\n1,2\n", "has no column `Time`"),
        (b"Time,b\n1,2\n", "none of the columns"),
        (b"1,2,3\n4,5,6\n", "no headings: write `column 1`"),
        (b"Time,Rx V,Pack A\n", "no row could be read"),
        (b"Time,Rx V,Pack A\nsoon,1,2\n", "line 2: `soon`"),
        (os.urandom(64).replace(b"\n", b"x") * 8 + b"\0", "not text"),
    ],
)
def test_what_is_no_log_is_one_sentence(
    run: Any, file: Path, here: Path, data: bytes, says: str
) -> None:
    result = run("log", file, logged(here, data))
    assert (result.code, result.out) == (2, "")
    assert result.err.count("\n") == 1
    assert says in result.err


def test_a_charge_that_was_not_counted_is_no_figure(run: Any, file: Path, here: Path) -> None:
    assert "charge from" in run("log", file, logged(here, GOOD)).out
    one_row = "".join(GOOD.splitlines(keepends=True)[:2])
    assert "charge from" not in run("log", file, logged(here, one_row)).out


def test_times_in_another_form_are_told_with_the_forms_that_are_read(
    run: Any, file: Path, here: Path
) -> None:
    head = GOOD.splitlines(keepends=True)[0]
    assert head.startswith("Time,")
    row = "04.05.2026 12:00:00" + "," * (head.count(","))
    result = run("log", file, logged(here, f"{head}{row}\n"))
    assert (result.code, result.out) == (2, "")
    assert "Times are read as" in result.err


def test_a_line_without_an_end_is_no_table(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = logged(here, "Time,V\n" + "1" * 400)
    monkeypatch.setattr(log_files, "PIECE", 64)
    monkeypatch.setattr(log_files, "ENDLESS", 64)
    with pytest.raises(LogFileError, match=":2: this line has no end"):
        list(read_pieces(str(path)))


def test_a_row_that_is_far_too_long_is_left_out(run: Any, file: Path, here: Path) -> None:
    long = "5.95,8.2," + "1" * (2 * log_files.LONGEST)
    quoted = '5.96,"8.2,1' + "x" * log_files.LONGEST
    result = run("log", file, logged(here, f"{GOOD}{long}\n{quoted}\n6.0,8.1,2\n"))
    assert result.code == 0
    assert "1 cell in `Pack A` without a number, first in line 62" in " ".join(result.out.split())
    assert "1 row with too few cells, first in line 63" in " ".join(result.out.split())
    assert "62 rows" in result.out


FRAGMENTS = st.sampled_from(
    [b",", b";", b"\t", b"\n", b"\r", b'"', b"'", b"1", b"-2.5", b"7,5", b"nan", b"inf", b"1e999",
     b"-1e308", b"12:59:60", b"2026-05-04T10:00:00", b"\x00", b"\xff\xfe", b"\xef\xbb\xbf",
     b"\xe2\x80\xa8", b"Time", b"Rx V", b"Pack A", b"Time,Rx V,Pack A\n", b"0,7.4,1\n",
     b"1,3.0,9\n"]
)  # fmt: skip


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(FRAGMENTS | st.binary(max_size=5), max_size=40).map(b"".join), st.booleans())
def test_any_bytes_end_in_a_report_or_a_sentence(
    run: Any, file: Path, here: Path, data: bytes, headed: bool
) -> None:
    """The fixture `run` fails on a traceback; nothing that could move a terminal comes out."""
    path = logged(here, (b"Time,Rx V,Pack A\n" if headed else b"") + data)
    result = run("log", file, path)
    assert result.code in {0, 1, 2}
    assert result.out or result.err
    assert "mistake in it" not in result.err
    assert not set(result.out + result.err) & {chr(at) for at in range(32) if at != 10}
    packed = run("log", file, path, "--format", "json")
    assert packed.code == result.code
    if packed.out:
        json.loads(packed.out, parse_constant=pytest.fail)


def test_files_that_cannot_be_read(run: Any, file: Path, here: Path) -> None:
    for name in (here / "nix.csv", here, "a\0b"):
        result = run("log", file, name)
        assert (result.code, result.out) == (2, "")
        assert result.err
    assert run("log", here / "nix.yaml", logged(here, GOOD)).code == 2


def test_without_a_log_section_the_headings_are_told(run: Any, file: Path, here: Path) -> None:
    file.write_text(AIRCRAFT[: AIRCRAFT.index("log:")], encoding="utf-8")
    result = run("log", file, logged(here, GOOD))
    assert (result.code, result.out) == (2, "")
    assert "has no section `log`" in result.err
    assert "`Time`, `Rx V`, `Pack A`" in result.err


def test_mistakes_of_form_under_log_are_told_once(run: Any, file: Path, here: Path) -> None:
    file.write_text(AIRCRAFT.replace("measures: voltage", "measures: volts"), encoding="utf-8")
    result = run("log", file, logged(here, GOOD))
    assert (result.code, result.out) == (2, "")
    assert "mistakes of form under `log`" in result.err
    assert "`volts` is not" in result.err.lower()


def test_a_missing_column_is_told_and_the_others_are_read(run: Any, file: Path, here: Path) -> None:
    result = run("log", file, logged(here, GOOD.replace("Pack A", "Amps")))
    assert result.code == 2
    assert "`Pack A` is not a column of this log." in result.out
    assert "Rx V at rx" in result.out


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("at: rx}", "at: rxx}"),
        ("of: pack}", "of: pck}"),
        ("at: rx}", "at: rx.9}"),
        ("at: rx}", "of: rx}"),
        ("at: rx}", "at: rx, unit: A}"),
        ("at: rx}", "at: rx, each-row: true}"),
        ("measures: voltage, at: rx}", "measures: voltage}"),
        ("{measures: current, of: pack}", "{measures: position, of: channel 3}"),
        ("{measures: current, of: pack}", "{measures: link-quality, of: nowhere}"),
    ],
)
def test_columns_that_cannot_be_are_located_mistakes(
    run: Any, file: Path, here: Path, change: str, says: str
) -> None:
    text = AIRCRAFT.replace(change, says)
    if "channel 3" in says:
        text += "radio: {channels: {1: {drives: aileron}}}\n"
    file.write_text(text, encoding="utf-8")
    result = run("log", file, logged(here, GOOD))
    assert result.code == 2
    line = 13 if "Rx V" in text.splitlines()[12] and says in text.splitlines()[12] else 14
    assert f"{file}:{line}: " in result.err


def test_a_picture_beside_the_text(run: Any, file: Path, here: Path) -> None:
    pytest.importorskip("matplotlib")
    path = logged(here, DIP)
    assert run("log", file, path, "--plot", here / "run.svg").code == 1
    assert (here / "run.svg").read_bytes().startswith(b"<?xml")
    for name in ("run.pdf", str(path), str(file)):
        refused = run("log", file, path, "--plot", name)
        assert (refused.code, refused.out) == (2, "")
    link = here / "link.svg"
    link.symlink_to(path)
    assert run("log", file, path, "--plot", link).code == 2
    assert path.read_text(encoding="utf-8") == DIP


def test_hostile_headings_reach_no_terminal(run: Any, file: Path, here: Path) -> None:
    result = run("log", file, logged(here, "\x1b[2J,\x9b31m\n1,2\n"))
    assert (result.code, result.out) == (2, "")
    assert "\x1b" not in result.err
    assert "\x9b" not in result.err
    assert r"\x1b[2J" in result.err


def test_the_help_has_an_example(run: Any) -> None:
    result = run("log", "--help")
    assert result.code == 0
    assert "log aircraft.yaml bench-run.csv" in result.out
