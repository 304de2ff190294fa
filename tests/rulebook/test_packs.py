"""Finding packs by name, and naming the culprit when one is broken."""

import sys
import threading
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path

import pytest

from holdshort.rulebook import API_VERSION, PackError, checked_rulebook, load_rulebook
from holdshort.rulebook.packs import GROUP, entry_points, is_path, load_pack
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

DECLARE = """
from pathlib import Path
from holdshort.api import Clean, Hold, Pack, Rule, Severity, Source, rule
SOURCES = {"practice": Source("practice", "common practice", "common practice")}
def declared(id):
    @rule(id, title="t", severity=Severity.NOTE, hold=Hold.FLIGHT, subject="s",
          sources=("practice",))
    def check(aircraft):
        yield Clean(aircraft.setup.place())
    return check
def made(*rules):
    return Pack("club", 1, rules, SOURCES, Path("p"), Path("c"))
"""


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder on the import path."""
    monkeypatch.setattr(sys, "path", [*sys.path, str(tmp_path)])
    return tmp_path


def folder_pack(parent: Path, body: str, name: str = "our-rules") -> Path:
    folder = parent / name
    folder.mkdir()
    (folder / "__init__.py").write_text(body)
    return folder


def test_the_built_in_pack_comes_in_by_entry_point() -> None:
    assert ("built-in", "holdshort_rules:pack") in entry_points()
    assert load_rulebook().packs == (built_in,)


def test_a_clubs_pack_comes_in_by_the_same_door_when_it_is_named(site: Path) -> None:
    offer(site, "club_pack_good", GOOD, "club = club_pack_good:pack")
    assert [pack.name for pack in load_rulebook(["club"]).packs] == ["built-in", "club"]


def test_an_installed_pack_that_is_not_named_is_not_even_imported(site: Path) -> None:
    offer(site, "club_pack_unnamed", "1/0", "sick = club_pack_unnamed:pack")
    assert load_rulebook().packs == (built_in,)
    assert "club_pack_unnamed" not in sys.modules


def test_an_unknown_name_gives_the_near_one(site: Path) -> None:
    offer(site, "club_pack_near", GOOD, "blackmoss = club_pack_near:pack")
    with pytest.raises(PackError, match=r"no pack `blackmos` is installed.*`blackmoss`") as caught:
        load_rulebook(["blackmos"])
    assert caught.value.pack == "blackmos"


def test_the_reader_agrees_with_the_standard_librarys(site: Path) -> None:
    offer(site, "club_pack_read", GOOD, "# a comment\n club = club_pack_read:pack [extra]\n")
    offer(site, "other_group", GOOD, "x = other_group:pack", group="someone.else")
    theirs = {(point.name, f"{point.module}:{point.attr}") for point in _points()}
    assert set(entry_points()) == theirs


def _points() -> metadata.EntryPoints:
    return metadata.entry_points(group=GROUP)


@pytest.mark.parametrize(
    ("name", "path"),
    [("club", False), ("built-in", False), ("./x", True), ("x/y", True), ("x.yaml", True)],
)
def test_what_is_a_path_and_what_a_name(name: str, path: bool) -> None:
    assert is_path(name) == path


def test_a_pack_in_a_folder_is_found_from_the_named_folder(tmp_path: Path) -> None:
    folder = folder_pack(tmp_path, "from .inner import pack\n")
    (folder / "inner.py").write_text(GOOD)
    path, modules = list(sys.path), set(sys.modules)
    rulebook = load_rulebook(["./our-rules"], tmp_path)
    assert [pack.name for pack in rulebook.packs] == ["built-in", "club"]
    assert sys.path == path
    assert len(set(sys.modules) - modules) == 2
    assert sorted(file.name for file in folder.iterdir()) == ["__init__.py", "inner.py"]


def test_two_folders_of_one_name_do_not_meet(tmp_path: Path) -> None:
    for name in ("north", "south"):
        (tmp_path / name).mkdir()
        folder_pack(tmp_path / name, GOOD.replace('"club"', f'"{name}"'))
    rulebook = load_rulebook(["north/our-rules", "south/our-rules"], tmp_path)
    assert [pack.name for pack in rulebook.packs] == ["built-in", "north", "south"]


def test_a_pack_named_twice_is_loaded_once(tmp_path: Path) -> None:
    folder_pack(tmp_path, DECLARE + "pack = made(declared('a-b'))\n")
    named = ["./our-rules", "our-rules/", "built-in"]
    assert [pack.name for pack in load_rulebook(named, tmp_path).packs] == ["built-in", "club"]


def test_a_folder_is_read_anew_each_time(tmp_path: Path) -> None:
    folder = folder_pack(tmp_path, "from .inner import pack\n")
    (folder / "inner.py").write_text(GOOD)
    assert load_pack("./our-rules", tmp_path).name == "club"
    (folder / "inner.py").write_text(GOOD.replace('"club"', '"newer"'))
    assert load_pack("./our-rules", tmp_path).name == "newer"


BROKEN = [
    ("\n1/0", "pack", ["ZeroDivisionError", "line 2"]),
    ("import no_such_module_anywhere", "pack", ["ModuleNotFoundError", "line 1"]),
    ("x = 1\ndef (", "pack", ["SyntaxError", "line 2"]),
    ("import json\njson.loads('{')", "pack", ["JSONDecodeError", "line 2"]),
    ("", "pack", ["AttributeError"]),
    ("\npack = 7", "pack", ["is a int, not a Pack", "line 2"]),
    ("import sys\nsys.exit(3)", "pack", ["tried to end the program (exit 3)", "line 2"]),
    ("class Odd(BaseException): pass\nraise Odd('x')", "pack", ["Odd: x", "line 2"]),
    (GOOD.replace(f'"club", {API_VERSION}', '"club", 99'), "pack", ["version 99", "line 4"]),
    (GOOD.replace("(), {}", "(7,), {}"), "pack", ["lists a int as a rule", "line 4"]),
    (GOOD.replace("(), {}", "[], {}"), "pack", ["has a list as its `rules`, not a tuple"]),
    (GOOD.replace('Path("p")', '"p"'), "pack", ["has a str as its `pages`, not a Path"]),
    (GOOD.replace("{}", "{1: 2}"), "pack", ["lists a int as a source", "line 4"]),
    (
        DECLARE + "pack = made(declared('a-b'), declared('a-b'))",
        "pack",
        ["has two rules called `a-b`", "line 6"],
    ),
    (DECLARE + "pack = made(declared('nix'))", "pack", ["ValueError", "rule id 'nix'", "line 6"]),
    (
        DECLARE + "pack = made(declared('a-b')._replace(id='A B'))",
        "pack",
        ["'A B', which is not lower-case words", "line 6"],
    ),
    (
        DECLARE + "pack = made(declared('a-b')._replace(severity='bad'))",
        "pack",
        ["has a str as its `severity`, not a Severity"],
    ),
    (
        DECLARE + "pack = made(declared('a-b')._replace(check=None))",
        "pack",
        ["`a-b` whose `check` cannot be called"],
    ),
    (
        DECLARE + "pack = made(declared('a-b')._replace(options=(1,)))",
        "pack",
        ["lists a int as an option"],
    ),
    (DECLARE + "pack = made(declared('a-b')._replace(sources=([],)))", "pack", ["TypeError"]),
    (
        DECLARE + "pack = made(declared('a-b')._replace(sources=('nowhere',)))",
        "pack",
        ["rule `a-b` that cites unknown source nowhere", "line 6"],
    ),
]


@pytest.mark.parametrize(("body", "entry", "words"), BROKEN)
def test_a_broken_pack_is_named_with_what_is_wrong_and_where(
    site: Path, body: str, entry: str, words: list[str]
) -> None:
    offer(site, "broken_pack", body, f"sick = broken_pack:{entry}")
    with pytest.raises(PackError, match="pack `sick`") as caught:
        load_rulebook(["sick"])
    for word in words:
        assert word in str(caught.value)
    if any("line" in word for word in words):
        assert str(site / "broken_pack.py") in str(caught.value)
    assert "broken_pack" not in sys.modules
    assert caught.value.pack == "sick"


@pytest.mark.parametrize(("body", "entry", "words"), BROKEN)
def test_a_broken_folder_is_named_with_what_is_wrong_and_where(
    tmp_path: Path, body: str, entry: str, words: list[str]
) -> None:
    file = folder_pack(tmp_path, body) / "__init__.py"
    modules = set(sys.modules)
    with pytest.raises(PackError, match=r"pack `\./our-rules`") as caught:
        load_rulebook(["./our-rules"], tmp_path)
    for word in [*words, str(file)]:
        assert word in str(caught.value)
    assert not [name for name in set(sys.modules) - modules if "holdshort" in name]


def test_the_line_is_the_packs_own_in_whichever_of_its_files(tmp_path: Path) -> None:
    folder = folder_pack(tmp_path, "from . import inner\n")
    (folder / "inner.py").write_text("x = 1\nint('seven')\n")
    with pytest.raises(PackError, match=r"ValueError.*inner\.py, line 2"):
        load_rulebook(["./our-rules"], tmp_path)


LOOPS = ["while True:\n    pass\n", "while True:\n    try: 1/0\n    except Exception: pass\n"]


@pytest.mark.parametrize("body", LOOPS)
def test_a_pack_that_never_finishes_loading_is_ended_and_named(tmp_path: Path, body: str) -> None:
    file = folder_pack(tmp_path, f"\n{body}") / "__init__.py"
    with pytest.raises(PackError, match=r"did not load within 0\.2 s") as caught:
        load_rulebook(["./our-rules"], tmp_path, seconds=0.2)
    assert f"{file}, line " in str(caught.value)
    assert load_rulebook().packs == (built_in,)


def test_off_the_main_thread_there_is_no_limit_and_no_failure(tmp_path: Path) -> None:
    folder_pack(tmp_path, f"import time\ntime.sleep(0.05)\n{GOOD}")
    loaded: list[str] = []

    def load() -> None:
        loaded.append(load_pack("./our-rules", tmp_path, seconds=0.01).name)

    thread = threading.Thread(target=load)
    thread.start()
    thread.join()
    assert loaded == ["club"]
    with pytest.raises(PackError, match=r"within 0\.01 s"):
        load_pack("./our-rules", tmp_path, seconds=0.01)


def test_an_interrupt_while_a_pack_loads_is_an_interrupt(tmp_path: Path) -> None:
    folder_pack(tmp_path, "raise KeyboardInterrupt")
    with pytest.raises(KeyboardInterrupt):
        load_rulebook(["./our-rules"], tmp_path)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("./nowhere", "there is no file or folder"),
        ("./empty", "has no `__init__.py`"),
        ("./rules.py", "neither a folder with an `__init__.py` nor a YAML file"),
        ("./nowhere.yaml", "there is no file or folder"),
    ],
)
def test_a_path_that_is_no_pack(tmp_path: Path, name: str, words: str) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "rules.py").write_text(GOOD)
    with pytest.raises(PackError, match=words) as caught:
        load_rulebook([name], tmp_path)
    assert f"pack `{name}`" in str(caught.value)


def test_two_packs_with_the_same_rule_id_are_both_named_with_their_lines(tmp_path: Path) -> None:
    folder_pack(tmp_path, DECLARE + "pack = made(declared('unknown-port'))")
    with pytest.raises(PackError, match=r"`built-in` and in pack `club`") as caught:
        load_rulebook(["./our-rules"], tmp_path)
    assert str(caught.value).count(", line ") == 2
    assert str(tmp_path / "our-rules" / "__init__.py") in str(caught.value)


def test_packs_given_by_hand_are_held_to_the_same() -> None:
    twin = type(built_in)("twin", API_VERSION, built_in.rules[:1], {}, Path("p"), Path("c"))
    with pytest.raises(PackError, match=r"`built-in` and in pack `twin`"):
        checked_rulebook([built_in, twin])


def test_the_source_roots_are_not_importable() -> None:
    assert find_spec("linter") is None
    assert find_spec("rules") is None
