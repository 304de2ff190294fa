"""``holdshort record`` and ``holdshort verify``: round trips, tampering, refusals."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, cast

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import holdshort.fixlist
from holdshort.cli import main
from holdshort.fixlist.record import digest, render_record
from holdshort.fixlist.record_check import NoRecordError, read_record

SCHEMAS = Path(holdshort.fixlist.__path__[0])
PARTS = """\
holdshort-parts: 1
parts:
  rx: {kind: receiver, ports: {1..4: servo, supply: supply}}
  servo: {kind: servo}
"""
HANGAR = "holdshort-hangar: 1\nfollows: [uk]\n"
AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren, propulsion: piston, mass: {ready: 9 kg}}
catalogues: [parts.yaml]
devices: {rx: {part: rx}, tail: {part: servo}}
leads: [{from: rx.1, to: tail}]
radio: {channels: {1: {drives: elevator, travel: 90 %}}}
surfaces: {elevator: {servo: tail}}
"""
HOSTILE = "\u202e\x1b[2Jw.yaml"


def close(schema: dict[str, Any]) -> dict[str, Any]:
    return {**schema, "additionalProperties": False} if schema.get("properties") else schema


def check(name: str, data: Any) -> None:
    text = (SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")
    schema: Any = json.loads(text, object_hook=close)
    jsonschema.Draft202012Validator.check_schema(schema)
    cast("Any", jsonschema.Draft202012Validator(schema)).validate(data)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    (tmp_path / "parts.yaml").write_text(PARTS, encoding="utf-8")
    (tmp_path / "hangar.yaml").write_text(HANGAR, encoding="utf-8")
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


@pytest.fixture
def record(run: Any, file: Path) -> Path:
    path = file.with_name("record.json")
    assert run("record", file, "-o", path).code == 0
    return path


def test_a_record_is_verified_where_nothing_changed(run: Any, record: Path) -> None:
    result = run("verify", record)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith("Verified: ")
    assert "fingerprint, not a signature" in result.out
    data = json.loads(run("verify", "--format", "json", record).out)
    check("verify", data)
    assert (data["verified"], data["changed"]) == (True, [])


def test_a_record_says_what_it_was_made_of(run: Any, record: Path, file: Path) -> None:
    data = json.loads(record.read_text(encoding="utf-8"))
    check("record", data)
    assert data["aircraft"] == "Wren"
    assert [data["file"]["name"], *(one["name"] for one in data["catalogues"])] == [
        "wren.yaml",
        "parts.yaml",
    ]
    assert data["hangar"]["name"] == "hangar.yaml"
    assert data["codes"] == ["uk"]
    assert [pack["name"] for pack in data["packs"]] == ["bench"]
    assert str(file.parent) not in record.read_text(encoding="utf-8")
    assert data["rules"] == {
        "clean": ["aircraft-too-heavy", "name-that-hurts"],
        "nothing_to_judge": ["battery-without-resistance"],
        "spoke": [],
    }
    assert all(one["standing"] == "not signed" for one in data["signed"])


def test_it_moves_with_its_folder_and_the_file_may_go_by_another_name(
    run: Any, record: Path, tmp_path: Path
) -> None:
    other = tmp_path / "elsewhere"
    other.mkdir()
    for name in ("record.json", "wren.yaml", "parts.yaml", "hangar.yaml"):
        shutil.move(tmp_path / name, other / name)
    assert run("verify", other / "record.json").code == 0
    (other / "wren.yaml").rename(other / "bird.yaml")
    assert run("verify", other / "record.json").code == 2
    assert run("verify", other / "record.json", "--file", other / "bird.yaml").code == 0
    assert record.name == "record.json"


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        ("wren.yaml", "90 %", "91 %", "The setup file `wren.yaml` has changed."),
        ("wren.yaml", "holdshort: 1", "# kept\nholdshort: 1", "`wren.yaml` has changed"),
        ("wren.yaml", "9 kg", "30 kg", "Found now, and not then: aircraft-too-heavy"),
        ("wren.yaml", "piston", "none", "The test `engine run` is no longer asked."),
        ("parts.yaml", "  rx:", "  # new\n  rx:", "The file of parts `parts.yaml` has changed."),
        ("hangar.yaml", "[uk]", "[us]", "The codes followed are now us."),
        ("hangar.yaml", "[uk]", "[uk] # yes", "The hangar file `hangar.yaml` has changed."),
    ],
)
def test_what_changed_is_said(
    run: Any, record: Path, name: str, old: str, new: str, says: str
) -> None:
    path = record.with_name(name)
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    result = run("verify", record)
    assert result.code == 1
    assert result.out.startswith("Not verified: ")
    assert says in " ".join(result.out.split())


