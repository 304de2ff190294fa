"""What a rule pack is known by: every file of it, and nothing that is written beside it."""

import json
from hashlib import sha256
from pathlib import Path

import pytest

from holdshort.rulebook.pack_files import pack_files, pack_identity
from holdshort.rulebook.packs import load_pack

INIT = """
from pathlib import Path
from holdshort.api import API_VERSION, Clean, Hold, Pack, Severity, Source, rule

@rule("a-thing", title="A thing", severity=Severity.NOTE, hold=Hold.FLIGHT, subject="x",
      sources=("B1",))
def a_thing(aircraft):
    yield Clean(aircraft.setup.place("aircraft"))

HERE = Path(__file__).parent
pack = Pack("own", API_VERSION, (a_thing,), {"B1": Source("B1", "a book", "read")},
            HERE / "pages", HERE / "cases")
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    found = tmp_path / "own-rules"
    (found / "pages").mkdir(parents=True)
    (found / "__init__.py").write_text(INIT, encoding="utf-8")
    (found / "pages" / "a-thing.md").write_text("# A thing\n", encoding="utf-8")
    (found / "more.txt").write_text("x", encoding="utf-8")
    return found


def test_it_is_the_hash_of_the_hashes_of_its_files(folder: Path) -> None:
    pack = load_pack(str(folder))
    names = ("__init__.py", "more.txt", "pages/a-thing.md")
    hashes = {name: sha256((folder / name).read_bytes()).hexdigest()
              for name in names}  # fmt: skip
    text = json.dumps(hashes, sort_keys=True, separators=(",", ":"))
    found = pack_identity(pack)
    assert found == ("own", "", sha256(text.encode()).hexdigest(), 3)


def test_each_file_counts_and_what_python_leaves_does_not(folder: Path) -> None:
    pack = load_pack(str(folder))
    before = pack_identity(pack).digest
    (folder / "__pycache__").mkdir(exist_ok=True)
    (folder / "__pycache__" / "x.pyc").write_bytes(b"x")
    (folder / ".hidden").write_text("x", encoding="utf-8")
    assert pack_identity(pack).digest == before
    for name in ("__init__.py", "more.txt", "pages/a-thing.md"):
        data = (folder / name).read_bytes()
        (folder / name).write_bytes(data + b"#")
        assert pack_identity(pack).digest != before
        (folder / name).write_bytes(data)
    (folder / "new.py").write_text("", encoding="utf-8")
    assert pack_identity(pack).digest != before


def test_the_folder_may_stand_anywhere(folder: Path, tmp_path: Path) -> None:
    before = pack_identity(load_pack(str(folder)))
    moved = folder.rename(tmp_path / "moved")
    assert pack_identity(load_pack(str(moved))) == before


def test_the_installed_pack_has_the_version_of_its_distribution() -> None:
    pack = load_pack("built-in")
    found = pack_identity(pack)
    files = set(pack_files(pack).values())
    assert found.version.split(".")[0].isdecimal()
    assert found.files == len(files)
    for rule in pack.rules:
        assert (pack.pages / f"{rule.id}.md").resolve() in files
        assert (pack.cases / f"{rule.id}.yaml").resolve() in files
