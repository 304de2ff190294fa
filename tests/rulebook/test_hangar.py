"""The hangar file: where it is found, how it is read, and what it changes."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.document import Document, DocumentError, Fault, read_document, show_path
from holdshort.rulebook import (
    API_VERSION,
    Clean,
    Finding,
    Hold,
    Judgement,
    Option,
    Outcome,
    Pack,
    Rulebook,
    Severity,
    Source,
    judge,
    load_rulebook,
    rule,
)
from holdshort.rulebook.hangar import HANGAR_SECTIONS, Hangar, hangar_of, read_hangar, settle
from holdshort.rulebook.hangar_schema import hangar_schema
from holdshort.rulebook.hangar_search import VERSION_CONTROL, find_hangar
from holdshort.rulebook.settings import Grade, Settings
from holdshort.setup import Place, Shared, load
from holdshort.setup.quantities import MASS, QuantityType

MOST = Option("aircraft-too-heavy", "most", "25 kg", QuantityType(MASS), "the most it may weigh")


@rule(
    "aircraft-too-heavy",
    title="t",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="s",
    sources=("practice",),
    options=(MOST,),
)
def too_heavy(aircraft: Aircraft) -> Iterator[Outcome]:
    declared = aircraft.setup.aircraft
    ready = declared.mass.ready if declared and declared.mass else None
    place = aircraft.setup.place("aircraft", "mass", "ready")
    most = MOST.of(aircraft)
    if ready is not None and ready > most:
        yield Finding(place, f"It weighs {ready.text}, and {most.text} is the most.", "Lighten it.")
    else:
        yield Clean(place)


def always(rule_id: str, *, fixed: bool = False, severity: Severity | None = None) -> Any:
    @rule(
        rule_id,
        title="t",
        severity=Severity.CAUTION,
        hold=Hold.POWER_UP,
        subject="s",
        sources=("practice",),
        fixed=fixed,
    )
    def check(aircraft: Aircraft) -> Iterator[Outcome]:
        yield Finding(aircraft.setup.place("aircraft"), rule_id, "d", severity=severity)

    return check


SOURCES = {"practice": Source("practice", "practice", "common practice")}
RULES = (
    too_heavy,
    always("wing-is-bent"),
    always("law-is-law", fixed=True),
    always("mostly-a-note", severity=Severity.NOTE),
)
RULEBOOK = Rulebook((Pack("test", API_VERSION, RULES, SOURCES, Path("p"), Path("c")),))


def hangar(**sections: Any) -> Hangar:
    tree = {"holdshort-hangar": 1, **sections}
    return hangar_of(read_document(json.dumps(tree).encode(), "hangar.yaml"))


def settled(**sections: Any) -> Settings:
    return settle(hangar(**sections), RULEBOOK)


def refuse(name: str) -> Document:
    raise DocumentError(Fault("file-missing", f"There is no file {name}.", name, None))


def judged(found: Settings | None, mass: str = "20 kg") -> Judgement:
    tree = {"holdshort": 1, "aircraft": {"name": "Condor", "mass": {"ready": mass}}}
    document = read_document(json.dumps(tree).encode(), "condor.yaml")
    if found is None or found.hangar is None:
        return judge(Aircraft(load(document, refuse).setup), RULEBOOK)
    setup = load(document, refuse, Shared(found.hangar, {}, refuse, {})).setup
    aircraft = Aircraft(setup, found.quantities)
    return judge(aircraft, found.rulebook, severities=found.severities)


# -- finding it --------------------------------------------------------------------------------


def put(path: Path, text: str = "holdshort-hangar: 1\n") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_it_is_found_beside_the_aircraft_and_above(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    outer = put(tmp_path / "club/hangar.yaml")
    aircraft = put(tmp_path / "club/fleet/jets/tarn.yaml", "holdshort: 1\n")
    assert find_hangar(aircraft) == outer
    assert find_hangar(aircraft.parent) == outer
    inner = put(tmp_path / "club/fleet/hangar.yaml")
    assert find_hangar(aircraft) == inner
    assert find_hangar(tmp_path / "club/wren.yaml") == outer


@pytest.mark.parametrize("marker", VERSION_CONTROL)
def test_the_root_of_version_control_is_searched_and_ends_the_search(
    tmp_path: Path, marker: str
) -> None:
    put(tmp_path / "hangar.yaml")
    aircraft = put(tmp_path / "club/fleet/tarn.yaml", "holdshort: 1\n")
    assert find_hangar(aircraft) == tmp_path / "hangar.yaml"
    put(tmp_path / "club" / marker, "gitdir: elsewhere\n")
    assert find_hangar(aircraft) is None
    inner = put(tmp_path / "club/hangar.yaml")
    assert find_hangar(aircraft) == inner


@pytest.mark.parametrize(
    ("text", "ours"),
    [
        ("# ours\nholdshort-hangar: 1\n", True),
        ('"holdshort-hangar": 1\n', True),
        ("\ufeffholdshort-hangar: 1\n", True),
        ("holdshort-hanger: 1\n", True),
        ("skip: [a]\nholdshort-hangar: 1\n", True),
        ("holdshort-hangar: 1\nskip: [\n", True),
        ("doors: 2\n", False),
        ("note: holdshort-hangar\n", False),
        ("", False),
    ],
)
def test_it_is_known_by_its_key_even_where_it_is_ill_formed(
    tmp_path: Path, text: str, *, ours: bool
) -> None:
    (tmp_path / ".git").mkdir()
    file = put(tmp_path / "hangar.yaml", text)
    assert find_hangar(tmp_path / "tarn.yaml") == (file if ours else None)


def test_a_folder_of_that_name_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    (tmp_path / "hangar.yaml").mkdir()
    assert find_hangar(tmp_path / "tarn.yaml") is None


# -- reading it --------------------------------------------------------------------------------


def test_everything_that_it_may_say(tmp_path: Path) -> None:
    file = put(
        tmp_path / "hangar.yaml",
        "holdshort-hangar: 1\ncatalogues: [parts/shelf.yaml]\npacks: [club, ./rules]\n"
        "follows: [uk]\nlimits: {aircraft-too-heavy: {most: 15 kg}}\n"
        "severities: {wing-is-bent: warning}\nskip: [archive/, old/drafts]\n",
    )
    read = read_hangar(file)
    assert read.faults == ()
    assert read.catalogues == {0: "parts/shelf.yaml"}
    assert read.packs == {0: "club", 1: "./rules"}
    assert read.follows == {0: "uk"}
    assert list(read.skip.values()) == ["archive", str(Path("old/drafts"))]
    found = settle(read, RULEBOOK)
    assert found.faults == ()
    limit = found.limits["aircraft-too-heavy", "most"]
    assert (limit.quantity, limit.quantity.text) == (15.0, "15 kg")
    assert limit.place is not None
    assert limit.place.path == ("limits", "aircraft-too-heavy", "most")
    assert found.severities["wing-is-bent"].severity is Severity.WARNING


@pytest.mark.parametrize(
    ("sections", "path", "words", "do"),
    [
        ({"limit": {}}, "limit", "`limit` is not a section", "`limits`"),
        ({"follows": ["germny"]}, "follows[0]", "`germny` is not known", "`germany`"),
        ({"follows": "uk"}, "follows", "wants a list", "[..., ...]"),
        ({"packs": ["a", "b", "a"]}, "packs[2]", "`a` is named twice", "once"),
        ({"catalogues": [7]}, "catalogues[0]", "found `7`", "quotes"),
        ({"skip": ["../x"]}, "skip[0]", "not a folder below", "`archive`"),
        ({"skip": ["/x"]}, "skip[0]", "not a folder below", "`archive`"),
        ({"skip": ["."]}, "skip[0]", "not a folder below", "`archive`"),
        ({"limits": []}, "limits", "wants a mapping", ""),
        (
            {"limits": {"aircraft-to-heavy": {}}},
            "limits.aircraft-to-heavy",
            "is not a rule",
            "`aircraft-too-heavy`",
        ),
        (
            {"limits": {"aircraft-too-heavy": {"mots": "9 kg"}}},
            "limits.aircraft-too-heavy.mots",
            "not a limit of rule `aircraft-too-heavy`",
            "`most`",
        ),
        (
            {"limits": {"aircraft-too-heavy": "9 kg"}},
            "limits.aircraft-too-heavy",
            "wants a mapping",
            "",
        ),
        ({"limits": {"wing-is-bent": {"most": "9 kg"}}}, "limits.wing-is-bent", "no limits", ""),
        (
            {"limits": {"aircraft-too-heavy": {"most": "9 m"}}},
            "limits.aircraft-too-heavy.most",
            "a length, not a mass",
            "13.9 kg",
        ),
        (
            {"limits": {"aircraft-too-heavy": {"most": 9}}},
            "limits.aircraft-too-heavy.most",
            "without a unit",
            "13.9 kg",
        ),
        (
            {"limits": {"aircraft-too-heavy": {"most": None}}},
            "limits.aircraft-too-heavy.most",
            "not a mass",
            "13.9 kg",
        ),
        (
            {"severities": {"wing-is-bnet": "note"}},
            "severities.wing-is-bnet",
            "is not a rule",
            "`wing-is-bent`",
        ),
        (
            {"severities": {"wing-is-bent": "warnig"}},
            "severities.wing-is-bent",
            "not a severity",
            "`warning`",
        ),
        ({"severities": {"law-is-law": "note"}}, "severities.law-is-law", "fixed", "out"),
        ({"severities": {"law-is-law": "caution"}}, "severities.law-is-law", "fixed", "out"),
        (
            {"severities": {"deferral-needs-second-name": "note"}},
            "severities.deferral-needs-second-name",
            "fixed",
            "out",
        ),
    ],
)
def test_a_mistake_has_its_place_and_what_is_near(
    sections: dict[str, Any], path: str, words: str, do: str
) -> None:
    found = settled(**sections)
    assert [show_path(fault.path) for fault in found.faults] == [path]
    (fault,) = found.faults
    assert words in fault.message
    assert do in fault.do
    assert fault.file == "hangar.yaml"
    assert fault.span is not None


def test_the_first_key_is_wanted_with_its_version() -> None:
    missing = hangar_of(read_document(b"skip: [a]\n", "hangar.yaml"))
    assert [fault.kind for fault in missing.faults] == ["missing-key"]
    newer = hangar_of(read_document(b"holdshort-hangar: 2\n", "hangar.yaml"))
    assert [fault.kind for fault in newer.faults] == ["unknown-version"]


def test_a_mistake_in_one_line_spoils_no_other() -> None:
    found = settled(
        limits={"aircraft-too-heavy": {"most": "15 kg"}, "nothing-like-it": {"x": "1 V"}},
        severities={"wing-is-bent": "note", "law-is-law": "note"},
    )
    assert len(found.faults) == 2
    assert list(found.limits) == [("aircraft-too-heavy", "most")]
    assert list(found.severities) == ["wing-is-bent"]


def test_a_pack_cannot_take_the_id_of_a_rule_of_the_program() -> None:
    pack = Pack("club", API_VERSION, (always("deferral-unused"),), SOURCES, Path("p"), Path("c"))
    found = settle(hangar(packs=["./club"]), Rulebook((pack,)))
    assert [fault.kind for fault in found.faults] == ["same-id"]


# -- what it changes ---------------------------------------------------------------------------


def test_a_limit_counts_and_is_told_as_it_was_written() -> None:
    found = judged(settled(limits={"aircraft-too-heavy": {"most": "15.0 kg"}})).found
    messages = [one.finding.message for one in found if one.rule.id == "aircraft-too-heavy"]
    assert messages == ["It weighs 20 kg, and 15.0 kg is the most."]
    assert not [one for one in judged(None).found if one.rule.id == "aircraft-too-heavy"]


@pytest.mark.parametrize("word", ["warning", "note"])
def test_a_severity_is_raised_or_lowered_and_the_finding_says_so(word: str) -> None:
    judgement = judged(settled(severities={"wing-is-bent": word}))
    bent = next(one for one in judgement.found if one.rule.id == "wing-is-bent")
    assert bent.severity.word == word
    (because,) = bent.finding.because
    assert because.place.path == ("severities", "wing-is-bent")
    assert "itself calls it a caution" in because.text


def test_a_severity_counts_for_findings_that_have_one_of_their_own() -> None:
    judgement = judged(settled(severities={"mostly-a-note": "warning"}))
    found = next(one for one in judgement.found if one.rule.id == "mostly-a-note")
    assert found.severity is Severity.WARNING


def test_the_severity_of_a_fixed_rule_stays_whatever_the_judge_is_told() -> None:
    law = RULES[2]
    grade = Grade(law, Severity.NOTE, Place("condor.yaml", ()))
    document = read_document(b"holdshort: 1\naircraft: {name: x}\n", "condor.yaml")
    aircraft = Aircraft(load(document, refuse).setup)
    judgement = judge(aircraft, RULEBOOK, severities={law.id: grade})
    found = next(one for one in judgement.found if one.rule is law)
    assert (found.severity, found.finding.because) == (Severity.CAUTION, ())


def test_the_severity_that_a_rule_has_anyway_changes_nothing() -> None:
    plain = [one.finding for one in judged(None).found]
    same = judged(settled(severities={"wing-is-bent": "caution"}))
    assert [one.finding for one in same.found] == plain


quiet: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
    {},
    optional={
        "catalogues": st.none() | st.just([]),
        "packs": st.none() | st.just([]),
        "follows": st.none() | st.just([]),
        "limits": st.sampled_from([None, {}, {"aircraft-too-heavy": {}}]),
        "severities": st.none() | st.just({}),
        "skip": st.lists(st.sampled_from(["a", "b/c"]), unique=True, max_size=2),
    },
)


@settings(max_examples=60, deadline=None)
@given(quiet, st.integers(1, 60))
def test_a_hangar_file_without_limits_changes_nothing(sections: dict[str, Any], mass: int) -> None:
    found = settled(**sections)
    assert found.faults == ()
    assert judged(found, f"{mass} kg") == judged(None, f"{mass} kg")


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 60), st.lists(st.integers(1, 60), min_size=2, max_size=4))
def test_raising_a_limit_takes_findings_away_and_never_adds_one(
    mass: int, limits: list[int]
) -> None:
    counts: list[int] = []
    for limit in sorted(limits):
        found = settled(limits={"aircraft-too-heavy": {"most": f"{limit} kg"}})
        counts.append(len(judged(found, f"{mass} kg").found))
    assert counts == sorted(counts, reverse=True)
    others = len(RULES) - 1
    assert counts == [others + (mass > limit) for limit in sorted(limits)]


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 400), st.lists(st.integers(1, 400), min_size=2, max_size=4))
def test_a_limit_of_a_built_in_rule_counts_to_the_millimetre(apart: int, limits: list[int]) -> None:
    tree = {
        "holdshort": 1,
        "parts": {"rx": {"kind": "receiver", "ports": {"1..6": "servo"}}},
        "devices": {
            "front": {"part": "rx", "at": {"station": "0 mm", "side": "0 mm", "height": "0 mm"}},
            "rear": {
                "part": "rx",
                "at": {"station": f"{apart} mm", "side": "0 mm", "height": "0 mm"},
            },
        },
    }
    setup = load(read_document(json.dumps(tree).encode(), "two.yaml"), refuse).setup
    pair = load_rulebook().find("receivers-close")
    assert pair is not None
    for limit in limits:
        settled_hangar = settle(
            hangar(limits={"receivers-close": {"distance": f"{limit} mm"}}), load_rulebook()
        )
        assert settled_hangar.faults == ()
        judgement = judge(Aircraft(setup, settled_hangar.quantities), [pair])
        if apart != limit:  # equal lengths are equal only as far as binary fractions go
            assert bool(judgement.found) is (apart < limit)


def test_codes_are_added_to_those_of_the_aircraft_each_with_its_place() -> None:
    document = read_document(b"holdshort: 1\nfollows: [uk, general]\n", "a.yaml")
    read = hangar(follows=["general", "germany"])
    shared = Shared(read.document, {}, refuse, read.follows)
    setup = load(document, refuse, shared).setup
    assert setup.follows == ("uk", "general", "germany")
    assert setup.code_places["general"].file == "a.yaml"
    assert setup.code_places["germany"] == ("hangar.yaml", ("follows", 1))
    alone = load(document, refuse).setup
    assert alone.follows == ("uk", "general")


def test_catalogues_are_added_once_whoever_names_them() -> None:
    parts = read_document(
        b"holdshort-parts: 1\nparts: {p: {kind: battery, chemistry: lipo, cells: 2}}\n", "p.yaml"
    )

    def read(name: str) -> Document:
        return Document(name, parts.root)

    text = b"holdshort: 1\ncatalogues: [p.yaml]\ndevices: {main: {part: p}}\n"
    shared = Shared(hangar(catalogues=["../p.yaml"]).document, {0: "../p.yaml"}, read, {})
    both = load(read_document(text, "a.yaml"), read, shared)
    assert both.faults == ()
    only = load(read_document(text.replace(b"[p.yaml]", b"[]"), "a.yaml"), refuse, shared)
    assert only.faults == ()
    assert only.setup.devices["main"].part_root.file == "../p.yaml"


def test_a_shared_catalogue_that_cannot_be_read_is_told_at_the_line_that_names_it() -> None:
    shared = Shared(hangar(catalogues=["nix.yaml"]).document, {0: "nix.yaml"}, refuse, {})
    faults = load(read_document(b"holdshort: 1\n", "a.yaml"), refuse, shared).faults
    assert ("hangar.yaml", ("catalogues", 0)) in [(fault.file, fault.path) for fault in faults]


# -- its schema for editors --------------------------------------------------------------------

SCHEMA: Any = hangar_schema(RULEBOOK)
FITS: Any = jsonschema.Draft202012Validator(SCHEMA)

sections: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
    {"holdshort-hangar": st.sampled_from([1, 1, 1, 2, "1", None])},
    optional={
        "catalogues": st.sampled_from([None, [], ["a.yaml"], "a.yaml", [7], [""]]),
        "packs": st.sampled_from([None, [], ["club", "./rules"], [[]], {}]),
        "follows": st.sampled_from([None, [], ["uk"], ["ku"], "uk"]),
        "limits": st.sampled_from(
            [
                None,
                {},
                {"aircraft-too-heavy": {"most": "15 kg"}},
                {"aircraft-too-heavy": {"most": "33 lb"}},
                {"aircraft-too-heavy": {"most": "15"}},
                {"aircraft-too-heavy": {"most": "15 m"}},
                {"aircraft-too-heavy": {"most": 15}},
                {"aircraft-too-heavy": {"most": "0 kg"}},
                {"aircraft-too-heavy": {"least": "15 kg"}},
                {"aircraft-too-heavy": None},
                {"aircraft-too-heavy": "15 kg"},
                [],
            ]
        ),
        "severities": st.sampled_from(
            [None, {}, {"wing-is-bent": "note"}, {"wing-is-bent": "nota"}, {"wing-is-bent": 1}]
        ),
        "skip": st.sampled_from([None, [], ["archive"], "archive"]),
        "skpi": st.none(),
    },
)


@settings(max_examples=200, deadline=None)
@given(sections)
def test_the_schema_and_the_reader_agree(tree: dict[str, Any]) -> None:
    read = hangar_of(read_document(json.dumps(tree).encode(), "hangar.yaml"))
    assert FITS.is_valid(tree) is (settle(read, RULEBOOK).faults == ())


def test_the_schema_is_one_and_knows_each_limit() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    limits = SCHEMA["properties"]["limits"]["properties"]
    most = limits["aircraft-too-heavy"]["properties"]["most"]
    assert most["description"] == "The most it may weigh. Default: 25 kg."
    assert list(SCHEMA["properties"]) == list(HANGAR_SECTIONS)
    built_in: Any = hangar_schema(load_rulebook())
    jsonschema.Draft202012Validator.check_schema(built_in)
    validator: Any = jsonschema.Draft202012Validator(built_in)
    for _, one in load_rulebook():
        defaults = {option.name: option.default for option in one.options}
        if defaults:
            validator.validate({"holdshort-hangar": 1, "limits": {one.id: defaults}})