def test_a_file_that_was_not_there_is_said(run: Any, record: Path) -> None:
    record.with_name("hangar.yaml").unlink()
    result = run("verify", record)
    assert result.code == 1
    assert "The hangar file `hangar.yaml` is no longer there" in result.out


def test_another_tool_and_another_pack_are_said(
    run: Any, record: Path, bench_pack: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("holdshort.fixlist.record.__version__", "9.9")
    page = bench_pack.pages / "aircraft-too-heavy.md"
    before = page.read_bytes()
    page.write_bytes(before + b"more\n")
    try:
        result = run("verify", record)
    finally:
        page.write_bytes(before)
    assert result.code == 1
    assert "and this is 9.9" in result.out
    assert "The rule pack `bench` has changed." in result.out


def test_a_finding_taken_out_by_hand_is_told_though_the_digest_was_made_anew(
    run: Any, file: Path
) -> None:
    file.write_text(AIRCRAFT.replace("9 kg", "30 kg"), encoding="utf-8")
    path = file.with_name("record.json")
    assert run("record", file, "-o", path).code == 1
    data = json.loads(path.read_text(encoding="utf-8"))
    assert data["says"].startswith("Record of an aircraft that is held: 1 finding holds flight")
    data["found"] = []
    path.write_text(render_record(data), encoding="utf-8")
    assert "its digest does not fit" in run("verify", path).out
    path.write_text(render_record({**data, "digest": digest(data)}), encoding="utf-8")
    result = run("verify", path)
    assert result.code == 1
    assert "Found now, and not then: aircraft-too-heavy" in " ".join(result.out.split())


def never_verified(record: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["verify", str(record)])
    captured = capsys.readouterr()
    assert code in {1, 2}
    assert "Verified:" not in captured.out
    assert "Traceback" not in captured.err
    assert "mistake in it" not in captured.err  # the program did not fail


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(name=st.sampled_from(["record.json", "record.json", "wren.yaml", "parts.yaml"]),
       at=st.integers(0), flip=st.integers(1, 255))  # fmt: skip
def test_no_flipped_byte_is_ever_verified(
    record: Path, capsys: pytest.CaptureFixture[str], name: str, at: int, flip: int
) -> None:
    path = record.with_name(name)
    before = path.read_bytes()
    changed = bytearray(before)
    changed[at % len(before)] ^= flip
    path.write_bytes(bytes(changed))
    try:
        never_verified(record, capsys)
    finally:
        path.write_bytes(before)


OTHER_WRITINGS: list[Callable[[str], str]] = [
    lambda text: text.replace('  "version": 1', '  "version":  1', 1),
    lambda text: text.rstrip("\n"),
    lambda text: text + " ",
    lambda text: "\ufeff" + text,
    lambda text: text.replace('"aircraft": "Wren"', '"aircraft": "Wren", "aircraft": "Wren"'),
    lambda text: text.replace('"Wren"', '"\\u0057ren"', 1),
    lambda text: text.replace('"codes": [', '"codes": [NaN, ', 1),
    lambda text: json.dumps(json.loads(text)),
    lambda text: text.replace("2026", "1026"),
    lambda text: text.replace('"signed": [', '"signed": 3, "was": ['),
]


@pytest.mark.parametrize("change", OTHER_WRITINGS)
def test_no_other_writing_of_a_record_is_verified(
    record: Path, capsys: pytest.CaptureFixture[str], change: Callable[[str], str]
) -> None:
    text = record.read_text(encoding="utf-8")
    assert change(text) != text
    record.write_text(change(text), encoding="utf-8")
    never_verified(record, capsys)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_a_record_filled_with_anything_is_judged_without_a_failure(
    record: Path, capsys: pytest.CaptureFixture[str], data: st.DataObject
) -> None:
    before = record.read_bytes()
    value = json.loads(before)
    key = data.draw(st.sampled_from(sorted(set(value) - {"format", "version", "digest"})))
    value[key] = data.draw(json_values.filter(lambda new: new != value[key]))
    record.write_text(render_record({**value, "digest": digest(value)}), encoding="utf-8")
    try:
        never_verified(record, capsys)
    finally:
        record.write_bytes(before)


@pytest.mark.parametrize(
    "data", [b"", b"{}", b"[]", b"\xff", b"[" * 100_000, b'{"format": "holdshort-record"}', b"1"]
)
def test_what_is_no_record_is_said(run: Any, tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "record.json"
    path.write_bytes(data)
    result = run("verify", path)
    assert (result.code, result.out) == (2, "")
    with pytest.raises(NoRecordError):
        read_record(data)


def test_hostile_names_are_written_out(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT.replace("Wren", "'</script>{{ 7*7 }}'"), encoding="utf-8")
    file = file.rename(file.with_name(HOSTILE))
    path = file.with_name("record.json")
    assert run("record", file, "-o", path).code == 0
    assert json.loads(path.read_text(encoding="utf-8"))["file"]["name"] == HOSTILE
    assert path.read_text(encoding="utf-8").isascii()
    for told in (run("record", "--format", "text", file).out, run("verify", path).out):
        assert not {"\x1b", "\u202e"} & set(told)
    assert run("verify", path).code == 0


def test_a_record_with_mistakes_says_so_first(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT + "failsafe: {nix: {after: 1 s}}\n", encoding="utf-8")
    result = run("record", file)
    assert result.code == 2
    data = json.loads(result.out)
    check("record", data)
    assert data["says"].startswith("Record of an aircraft that could not be judged in full: 1 mist")
    assert data["nothing_held_up_to"] is None


def test_a_failed_rule_is_in_the_record_without_its_traceback(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT.replace("Wren", "hurt"), encoding="utf-8")
    result = run("record", file)
    data = json.loads(result.out)
    assert result.code == 2
    assert data["failed_rules"] == [{"rule": "name-that-hurts", "pack": "bench"}]
    assert str(Path(__file__).parent) not in result.out


def test_an_open_question_is_not_counted_as_clear(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT.replace(", mass: {ready: 9 kg}", ""), encoding="utf-8")
    data = json.loads(run("record", file).out)
    assert data["hold_points"]["flight"] == {"held": 0, "not_checked": 1}
    assert data["nothing_held_up_to"] == "engine-run"


def test_standard_input_can_be_recorded_and_verified_by_its_file(
    run: Any, file: Path, here: Path
) -> None:
    result = run("record", "-", stdin=AIRCRAFT.encode())
    (here / "record.json").write_text(result.out, encoding="utf-8")
    assert json.loads(result.out)["file"]["name"] == "standard input"
    assert run("verify", here / "record.json").code == 2
    assert run("verify", here / "record.json", "--file", file).code == 0


@pytest.mark.parametrize(
    ("target", "more", "says"),
    [
        ("wren.txt", (), "ends in .json"),
        ("record.json", ("--format", "text"), "leave `--format` out"),
        ("nowhere/record.json", (), "could not be written"),
    ],
)
def test_what_cannot_be_written_is_said(
    run: Any, file: Path, target: str, more: tuple[str, ...], says: str
) -> None:
    result = run("record", file, "-o", file.parent / target, *more)
    assert (result.code, result.out) == (2, "")
    assert says in result.err


def test_a_setup_file_is_never_replaced(run: Any, file: Path) -> None:
    other = file.with_name("other.json")
    other.write_text('{"holdshort": 1, "aircraft": {"name": "x"}}', encoding="utf-8")
    assert run("record", file, "-o", other).code == 2
    assert other.read_text(encoding="utf-8").startswith('{"holdshort"')


def test_a_file_of_parts_has_no_record(run: Any, file: Path) -> None:
    result = run("record", file.with_name("parts.yaml"))
    assert (result.code, result.out) == (2, "")
    assert run("record", file.with_name("nix.yaml")).code == 2
    assert run("record", file.parent).code == 2
