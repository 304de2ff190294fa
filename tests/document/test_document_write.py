"""A file is replaced whole or not at all."""

import os
import pathlib
import stat

import pytest

from holdshort.document.write import replace_file


def test_replaces_and_keeps_the_mode_bits(tmp_path: pathlib.Path) -> None:
    path = tmp_path / "swift.yaml"
    path.write_bytes(b"old")
    path.chmod(0o640)
    replace_file(path, b"new\r\n")
    assert path.read_bytes() == b"new\r\n"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert list(tmp_path.iterdir()) == [path]


def test_makes_a_new_file_as_the_system_would(tmp_path: pathlib.Path) -> None:
    usual = tmp_path / "usual"
    usual.write_bytes(b"")
    replace_file(str(tmp_path / "new.yaml"), b"x")
    made = tmp_path / "new.yaml"
    assert made.read_bytes() == b"x"
    assert made.stat().st_mode == usual.stat().st_mode


def test_follows_a_link(tmp_path: pathlib.Path) -> None:
    (tmp_path / "folder").mkdir()
    real = tmp_path / "folder" / "real.yaml"
    real.write_bytes(b"old")
    link = tmp_path / "link.yaml"
    link.symlink_to(real)
    replace_file(link, b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"


def test_a_file_that_is_protected_stays(
    tmp_path: pathlib.Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "swift.yaml"
    path.write_bytes(b"old")
    path.chmod(0o444)
    # Whoever may write everything is asked as one who may not.
    monkeypatch.setattr(os, "access", lambda file, mode: bool(file.stat().st_mode & mode << 6))
    with pytest.raises(PermissionError, match="swift"):
        replace_file(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]
    path.chmod(0o644)
    replace_file(path, b"new")
    assert path.read_bytes() == b"new"


@pytest.mark.parametrize("step", ["fsync", "replace", "fdopen"])
def test_a_failure_leaves_the_old_file(
    tmp_path: pathlib.Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    path = tmp_path / "swift.yaml"
    path.write_bytes(b"old")

    def fail(*_arguments: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, fail)
    with pytest.raises(OSError, match="No space left"):
        replace_file(path, b"new")
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_missing_folder_is_an_error(tmp_path: pathlib.Path) -> None:
    with pytest.raises(FileNotFoundError):
        replace_file(tmp_path / "absent" / "x.yaml", b"x")
