"""The fix list for programs."""

import json
from pathlib import Path
from typing import Any, cast

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import holdshort.fixlist
from holdshort.fixlist.json_format import render_json
from holdshort.fixlist.report import FileReport, Report, Tally
from holdshort.rulebook import Hold

SCHEMA_FILE = Path(holdshort.fixlist.__path__[0]) / "fix-list.schema.json"
SCHEMA_TEXT = SCHEMA_FILE.read_text(encoding="utf-8")
SCHEMA: Any = json.loads(SCHEMA_TEXT)
GOLDEN = Path(__file__).parent / "golden"


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """Let no other key stand in an object, so that an undocumented key shows."""
    return {**schema, "additionalProperties": False} if schema.get("type") == "object" else schema


CLOSED: Any = json.loads(SCHEMA_TEXT, object_hook=close)


def check(data: Any, schema: Any) -> None:
    cast("Any", jsonschema.Draft202012Validator(schema)).validate(data)


def validate(text: str) -> Any:
    data = json.loads(text)
    check(data, CLOSED)
    return data


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_one_of_everything_fits_the_schema_key_for_key(full_report: Report) -> None:
    data = validate(render_json(full_report))
    assert data["format"] == "holdshort-fix-list"
    assert data["version"] == 1


def test_the_schema_refuses_a_report_without_its_tally(full_report: Report) -> None:
    data = json.loads(render_json(full_report))
    del data["files"][0]["tally"]["not_checked"]
    with pytest.raises(jsonschema.ValidationError, match="not_checked"):
        check(data, SCHEMA)


def test_one_of_everything_reads_as_agreed(full_report: Report) -> None:
    expected = (GOLDEN / "one-of-everything.json").read_text(encoding="utf-8")
    assert render_json(full_report) == expected


def test_a_finding_carries_everything(full_report: Report) -> None:
    finding = json.loads(render_json(full_report))["files"][0]["findings"][0]
    assert finding["rule"] == "too-much-voltage"
    assert (finding["severity"], finding["hold"]) == ("warning", "power-up")
    assert (finding["line"], finding["column"], finding["end_column"]) == (21, 5, 12)
    assert finding["path"] == "devices.regulator.output"
    assert finding["because"][1]["file"] == "hangar/shelf.yaml"
    assert finding["sources"] == [{"id": "C1", "text": "Ohm's law", "confidence": "derived"}]


def test_a_mistake_about_a_whole_file_has_no_line(full_report: Report) -> None:
    mistake = json.loads(render_json(full_report))["files"][1]["mistakes"][0]
    assert mistake["line"] is mistake["column"] is mistake["end_line"] is None
    assert mistake["file"] == "hangar/nix.yaml"


def test_the_tally_tells_later_from_held(early_report: Report) -> None:
    tally = validate(render_json(early_report))["tally"]
    assert tally["held"]["power-up"] == {"warning": 1, "caution": 0, "note": 0}
    assert tally["later"] == {"power-up": 0, "engine-run": 2, "flight": 1}


@settings(max_examples=60, deadline=None)
@given(st.text(alphabet=st.characters(), min_size=1))
def test_any_name_comes_back_and_the_text_is_printable_ascii(name: str) -> None:
    file = FileReport(name, "aircraft", name, tally=Tally())
    text = render_json(Report(Hold.FLIGHT, (file,)))
    assert {c for c in text if not " " <= c <= "~"} <= {"\n"}
    assert validate(text)["files"][0]["aircraft"] == name
