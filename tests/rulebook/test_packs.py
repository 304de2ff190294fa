"""Finding packs by entry point, and naming the culprit when one is broken."""

import sys
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path

import pytest

from holdshort.rulebook import API_VERSION, PackError, checked_rulebook, load_rulebook
from holdshort.rulebook.packs import GROUP, entry_points
from holdshort_rules import pack as built_in


def offer(folder: Path, module: str, body: str, entry: str, group: str = GROUP) -> None:
    """Lay out a distribution as an installer would: a module and its metadata."""
    (folder / f"{module}.py").write_text(body)
    info = folder / f"{module}-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {module}\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text(f"[console_scripts]\nx = y:z\n\n[{group}]\n{entry}\n")


GOOD = f"""
from pathlib import Path
from holdshort.api import Pack
pack = Pack("club", {API_VERSION}, (), {{}}, Path("p"), Path("c"))
"""


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder on the import path."""
    monkeypatch.setattr(sys, "path", [*sys.path, str(tmp_path)])
    return tmp_path


def test_the_built_in_pack_comes_in_by_entry_point() -> None:
    assert ("built-in", "holdshort_rules:pack") in entry_points()
    assert built_in in load_rulebook().packs


def test_a_clubs_pack_comes_in_by_the_same_door(site: Path) -> None:
    offer(site, "club_pack_good", GOOD, "club = club_pack_good:pack")
    assert [pack.name for pack in load_rulebook().packs] == ["built-in", "club"]


def test_the_reader_agrees_with_the_standard_librarys(site: Path) -> None:
    offer(site, "club_pack_read", GOOD, "# a comment\n club = club_pack_read:pack [extra]\n")
    offer(site, "other_group", GOOD, "x = other_group:pack", group="someone.else")
    theirs = {(point.name, f"{point.module}:{point.attr}") for point in _points()}
    assert set(entry_points()) == theirs


def _points() -> metadata.EntryPoints:
    return metadata.entry_points(group=GROUP)


@pytest.mark.parametrize(
    ("body", "entry", "words"),
    [
        ("1/0", "pack", ["ZeroDivisionError", "broken_pack.py", "line 1"]),
        ("import no_such_module_anywhere", "pack", ["ModuleNotFoundError"]),
        ("def (", "pack", ["SyntaxError"]),
        ("", "pack", ["AttributeError"]),
        ("pack = 7", "pack", ["is a int, not a Pack"]),
        (GOOD.replace(f'"club", {API_VERSION}', '"club", 99'), "pack", ["version 99"]),
        (GOOD.replace("(), {}", "(7,), {}"), "pack", ["lists a int as a rule"]),
    ],
)
def test_a_broken_pack_is_named_with_what_is_wrong(
    site: Path, body: str, entry: str, words: list[str]
) -> None:
    sys.modules.pop("broken_pack", None)
    offer(site, "broken_pack", body, f"sick = broken_pack:{entry}")
    with pytest.raises(PackError, match="pack `sick`") as caught:
        load_rulebook()
    for word in words:
        assert word in str(caught.value)


def test_a_rule_that_cites_an_unknown_source_is_refused(site: Path) -> None:
    body = f"""
from pathlib import Path
from holdshort.api import Hold, Pack, Severity, rule
@rule("cites-nothing", title="t", severity=Severity.NOTE, hold=Hold.FLIGHT, subject="s",
      sources=("nowhere",))
def cites(aircraft):
    yield
pack = Pack("club", {API_VERSION}, (cites,), {{}}, Path("p"), Path("c"))
"""
    offer(site, "citing_pack", body, "club = citing_pack:pack")
    with pytest.raises(PackError, match="unknown source nowhere"):
        load_rulebook()


def test_two_packs_with_the_same_rule_id_are_both_named() -> None:
    twin = type(built_in)("twin", API_VERSION, built_in.rules[:1], {}, Path("p"), Path("c"))
    with pytest.raises(PackError, match=r"`built-in` and in pack `twin`"):
        checked_rulebook([built_in, twin])


def test_the_source_roots_are_not_importable() -> None:
    assert find_spec("linter") is None
    assert find_spec("rules") is None
