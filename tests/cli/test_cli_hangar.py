"""Hangar files and deferrals from the shell: lint, show settings, cards."""

import json
import subprocess
import sys
import types
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import holdshort.fixlist
from holdshort.analysis import Aircraft
from holdshort.cli.lint import reports
from holdshort.rulebook import (
    Clean,
    Finding,
    Hold,
    Option,
    Outcome,
    Pack,
    Rulebook,
    Severity,
    Source,
    rule,
)
from holdshort.setup.quantities import MASS, QuantityType

MOST = Option(
    "aircraft-too-heavy", "most", "25 kg", QuantityType(MASS), "the most it may weigh", "B1"
)


@rule(
    "aircraft-too-heavy",
    title="The aircraft is heavier than it may be",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="weight",
    sources=("B1",),
    options=(MOST,),
)
def too_heavy(aircraft: Aircraft) -> Iterator[Outcome]:
    declared = aircraft.setup.aircraft
    ready = declared.mass.ready if declared and declared.mass else None
    place = aircraft.setup.place("aircraft", "mass", "ready")
    if ready is not None and ready > MOST.of(aircraft):
        yield Finding(place, f"It weighs {ready.text}.", "Build a lighter one.")
    else:
        yield Clean(place)


@rule(
    "club-colours-missing",
    title="The aircraft does not show the club's colours",
    severity=Severity.NOTE,
    hold=Hold.FLIGHT,
    subject="club",
    sources=("B1",),
)
def colours(aircraft: Aircraft) -> Iterator[Outcome]:
    yield Finding(aircraft.setup.place("aircraft", "name"), "It is grey.", "Paint it.")


SOURCES = {"B1": Source("B1", "a book about birds", "from memory")}
PACK = Pack("bench", 1, (too_heavy,), SOURCES, Path(), Path())
CLUB = Pack("the club", 1, (colours,), SOURCES, Path(), Path())

AIRCRAFT = """holdshort: 1
aircraft:
  name: Wren
  mass: {ready: 20 kg}
"""
PARTS = """holdshort-parts: 1
parts:
  pack-2s: {kind: battery, chemistry: lipo, cells: 2}
"""
DEFERRAL = """deferrals:
  - rule: aircraft-too-heavy
    at: aircraft.mass.ready
    reason: The light tanks are ordered.
    by: the owner
    second: the instructor
    until: 2099-12-31
"""
HANGAR = "holdshort-hangar: 1\n"
STRICT = HANGAR + "limits:\n  aircraft-too-heavy: {most: 15 kg}\n"


@pytest.fixture(autouse=True)
def packs(monkeypatch: pytest.MonkeyPatch) -> None:
    module = types.ModuleType("hangar_packs_for_tests")
    module.__dict__.update(pack=PACK, club=CLUB)
    monkeypatch.setitem(sys.modules, module.__name__, module)
    offered = [("built-in", f"{module.__name__}:pack"), ("club", f"{module.__name__}:club")]
    monkeypatch.setattr("holdshort.rulebook.packs.entry_points", lambda: offered)


@pytest.fixture
def home(here: Path) -> Path:
    """An empty current folder at which the search for a hangar file ends."""
    (here / ".git").mkdir()
    return here


