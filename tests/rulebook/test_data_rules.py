"""Rules in YAML: what they find, what they cannot judge, and every mistake named at its place."""

import contextlib
import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

import holdshort.rulebook
from holdshort.analysis import Aircraft
from holdshort.analysis.fact_book import normalised_path, path_of
from holdshort.document import read_document, read_file, show_path
from holdshort.rulebook import Judgement, judge
from holdshort.rulebook.data_rules import (
    SECTIONS,
    DataPackError,
    NeedEntry,
    RuleEntry,
    SourceEntry,
    plain_words,
    read_pack,
)
from holdshort.rulebook.iregexp import is_iregexp
from holdshort.rulebook.open_facts import Unknown
from holdshort.rulebook.packs import PackError
from holdshort.rulebook.work_meter import CountedList, CountedMap, Meter, TooMuchWorkError
from holdshort.setup import load
from holdshort.setup.base import Section

pytest.importorskip("jsonpath_rfc9535", reason="the extra `club` is not installed")
pytest.importorskip("re2", reason="the extra `club` is not installed")

import iregexp_check
from jsonschema import Draft202012Validator

from holdshort.rulebook import bounded_patterns, json_paths, json_schemas

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren, propulsion: electric-fan, flight-time: 5 min}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, capacity: 2000 mAh, resistance: 10 mΩ}
  rx: {kind: receiver, voltage: {min: 4 V, max: 9 V}, ports: {1..4: servo, supply: supply},
       draws: {rest: 0.1 A, cruise: 0.1 A, peak: 0.1 A, start: 0.1 A}}
  servo: {kind: servo, voltage: {min: 4 V, max: 9 V}, idle-current: 10 mA, cruise-current: 200 mA,
          ratings: [{at: 8.4 V, stall-current: 2 A}]}
devices:
  main: {part: pack}
  rx: {part: rx, note: front}
  ail: {part: servo}
leads:
  - {from: main, to: rx.supply, wire: 20 AWG, length: 30 cm}
  - {from: rx.1, to: ail, wire: 22 AWG, length: 30 cm}
radio:
  pulse: {centre: 1500 us, full: 500 us}
  channels: {1: {drives: aileron, travel: 100 %}}
failsafe: {rx: {after: 1 s, channels: {1: neutral}}}
"""

HEAD = """\
holdshort-rules: 1
name: north-field
sources:
  field: {text: Rules of the field., confidence: read}