def write(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def data_of(result: Any) -> Any:
    return json.loads(result.out)


def held(data: Any) -> list[str]:
    return [finding["rule"] for file in data["files"] for finding in file["findings"]]


# -- lint --------------------------------------------------------------------------------------


def test_without_one_nothing_is_said_of_it(run: Any, home: Path) -> None:
    write(home / "wren.yaml", AIRCRAFT)
    result = run("lint", "wren.yaml")
    assert result.code == 0
    assert "angar" not in result.out
    assert data_of(run("lint", "wren.yaml", "--format", "json"))["files"][0]["hangar"] is None


def test_its_limits_count_for_every_aircraft_below_it(run: Any, home: Path) -> None:
    write(home / "club/hangar.yaml", STRICT)
    write(home / "club/fleet/wren.yaml", AIRCRAFT)
    write(home / "wren.yaml", AIRCRAFT)
    result = run("lint", "club/fleet/wren.yaml", "wren.yaml")
    assert result.code == 1
    assert "Hangar file: club/hangar.yaml\n" in result.out
    data = data_of(run("lint", "club/fleet/wren.yaml", "wren.yaml", "--format", "json"))
    assert [(file["hangar"], len(file["findings"])) for file in data["files"]] == [
        ("club/hangar.yaml", 1),
        (None, 0),
    ]


def test_one_can_be_named_in_place_of_the_one_found(run: Any, home: Path) -> None:
    write(home / "hangar.yaml", HANGAR)
    write(home / "strict.yaml", STRICT)
    write(home / "wren.yaml", AIRCRAFT)
    assert run("lint", "wren.yaml").code == 0
    assert run("lint", "wren.yaml", "--hangar", "strict.yaml").code == 1
    assert run("lint", "-", "--hangar", "strict.yaml", stdin=AIRCRAFT.encode()).code == 1


def test_standard_input_has_the_one_of_this_folder(run: Any, home: Path) -> None:
    write(home / "hangar.yaml", STRICT)
    assert run("lint", "-", stdin=AIRCRAFT.encode()).code == 1


def test_one_that_is_not_there_is_told_and_the_job_not_done(run: Any, home: Path) -> None:
    write(home / "wren.yaml", AIRCRAFT)
    result = run("lint", "wren.yaml", "--hangar", "nix.yaml")
    assert result.code == 2
    assert "There is no file nix.yaml" in result.out


@pytest.mark.parametrize("text", ["holdshort-hangar: 1\nskip: [\n", STRICT.replace("kg", "m")])
def test_its_mistakes_are_told_once_a_run_and_the_aircraft_still_judged(
    run: Any, home: Path, text: str
) -> None:
    write(home / "hangar.yaml", text)
    write(home / "a.yaml", AIRCRAFT.replace("20 kg", "30 kg"))
    write(home / "b.yaml", AIRCRAFT)
    result = run("lint", "a.yaml", "b.yaml", "--format", "json")
    data = data_of(result)
    assert result.code == 2
    assert [file["file"] for file in data["files"]] == ["hangar.yaml", "a.yaml", "b.yaml"]
    assert [len(file["mistakes"]) for file in data["files"]] == [1, 0, 0]
    assert held(data) == ["aircraft-too-heavy"]


def test_one_is_checked_by_name_and_in_a_folder(run: Any, home: Path) -> None:
    write(home / "club/hangar.yaml", HANGAR + "folows: [uk]\n")
    write(home / "club/wren.yaml", AIRCRAFT)
    alone = run("lint", "club/hangar.yaml")
    assert alone.code == 2
    assert "`folows` is not a section." in alone.out
    data = data_of(run("lint", "club", "--format", "json"))
    assert [(file["file"], file["kind"]) for file in data["files"]] == [
        ("club/hangar.yaml", "hangar"),
        ("club/wren.yaml", "aircraft"),
    ]
    write(home / "club/hangar.yaml", HANGAR)
    good = run("lint", "club/hangar.yaml")
    assert (good.code, good.out.split(" is ")[0]) == (0, "club/hangar.yaml")


def test_one_that_cannot_be_read_is_told_once_in_a_folder(run: Any, home: Path) -> None:
    write(home / "club/hangar.yaml", "holdshort-hangar: 1\nskip: [\n")
    write(home / "club/a.yaml", AIRCRAFT)
    write(home / "club/z.yaml", AIRCRAFT)
    for paths in (("club",), ("club/hangar.yaml", "club/z.yaml", "club")):
        data = data_of(run("lint", *paths, "--format", "json"))
        kinds = {file["file"]: file["kind"] for file in data["files"]}
        assert len(kinds) == len(data["files"]) == 3
        assert kinds["club/hangar.yaml"] == "not-read"
    assert run("lint", "club").code == 2


def test_catalogues_are_seen_from_it_and_read_once(run: Any, home: Path) -> None:
    write(home / "club/parts/shelf.yaml", PARTS)
    write(home / "club/hangar.yaml", HANGAR + "catalogues: [parts/shelf.yaml]\n")
    fitted = AIRCRAFT + "devices: {main: {part: pack-2s}}\n"
    write(home / "club/fleet/wren.yaml", fitted)
    write(home / "club/fleet/heron.yaml", fitted + "catalogues: [../parts/shelf.yaml]\n")
    result = run("lint", "club")
    assert result.code == 0, result.out
    by_full_path = run("lint", home / "club/fleet/heron.yaml", "club/fleet/wren.yaml")
    assert by_full_path.code == 0, by_full_path.out
    (home / "club/hangar.yaml").unlink()
    assert run("lint", "club/fleet/wren.yaml").code == 2


def test_a_pack_runs_only_where_it_is_named(run: Any, home: Path) -> None:
    write(home / "wren.yaml", AIRCRAFT)
    assert run("lint", "wren.yaml").code == 0
    write(
        home / "hangar.yaml",
        HANGAR + "packs: [club]\nseverities: {club-colours-missing: caution}\n",
    )
    result = run("lint", "wren.yaml")
    assert result.code == 1
    assert "CAUTION  It is grey." in result.out
    assert "the rule itself calls it a note (hangar.yaml line 3)" in " ".join(result.out.split())


def test_a_pack_that_cannot_be_used_is_told_at_its_name_and_the_rest_still_run(
    run: Any, home: Path
) -> None:
    write(home / "wren.yaml", AIRCRAFT)
    write(home / "hangar.yaml", HANGAR + "packs: [clob, club]\nlimits: {clob-rule: {x: 1 V}}\n")
    result = run("lint", "wren.yaml", "--format", "json")
    data = data_of(result)
    assert result.code == 2
    (mistake,) = data["files"][0]["mistakes"]  # its limit is none: the rule may be in that pack
    assert (mistake["kind"], mistake["path"]) == ("unusable-pack", "packs[0]")
    assert "clob" in mistake["message"]
    assert held(data) == ["club-colours-missing"]


def test_folders_to_skip_are_passed_by_unless_named(run: Any, home: Path) -> None:
    for name in ("club/wren.yaml", "club/old/a.yaml", "club/fleet/old/b.yaml", "club/x/y/c.yaml"):
        write(home / name, AIRCRAFT)
    write(home / "club/hangar.yaml", HANGAR + "skip: [old, x/y/]\n")

    def linted(*paths: str) -> list[str]:
        data = data_of(run("lint", *paths, "--format", "json"))
        return [file["file"] for file in data["files"] if file["kind"] == "aircraft"]

    assert linted("club") == ["club/wren.yaml", "club/fleet/old/b.yaml"]
    assert linted(".") == ["./club/wren.yaml", "./club/fleet/old/b.yaml"]
    assert linted("club/old") == ["club/old/a.yaml"]
    assert linted("club/x/y/c.yaml") == ["club/x/y/c.yaml"]


# -- deferrals ---------------------------------------------------------------------------------


def test_a_deferred_finding_is_not_held_and_is_told_with_who_and_why(run: Any, home: Path) -> None:
    write(home / "wren.yaml", AIRCRAFT.replace("20 kg", "30 kg") + DEFERRAL)
    result = run("lint", "wren.yaml")
    assert result.code == 0
    assert "Deferred (1): found, and accepted for now\n" in result.out
    for line in (
        "  WARNING  It weighs 30 kg.\n",
        "  holds    power-up\n",
        "  reason   The light tanks are ordered. (line 6)\n",
        "  by       the owner and the instructor\n",
        "  until    2099-12-31\n",
        "  Deferred          1\n",
    ):
        assert line in result.out
    data = data_of(run("lint", "wren.yaml", "--format", "json"))
    assert data["tally"]["deferred"] == 1
    (item,) = data["files"][0]["deferred"]
    assert (item["by"], item["second"], item["until"]) == (
        "the owner",
        "the instructor",
        "2099-12-31",
    )
    assert (item["reason"], item["line"]) == ("The light tanks are ordered.", 6)
    assert item["finding"]["rule"] == "aircraft-too-heavy"


def test_deferred_findings_are_listed_whatever_point_is_asked_about(run: Any, home: Path) -> None:
    colours_too = DEFERRAL.replace("aircraft-too-heavy", "club-colours-missing").replace(
        "aircraft.mass.ready", "aircraft.name"
    )
    write(home / "hangar.yaml", HANGAR + "packs: [club]\n")
    write(home / "wren.yaml", AIRCRAFT + colours_too)
    data = data_of(run("lint", "wren.yaml", "--until", "power-up", "--format", "json"))
    assert data["tally"]["deferred"] == 1
    assert data["tally"]["later"] == {"power-up": 0, "engine-run": 0, "flight": 0}


def test_past_its_date_a_finding_counts_again(run: Any, home: Path) -> None:
    old = DEFERRAL.replace("2099-12-31", "2020-02-29")
    write(home / "wren.yaml", AIRCRAFT.replace("20 kg", "30 kg") + old)
    data = data_of(run("lint", "wren.yaml", "--format", "json"))
    assert held(data) == ["aircraft-too-heavy", "deferral-expired"]
    assert data["tally"]["deferred"] == 0


def test_the_day_comes_from_one_place(home: Path) -> None:
    path = write(home / "wren.yaml", AIRCRAFT.replace("20 kg", "30 kg") + DEFERRAL)
    for today, expected in ((date(2099, 12, 31), 1), (date(2100, 1, 1), 0)):
        (report,) = reports([str(path)], Rulebook((PACK,)), Hold.FLIGHT, today=today)
        assert report.tally.deferred == expected


def test_a_deferral_that_takes_nothing_out_is_held(run: Any, home: Path) -> None:
    write(home / "wren.yaml", AIRCRAFT + DEFERRAL)
    result = run("lint", "wren.yaml")
    assert result.code == 1
    assert "deferral-unused" in result.out


def test_a_finding_that_a_limit_brings_can_be_deferred(run: Any, home: Path) -> None:
    write(home / "wren.yaml", AIRCRAFT + DEFERRAL)
    write(home / "hangar.yaml", STRICT)
    data = data_of(run("lint", "wren.yaml", "--format", "json"))
    assert (held(data), data["tally"]["deferred"]) == ([], 1)


@pytest.mark.parametrize("rule_id", ["deferral-expired", "deferral-unused"])
def test_the_rules_about_deferrals_have_a_page(run: Any, rule_id: str) -> None:
    result = run("rules", rule_id)
    assert result.code == 0
    assert "**What to do.**" in result.out
    assert "common practice" in result.out


# -- show settings -----------------------------------------------------------------------------

SCHEMA_FILE = Path(holdshort.fixlist.__path__[0]) / "settings.schema.json"


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """Let no other key stand in an object, so that an undocumented key shows."""
    return {**schema, "additionalProperties": False} if schema.get("type") == "object" else schema


def everything(home: Path) -> None:
    write(home / "parts/shelf.yaml", PARTS)
    write(
        home / "hangar.yaml",
        "holdshort-hangar: 1\ncatalogues: [parts/shelf.yaml]\npacks: [club]\n"
        "follows: [germany]\nlimits: {aircraft-too-heavy: {most: 15 kg}}\n"
        "severities: {club-colours-missing: warning}\n"
        "tests:\n  wing bolts: {title: Wing bolts tight, proves: [balance], after: [balance], "
        "every: 30}\n",
    )
    own = "follows: [uk]\ncatalogues: [parts/shelf.yaml]\n"
    past = DEFERRAL.replace("2099-12-31", "2020-02-29")
    write(home / "wren.yaml", AIRCRAFT + own + past)


def test_settings_say_what_applies_and_who_says_so(run: Any, home: Path) -> None:
    everything(home)
    result = run("show", "settings", "wren.yaml")
    assert (result.code, result.err) == (0, "")
    words = " ".join(result.out.split())
    for said in (
        "Settings for Wren",
        "Hangar file: hangar.yaml, found in the folder of the aircraft or above",
        "parts/shelf.yaml, named in wren.yaml line 6",
        "parts/shelf.yaml, named in hangar.yaml line 2",
        "bench: 1 rule",
        "the club: 1 rule",
        "uk, named in wren.yaml line 5",
        "germany, named in hangar.yaml line 4",
        "club-colours-missing: warning, not note (hangar.yaml line 6)",
        "aircraft-too-heavy, most: 15 kg (hangar.yaml line 5; default 25 kg): the most it may",
        "Tests of the club (1)",
        "wing bolts: Wing bolts tight; before flight, after balance, good for 30 days (hangar.yaml",
        "until 2020-02-29 (PAST ITS DATE), by the owner and the instructor",
    ):
        assert said in words


def test_settings_say_of_a_deferral_only_what_its_own_words_tell(run: Any, home: Path) -> None:
    """Whether it needs the second name depends on what is found, which is not looked for."""
    whole = "until 2099-12-31 (not past its day), by the owner and the instructor"
    alone = "(not past its day; without a second name no warning that holds power-up is accepted)"
    for second, said in (
        ("second: the instructor", whole),
        ("second: The  Owner", f"until 2099-12-31 {alone}, by the owner"),
        ("", f"until 2099-12-31 {alone}, by the owner:"),
    ):
        write(home / "wren.yaml", AIRCRAFT + DEFERRAL.replace("second: the instructor", second))
        words = " ".join(run("show", "settings", "wren.yaml").out.split())
        assert said in words
        assert "in force" not in words


def test_settings_without_a_hangar_file_are_the_defaults_with_their_sources(
    run: Any, home: Path
) -> None:
    write(home / "wren.yaml", AIRCRAFT)
    result = run("show", "settings", "wren.yaml")
    assert result.code == 0
    words = " ".join(result.out.split())
    assert "No hangar file" in words
    assert "aircraft-too-heavy, most: 25 kg (default; source B1, from memory)" in words
    assert "Tests of the club: none" in words
    assert "Deferrals: none" in words


def test_settings_for_programs_fit_their_schema_key_for_key(run: Any, home: Path) -> None:
    everything(home)
    closed = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"), object_hook=close)
    jsonschema.Draft202012Validator.check_schema(closed)
    result = run("show", "settings", "wren.yaml", "--format", "json")
    data = data_of(result)
    validator: Any = jsonschema.Draft202012Validator(closed)
    validator.validate(data)
    (limit,) = data["limits"]
    assert (limit["value"], limit["si"], limit["default"]) == ("15 kg", 15.0, "25 kg")
    assert limit["set_at"] == {
        "file": "hangar.yaml",
        "line": 5,
        "path": "limits.aircraft-too-heavy.most",
    }
    assert [row["state"] for row in data["deferrals"]] == ["past"]
    assert data["tests"] == [
        {
            "name": "wing bolts",
            "title": "Wing bolts tight",
            "before": "flight",
            "after": ["balance"],
            "every_days": 30,
            "file": "hangar.yaml",
            "line": 8,
            "path": 'tests."wing bolts"',
        }
    ]
    (home / "hangar.yaml").unlink()
    plain = data_of(run("show", "settings", "wren.yaml", "--format", "json"))
    validator.validate(plain)
    assert (plain["hangar"], plain["limits"][0]["set_at"]) == (None, None)


def test_settings_tell_the_mistakes_of_the_hangar_file(run: Any, home: Path) -> None:
    write(home / "hangar.yaml", STRICT.replace("most", "mots"))
    write(home / "wren.yaml", AIRCRAFT)
    result = run("show", "settings", "wren.yaml")
    assert result.code == 2
    assert "hangar.yaml:3: `mots` is not a limit" in result.err
    assert "most: 25 kg (default" in result.out


def test_other_views_and_cards_use_its_catalogues(run: Any, home: Path) -> None:
    write(home / "parts/shelf.yaml", PARTS)
    write(home / "club.yaml", HANGAR + "catalogues: [parts/shelf.yaml]\n")
    write(home / "wren.yaml", AIRCRAFT + "devices: {main: {part: pack-2s}}\n")
    for command in (("show", "power"), ("cards",)):
        assert run(*command, "wren.yaml").code == 2
        assert run(*command, "wren.yaml", "--hangar", "club.yaml").code == 0


# -- what it costs -----------------------------------------------------------------------------

LINT = """
import os, sys
from holdshort.cli import main
sys.stdout = open(os.devnull, "w")
main(["lint", sys.argv[1]])
sys.stdout = sys.__stdout__
print([name for name in ("hangar", "deferrals") if f"holdshort.rulebook.{name}" in sys.modules])
"""


@pytest.mark.parametrize(
    ("hangar", "deferral", "loaded"),
    [("", "", []), ("", DEFERRAL, ["deferrals"]), (HANGAR, "", ["hangar", "deferrals"])],
)
def test_only_what_is_there_is_paid_for(
    home: Path, hangar: str, deferral: str, loaded: list[str]
) -> None:
    if hangar:
        write(home / "hangar.yaml", hangar)
    write(home / "wren.yaml", AIRCRAFT + deferral)
    done = subprocess.run(
        [sys.executable, "-c", LINT, "wren.yaml"], capture_output=True, text=True, check=False
    )
    assert (done.stdout.strip(), done.stderr) == (str(loaded), "")


def test_a_hangar_file_that_anybody_may_have_left_is_not_used_and_that_is_said(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    common = tmp_path / "common"
    mine = common / "mine"
    mine.mkdir(parents=True)
    (common / "hangar.yaml").write_text("holdshort-hangar: 1\npacks: [./hostile]\n")
    (mine / "wren.yaml").write_text("holdshort: 1\naircraft: {name: Wren, mass: {ready: 7 kg}}\n")
    common.chmod(0o777)
    monkeypatch.chdir(mine)
    result = run("lint", "wren.yaml")
    assert result.code == 0
    assert "hangar.yaml is not used: everybody may write to its folder" in result.err
    named = run("lint", "wren.yaml", "--hangar", "../hangar.yaml")
    assert named.code == 2  # asked for by name it counts, and its pack is not there
    assert "hostile" in named.out