rules:
"""


def aircraft(text: str = AIRCRAFT) -> Aircraft:
    def no_catalogue(name: str) -> Any:
        raise AssertionError(name)

    loaded = load(read_document(text.encode(), "wren.yaml"), no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def rule_text(**changes: Any) -> str:
    """Return one rule as YAML (JSON is YAML), with some keys changed, or (None) left out."""
    fields: dict[str, Any] = {
        "id": "pack-too-small",
        "title": "A pack below the size the field asks for",
        "severity": "caution",
        "hold": "flight",
        "subject": "power",
        "pick": "$.computed.packs.*.capacity_ampere_hours",
        "must": {"minimum": 2.5},
        "message": "`{name}` has {value} Ah at {path}.",
        "do": "Fit a larger pack.",
        "sources": ["field"],
        **changes,
    }
    return f"  - {json.dumps({key: fields[key] for key in fields if fields[key] is not None})}\n"


SCHEMA_FILE = Path(holdshort.rulebook.__path__[0]) / "club-rules.schema.json"

Judge = Callable[..., Judgement]


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str], Path]:
    def put(text: str) -> Path:
        path = tmp_path / "club.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return put


@pytest.fixture
def judged(write: Callable[[str], Path]) -> Judge:
    """Return what judges one aircraft by one rule, given by what differs from the usual one."""

    def run(plane: str = AIRCRAFT, **changes: Any) -> Judgement:
        pack = read_pack(write(HEAD + rule_text(**changes)))
        return judge(aircraft(plane), [(pack, rule) for rule in pack.rules])

    return run


@pytest.fixture
def refused(write: Callable[[str], Path]) -> Callable[[str], DataPackError]:
    def run(text: str) -> DataPackError:
        with pytest.raises(DataPackError) as caught:
            read_pack(write(text))
        return caught.value

    return run


# What rules find


def test_a_fact_that_fails_is_found_at_the_declaration_it_came_from(judged: Judge) -> None:
    done = judged()
    [found] = done.found
    # 2000 mAh is 2 Ah, below the 2.5 Ah asked for
    assert found.finding.message == "`main` has 2 Ah at parts.pack.capacity."
    assert (found.finding.at.file, show_path(found.finding.at.path)) == (
        "wren.yaml",
        "parts.pack.capacity",
    )
    assert (found.severity.word, found.hold.word) == ("caution", "flight")


def test_the_limit_itself_passes(judged: Judge) -> None:
    done = judged(must={"minimum": 2.0})
    assert (done.found, done.unjudged, [rule.id for rule in done.clean]) == (
        [],
        [],
        ["pack-too-small"],
    )


def test_nothing_picked_is_nothing_to_judge(judged: Judge) -> None:
    done = judged(pick="$.computed.regulators.*")
    assert [rule.id for rule in done.idle] == ["pack-too-small"]


def test_a_declared_quantity_is_shown_as_it_was_written(judged: Judge) -> None:
    done = judged(
        pick="$.setup.parts.*.capacity",
        must={"properties": {"si": {"minimum": 9000}}},
        message="{value} by {name}",
    )
    # 2000 mAh = 2 A h = 7200 C, below 9000 C
    [found] = done.found
    assert found.finding.message == "2000 mAh by pack"
    assert show_path(found.finding.at.path) == "parts.pack.capacity"


def test_the_reason_follows_the_message(judged: Judge) -> None:
    [found] = judged(reason="It empties early.").found
    assert found.finding.message.endswith(". It empties early.")


def test_placeholders_are_filled_in_once_and_never_looked_at_again(judged: Judge) -> None:
    plane = AIRCRAFT.replace("note: front", 'note: "{name}{path}%s{0.__class__}\\u200b"')
    [found] = judged(
        plane, pick="$.setup.devices.rx.note", must={"const": "x"}, message="{value}|{name}"
    ).found
    assert found.finding.message == "{name}{path}%s{0.__class__}|rx"


def test_a_lead_is_named_by_its_ends(judged: Judge) -> None:
    found = judged(
        pick="$.setup.leads.*", must={"required": ["secured"]}, message="{name}", do="{name}"
    ).found
    assert [item.finding.message for item in found] == ["main to rx.supply", "rx.1 to ail"]
    assert [show_path(item.finding.at.path) for item in found] == ["leads[0]", "leads[1]"]


def test_the_page_is_made_from_the_rule_or_its_own(write: Callable[[str], Path]) -> None:
    made = read_pack(write(HEAD + rule_text(reason="Why."))).page("pack-too-small")
    assert made.startswith("# A pack below the size the field asks for\n")
    assert "Why." in made
    own = read_pack(write(HEAD + rule_text(page="Ask the chair."))).page("pack-too-small")
    assert own == "# A pack below the size the field asks for\n\nAsk the chair.\n"


def test_the_schema_for_editors_says_what_the_reader_reads() -> None:
    schema = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    models: dict[str, type[Section]] = {"rule": RuleEntry, "source": SourceEntry, "need": NeedEntry}
    for name, model in models.items():
        shape = schema["$defs"][name]
        fields = {info.alias: info.is_required() for info in model.model_fields.values()}
        assert set(shape["properties"]) == set(fields)
        assert set(shape["required"]) == {key for key, needed in fields.items() if needed}
        assert shape["additionalProperties"] is False
        assert all("description" in one for one in shape["properties"].values())
    assert set(schema["properties"]) == set(SECTIONS)


@pytest.mark.parametrize(
    ("changes", "fits"),
    [
        ({}, True),
        ({"needs": ["$.a", {"path": "$.b", "text": "b"}]}, True),
        ({"severity": "bad"}, False),
        ({"hold": None}, False),
        ({"nix": 1}, False),
        ({"sources": []}, False),
        ({"id": "Bad"}, False),
        ({"must": "8 V"}, False),
    ],
)
def test_the_schema_for_editors_and_the_reader_agree(
    write: Callable[[str], Path], changes: dict[str, Any], fits: bool
) -> None:
    path = write(HEAD + rule_text(**changes))
    schema = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    assert Draft202012Validator(schema).is_valid(read_file(path).root) is fits
    with contextlib.nullcontext() if fits else pytest.raises(DataPackError):
        read_pack(path)


# What rules cannot judge


def test_a_fact_that_is_not_known_is_not_checked(judged: Judge) -> None:
    plane = AIRCRAFT.replace("capacity: 2000 mAh, ", "")
    done = judged(plane)
    [item] = done.unjudged
    assert (done.found, item.not_checked.needs) == ([], "the capacity of `pack`")
    assert show_path(item.not_checked.at.path) == "parts.pack"


@pytest.mark.parametrize(
    ("must", "outcome"),
    [
        ({"required": ["capacity_ampere_hours"]}, "not checked"),
        ({"properties": {"capacity_ampere_hours": {"minimum": 1}}}, "not checked"),
        ({"properties": {"cells": {"const": 2}}}, "clean"),
        ({"properties": {"cells": {"const": 3}}}, "found"),
        ({"not": {"properties": {"capacity_ampere_hours": {"minimum": 1}}}}, "not checked"),
        (  # false whatever the capacity is
            {
                "properties": {"capacity_ampere_hours": {"minimum": 1}, "cells": {"const": 3}},
            },
            "found",
        ),
        (  # true whatever the capacity is
            {
                "anyOf": [
                    {"properties": {"capacity_ampere_hours": {"minimum": 1}}},
                    {"properties": {"cells": {"const": 2}}},
                ]
            },
            "clean",
        ),
        ({"enum": [{"cells": 2}]}, "not checked"),
    ],
)
def test_an_unknown_fact_counts_only_where_it_matters(
    judged: Judge, must: Any, outcome: str
) -> None:
    plane = AIRCRAFT.replace("capacity: 2000 mAh, ", "")
    done = judged(plane, pick="$.computed.packs.main", must=must)
    got = [
        word
        for word, items in (
            ("found", done.found),
            ("not checked", done.unjudged),
            ("clean", done.clean),
        )
        if items
    ]
    assert (got, done.crashes) == ([outcome], [])


def test_needs_that_are_not_there_leave_the_rule_not_checked(judged: Judge) -> None:
    plain = judged(needs=["$.setup.aircraft.mass"]).unjudged
    assert [item.not_checked.needs for item in plain] == ["a fact at `$.setup.aircraft.mass`"]
    worded = judged(needs=[{"path": "$.setup.aircraft.mass", "text": "the mass"}]).unjudged
    assert [item.not_checked.needs for item in worded] == ["the mass"]
    assert len(judged(needs=["$.setup.aircraft.name"]).found) == 1


def test_needs_that_are_known_to_be_missing_say_what_is_missing(judged: Judge) -> None:
    plane = AIRCRAFT.replace("capacity: 2000 mAh, ", "")
    done = judged(plane, pick="$.setup.aircraft", needs=["$.computed.packs.*.use.left_share.value"])
    [item] = done.unjudged
    assert item.not_checked.needs == "the capacity of `pack`"


# Mistakes in packs


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"severity": "bad"}, ["line 6", "severity", "warning"]),
        ({"id": "Bad"}, ["line 6", "`Bad`", "hyphens"]),
        ({"titel": "x", "title": None}, ["line 6", "`titel`", "title"]),
        ({"sources": ["feild"]}, ["line 6", "`feild`", "`field`"]),
        ({"sources": []}, ["line 6", "sources"]),
        ({"message": "{valeu} Ah"}, ["line 6", "`{valeu}`", "`value`"]),
        ({"pick": "$.a["}, ["line 6", "`$.a[`", "JSONPath"]),
        ({"pick": "computed"}, ["line 6", "`computed`"]),
        ({"pick": "$[?nix(@)]"}, ["line 6", "nix"]),
        ({"pick": "$." + "a" * 1000}, ["line 6", "1000 characters"]),
        ({"pick": "$[?" + "(" * 100 + "@.a" + ")" * 100 + "]"}, ["line 6", "20 deep"]),
        ({"pick": "$[?match(@.a, '(')]"}, ["line 6", "I-Regexp"]),
        ({"needs": ["$["]}, ["line 6", "`$[`"]),
        ({"must": "8 V"}, ["line 6", "`must`", "JSON Schema"]),
        ({"must": {"minimun": 3}}, ["line 6", "`minimun`", "`minimum`"]),
        ({"must": {"minimum": "3 V"}}, ["line 6", "3 V"]),
        ({"must": {"type": "nubmer"}}, ["line 6", "nubmer"]),
        ({"must": {"format": "date"}}, ["line 6", "`format`", "pattern"]),
        ({"must": {"$ref": "https://example.org/s"}}, ["line 6", "nothing is fetched"]),
        ({"must": {"$ref": "file:///etc/passwd"}}, ["line 6", "nothing is fetched"]),
        ({"must": {"$ref": "#/$defs/a"}}, ["line 6", "leads nowhere"]),
        ({"must": {"$ref": "#"}}, ["line 6", "circle"]),
        ({"must": {"$id": "https://example.org/s"}}, ["line 6", "`$id`"]),
        ({"must": {"$schema": "http://json-schema.org/draft-07/schema#"}}, ["line 6", "dialect"]),
        ({"must": {"pattern": "(?=a)b"}}, ["line 6", "look-around"]),
        ({"must": {"pattern": "(a)\\1"}}, ["line 6", "back-references"]),
        ({"must": {"pattern": "(a{1000}){1000}"}}, ["line 6", "repetition"]),
        ({"must": {"items": {"not": {"patternProperties": {"[": True}}}}}, ["line 6", "`[`"]),
        (
            {"must": {"unevaluatedProperties": False, "patternProperties": {"a": True}}},
            ["line 6", "additionalProperties"],
        ),
    ],
)
def test_every_mistake_names_its_line_and_the_culprit(
    refused: Callable[[str], DataPackError], changes: dict[str, Any], says: list[str]
) -> None:
    error = refused(HEAD + rule_text(**changes))
    assert all(words in str(error) for words in says), str(error)
    assert all(fault.span is not None and fault.span.line == 6 for fault in error.faults)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", ["line 1", "no key"]),
        ("a: 1", ["`holdshort-rules` is missing", "`name` is missing", "`a` is not a section"]),
        ("holdshort-rules: 2\nname: a\nrules: []\n", ["line 1", "version"]),
        (HEAD.replace("name: north-field", "name: [a]"), ["line 2", "name of a pack"]),
        (HEAD.replace("read}", "certain}"), ["line 4", "confidence", "from memory"]),
        (HEAD + "nix", ["line 6"]),
        (HEAD + "  nix: {}", ["line 6", "a list of rules"]),
        (HEAD + rule_text() + rule_text(), ["line 7", "given twice", "line 6"]),
        (HEAD + "  - nix\n", ["line 6"]),
        ("a: *b", ["line 1", "alias"]),
    ],
)
def test_mistakes_of_the_file_are_named(
    refused: Callable[[str], DataPackError], text: str, says: list[str]
) -> None:
    error = refused(text)
    assert all(words in str(error) for words in says), str(error)


def test_all_mistakes_are_told_at_once(refused: Callable[[str], DataPackError]) -> None:
    text = HEAD + rule_text(severity="bad") + rule_text(id="one-more", pick="$[")
    assert [fault.span.line for fault in refused(text).faults if fault.span] == [6, 7]


def test_a_missing_file_and_a_missing_library_are_one_sentence(
    write: Callable[[str], Path], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    with pytest.raises(PackError, match=r"There is no file .*nix\.yaml"):
        read_pack(tmp_path / "nix.yaml")
    for name in ("json_paths", "json_schemas", "bounded_patterns"):
        monkeypatch.delitem(sys.modules, f"holdshort.rulebook.{name}")
        monkeypatch.delattr(sys.modules["holdshort.rulebook"], name)
    monkeypatch.setitem(sys.modules, "re2", None)
    with pytest.raises(PackError, match=r"pip install 'holdshort\[club\]'"):
        read_pack(write(HEAD + rule_text()))


# Work is bounded


def crash_of(judgement: Judgement) -> str:
    [crash] = judgement.crashes
    return crash.error


def test_a_rule_that_would_never_find_anything_fails_by_name(judged: Judge) -> None:
    done = judged(pick="$.setup.parts.pack.capacity", must={"maximum": 1})
    assert "line 6" in crash_of(done)
    assert "`pack-too-small` would never find anything" in crash_of(done)
    assert "setup.parts.pack.capacity" in crash_of(done)


def test_a_slip_in_the_keys_of_a_quantity_fails_by_name(judged: Judge) -> None:
    pick, must = "$.setup.parts.pack.capacity", {"properties": {"SI": {"maximum": 1}}}
    error = crash_of(judged(pick=pick, must=must))
    assert "`SI` in a quantity, which has `si`, `text` and `unit`" in error


def test_queries_that_multiply_are_ended_and_named(judged: Judge) -> None:
    begun = time.monotonic()
    for pick in (
        f"$..[{','.join('*' * 20)}]",
        "$..*[?count($..*..*) == 0]",
        "$..*[?@ == $ || count($..*) == 0]",
        "$..[?count(@..[?count($..*) == 0]) == 0]",
    ):
        error = crash_of(judged(pick=pick, must=True))
        assert "rule `pack-too-small` " in error
        assert "club.yaml, line 6" in error
        assert "takes more than" in error or "picks more than" in error
    assert time.monotonic() - begun < 60


def test_schemas_that_multiply_are_ended_and_named(
    refused: Callable[[str], DataPackError],
) -> None:
    twice = {
        f"d{i}": {"allOf": [{"$ref": f"#/$defs/d{i + 1}"}, {"$ref": f"#/$defs/d{i + 1}"}]}
        for i in range(40)
    }
    must = {"$ref": "#/$defs/d0", "$defs": {**twice, "d40": {"type": "number"}}}
    begun = time.monotonic()
    assert "takes more than" in str(refused(HEAD + rule_text(must=must)))
    assert time.monotonic() - begun < 60


def test_hostile_expressions_over_long_text_take_no_time(judged: Judge) -> None:
    plane = AIRCRAFT.replace("note: front", f"note: {'a' * 1999}b")
    begun = time.monotonic()
    for expression in ("(a|aa)+$", "(a+)+$", "(a*)*c", "(.*a){12}$"):
        picked = f"$.setup.devices[?search(@.note, '{expression}')]"
        assert judged(plane, pick=picked, must=False).found == []
        done = judged(plane, pick="$.setup.devices.rx.note", must={"pattern": expression})
        assert len(done.found) == 1
    assert time.monotonic() - begun < 30


def test_too_long_a_text_and_too_much_work_are_refused() -> None:
    meter = Meter()
    expression = bounded_patterns.compiled("a")
    with pytest.raises(TooMuchWorkError, match="20,000 characters"):
        bounded_patterns.searches(expression, "b" * 20_001, meter)
    meter.reset()
    meter.spend(500_000)
    with pytest.raises(TooMuchWorkError, match="500,000 steps"):
        meter.spend()


def counted(node: Any, meter: Meter) -> Any:
    if isinstance(node, dict):
        return CountedMap({key: counted(item, meter) for key, item in node.items()}, meter)
    if isinstance(node, list):
        return CountedList([counted(item, meter) for item in node], meter)
    return node


def test_at_most_ten_thousand_facts_are_picked_from_huge_data() -> None:
    meter = Meter()
    paths = json_paths.Paths(meter)
    fits = counted({"a": [0] * 9_999}, meter)
    assert len(paths.pick(paths.read("$..*"), fits)) == 10_000
    over = counted({"a": [0] * 10_000}, meter)
    with pytest.raises(TooMuchWorkError, match="picks more than 10,000 facts"):
        paths.pick(paths.read("$..*"), over)


# The standards


@pytest.mark.skipif(
    "HOLDSHORT_JSONPATH_CTS" not in os.environ,
    reason="HOLDSHORT_JSONPATH_CTS does not name the file `cts.json` of the compliance test suite "
    "of RFC 9535 (github.com/jsonpath-standard/jsonpath-compliance-test-suite)",
)
def test_jsonpath_does_as_the_compliance_suite_says() -> None:
    suite = json.loads(Path(os.environ["HOLDSHORT_JSONPATH_CTS"]).read_text(encoding="utf-8"))
    assert len(suite["tests"]) > 600
    wrong = [test["name"] for test in suite["tests"] if not complies(test)]
    assert wrong == []


def complies(test: Any) -> bool:
    meter = Meter()
    paths = json_paths.Paths(meter)
    try:
        query = paths.read(test["selector"])
    except json_paths.QueryError:
        return bool(test.get("invalid_selector"))
    if test.get("invalid_selector"):
        return False
    nodes = paths.pick(query, counted(test["document"], meter))
    values = json.dumps([node.value for node in nodes])
    allowed = test.get("results") or [test["result"]]
    places = [normalised_path(tuple(node.location)) for node in nodes]
    back = [path_of(place) for place in places] == [tuple(node.location) for node in nodes]
    named = test.get("results_paths") or [test["result_paths"]]
    return back and values in [json.dumps(one) for one in allowed] and places in named


# RFC 9485 section 5.4 (from memory): the dot is no line end; a match is of the whole text.
@pytest.mark.parametrize(
    ("pattern", "text", "whole", "part"),
    [
        ("a.c", "abc", True, True),
        ("a.c", "a\nc", False, False),
        ("a.c", "a\rc", False, False),
        ("a[.]c", "abc", False, False),
        ("a[.]c", "xa.c", False, True),
        (r"a\.c", "a.c", True, True),
        (r"\p{Lu}+", "ÄÖ", True, True),
        ("ab", "abc", False, True),
    ],
)
def test_iregexp_means_what_the_rfc_says(pattern: str, text: str, whole: bool, part: bool) -> None:
    expression = bounded_patterns.compiled_iregexp(pattern)
    assert bounded_patterns.matches(expression, text, Meter()) is whole
    assert bounded_patterns.searches(expression, text, Meter()) is part


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        ("a{12}", True), ("[0-9]{10,20}", True), ("a{3,}", True), ("(a|)", True),
        ("[-a-z-]", True),
        ("[^^]", True),
        ("[^]", False),
        (r"[\p{L}0]", True), ("a+?", False), ("(?:a)", False), (r"\d", False),
        ("[a-z-[b]]", False),
        ("a{,3}", False), ("*a", False), ("(a", False), ("a)", False), ("[]", False),
        ("\ud800", False),
    ],
)  # fmt: skip
def test_iregexp_has_the_grammar_of_the_rfc(text: str, is_one: bool) -> None:
    assert is_iregexp(text) is is_one


PIECES = st.sampled_from(
    ["a", "é", "-", "^", "$", ".", "[", "]", "[^", "(", ")", "|", "*", "+", "?", "{2}", "{1,}",
     "{1,3}", "{", "}", ",", "\\", "\\n", "\\d", "\\.", "\\-", "\\p{Lu}", "\\P{N}", "\\p{X}", "\n"]
)  # fmt: skip


@settings(max_examples=500)
@given(st.lists(PIECES, max_size=8).map("".join))
def test_iregexp_is_what_another_reader_of_the_rfc_takes_it_for(text: str) -> None:
    # The other one reads repetitions of one digit only, so there are no others among the pieces.
    assert is_iregexp(text) is iregexp_check.check(text)


SCHEMAS: st.SearchStrategy[Any] = st.deferred(
    lambda: st.one_of(
        st.booleans(),
        st.fixed_dictionaries(
            {},
            optional={
                "type": st.sampled_from(["number", "string", "object", "array", "null"]),
                "minimum": st.integers(-3, 3),
                "maxLength": st.integers(0, 3),
                "pattern": st.sampled_from(["a", "^a+$", "[0-9]", "b|c"]),
                "required": st.lists(st.sampled_from("ab"), unique=True),
                "properties": st.dictionaries(st.sampled_from("ab"), SCHEMAS, max_size=2),
                "patternProperties": st.dictionaries(
                    st.sampled_from(["a", "^b$"]), SCHEMAS, max_size=2
                ),
                "additionalProperties": SCHEMAS,
                "not": SCHEMAS,
                "anyOf": st.lists(SCHEMAS, min_size=1, max_size=2),
                "oneOf": st.lists(SCHEMAS, min_size=1, max_size=3),
                "if": SCHEMAS,
                "then": SCHEMAS,
                "else": SCHEMAS,
                "items": SCHEMAS,
                "contains": SCHEMAS,
                "maxContains": st.integers(0, 2),
                "unevaluatedItems": SCHEMAS,
                "const": st.integers(0, 2) | st.just({"a": 1}),
            },
        ),
    )
)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-4, 4) | st.text("abc0", max_size=3),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("abc", max_size=2), inner, max_size=3)
    ),
    max_leaves=8,
)


@settings(max_examples=150)
@given(SCHEMAS, VALUES)
def test_known_facts_are_judged_as_the_library_judges_them(schema: Any, value: Any) -> None:
    assert json_schemas.schema_mistakes(schema) == []
    requirement = json_schemas.Requirement(schema, Meter())
    fits = requirement.fits(counted(value, requirement.meter))
    assert fits == Draft202012Validator(schema).is_valid(value)


LEAVES = st.sampled_from(
    [{"minimum": 1}, {"type": "number"}, {"const": 0}, {"maxLength": 1}, {"minItems": 1}, True]
)
ABOUT_A = st.recursive(
    st.builds(lambda key, leaf: {"properties": {key: leaf}}, st.sampled_from("aab"), LEAVES)
    | st.sampled_from([{"required": ["a"]}, {"minProperties": 2}, {"enum": [{"a": 1, "b": 1}]}]),
    lambda inner: st.one_of(
        st.builds(lambda one: {"not": one}, inner),
        st.builds(
            lambda key, some: {key: some},
            st.sampled_from(["anyOf", "allOf", "oneOf"]),
            st.lists(inner, min_size=2, max_size=3),
        ),
        st.builds(
            lambda one, two, three: {"if": one, "then": two, "else": three}, inner, inner, inner
        ),
    ),
    max_leaves=6,
)


@settings(max_examples=400)
@given(
    ABOUT_A,
    st.fixed_dictionaries({}, optional={"b": st.sampled_from([0, 1, "x"])}),
    st.just([0, 1, 5, -1, "x", "xyz", [], [1], None, True]),
)
def test_what_is_said_in_spite_of_an_unknown_fact_holds_whatever_it_is(
    schema: Any, value: dict[str, Any], candidates: list[Any]
) -> None:
    requirement = json_schemas.Requirement(schema, Meter())
    requirement.meter.reset()
    unknown = Unknown("$['a']", ("it",))
    tree = counted({**value, "a": unknown}, requirement.meter)
    try:
        verdict = requirement.judge(tree)
    except json_schemas.EmptyJudgementError:
        return
    reference = Draft202012Validator(schema)
    for candidate in candidates:
        truth = reference.is_valid({**value, "a": candidate})
        assert verdict.holds in {None, truth}
    event(f"holds: {verdict.holds}, met: {bool(verdict.unknown)}")


@pytest.mark.parametrize(
    ("schema", "holds"),
    [
        ({"required": ["b"]}, True),
        ({"properties": {"b": {"minimum": 5}}}, False),
        ({"anyOf": [{"properties": {"a": {"const": 1}}}, {"required": ["b"]}]}, True),
        ({"properties": {"a": {"const": 1}}}, None),
    ],
)
def test_what_an_unknown_fact_cannot_change_is_decided(schema: Any, *, holds: bool | None) -> None:
    requirement = json_schemas.Requirement(schema, Meter())
    requirement.meter.reset()
    unknown = Unknown("$['a']", ("it",))
    assert requirement.judge(counted({"b": 1, "a": unknown}, requirement.meter)).holds is holds


# No text crashes the reader

FRAGMENTS = st.sampled_from(
    ["holdshort-rules", "name", "sources", "rules", "id", "pick", "must", "$ref", "#", "$..*", "[",
     "]", "{", "}", "?", "(", ")", "@", "\"", "'", "match(@.a, 'x')", ":", "- ", "\n", "  ", ",",
     "pattern", "(a|aa)+$", "\\", "1", "not", "$defs", "&&", "\u2028", "\ud800", "*", "true"]
)  # fmt: skip
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=20),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                ["$ref", "pattern", "not", "properties", "items", "$defs", "type", "if"]
            )
            | st.text(max_size=4),
            inner,
            max_size=3,
        )
    ),
    max_leaves=10,
)


def reads_or_refuses(tmp_path: Path, text: str) -> None:
    path = tmp_path / "club.yaml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        pack = read_pack(path)
    except PackError:
        return
    judgement = judge(aircraft(), [(pack, rule) for rule in pack.rules])
    assert all(crash.error.startswith("DataRuleError: ") for crash in judgement.crashes)


@settings(max_examples=150)
@given(st.lists(FRAGMENTS, max_size=25).map("".join) | st.text(max_size=60))
def test_no_text_crashes_the_reader(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    reads_or_refuses(tmp_path_factory.getbasetemp(), text)


@settings(max_examples=150)
@given(field=st.sampled_from([key.replace("_", "-") for key in RuleEntry.model_fields]), value=JSON)
def test_no_value_in_a_rule_crashes_the_reader(
    tmp_path_factory: pytest.TempPathFactory, field: str, value: Any
) -> None:
    reads_or_refuses(tmp_path_factory.getbasetemp(), HEAD + rule_text(**{field: value}))


@settings(max_examples=60)
@given(SCHEMAS, st.sampled_from(["$..*", "$", "$.computed.packs.*", "$.setup.leads[*]"]))
def test_no_schema_crashes_the_check(
    tmp_path_factory: pytest.TempPathFactory, schema: Any, pick: str
) -> None:
    text = HEAD + rule_text(must=schema, pick=pick)
    reads_or_refuses(tmp_path_factory.getbasetemp(), text)


@settings(max_examples=200)
@given(st.lists(FRAGMENTS, max_size=20).map("".join))
def test_no_query_crashes_the_reader(text: str) -> None:
    paths = json_paths.Paths(Meter())
    with contextlib.suppress(json_paths.QueryError):
        paths.read(f"${text}")


@given(st.text())
def test_words_in_messages_stand_on_one_line_and_can_be_seen(text: str) -> None:
    assert plain_words(text).isprintable()
