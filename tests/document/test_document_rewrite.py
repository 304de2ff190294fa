"""A file is changed in place whole or not at all, and no writer loses what another wrote."""

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from holdshort.document import DocumentError
from holdshort.document.edit import EditableText, EditError
from holdshort.document.rewrite import rewrite_file

START = "# the swift\nholdshort: 1\nsign-offs:   # all of them\n  - {test: centres}\n"
WRITERS = 6
EACH = 5


def add(text: EditableText, name: str) -> None:
    """Add one entry behind the last."""
    entries = text.document.root["sign-offs"]
    assert isinstance(entries, list)
    text.add(("sign-offs", len(entries)), {"test": name})


def write_some(path: Path, writer: int) -> None:
    for number in range(EACH):
        rewrite_file(path, lambda text: add(text, f"writer {writer} entry {number}"))  # noqa: B023


def test_only_what_is_changed_changes(tmp_path: Path) -> None:
    path = tmp_path / "swift.yaml"
    path.write_text(START)
    done = rewrite_file(path, lambda text: add(text, "travels"))
    assert done.before == START
    assert path.read_text() == done.after == START + "  - {test: travels}\n"
    assert list(tmp_path.iterdir()) == [path]


def test_many_writers_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "swift.yaml"
    path.write_text(START)
    context = multiprocessing.get_context("fork")
    writers = [context.Process(target=write_some, args=(path, each)) for each in range(WRITERS)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
        assert writer.exitcode == 0
    text = path.read_text()
    for one in range(WRITERS):
        for number in range(EACH):
            assert text.count(f"writer {one} entry {number}") == 1
    assert list(tmp_path.iterdir()) == [path]


def test_an_editor_that_saves_meanwhile_loses_nothing(tmp_path: Path) -> None:
    path = tmp_path / "swift.yaml"
    path.write_text(START)
    seen: list[str] = []

    def change(text: EditableText) -> None:
        if not seen:
            path.write_text(START.replace("swift", "heron"))
        seen.append(text.dump())
        add(text, "travels")

    rewrite_file(path, change)
    assert len(seen) == 2
    assert path.read_text() == START.replace("swift", "heron") + "  - {test: travels}\n"


def test_a_file_that_never_stands_still_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "swift.yaml"
    path.write_text(START)
    count = 0

    def change(text: EditableText) -> None:
        nonlocal count
        count += 1
        path.write_text(f"{START}# {count}\n")
        add(text, "travels")

    with pytest.raises(OSError, match="changes all the time"):
        rewrite_file(path, change)
    assert path.read_text() == f"{START}# {count}\n"


@pytest.mark.parametrize("text", ["holdshort: [1\n", "a: 1\na: 2\n", "\tx: 1\n", "- 1\n"])
def test_what_is_no_document_is_never_rewritten(tmp_path: Path, text: str) -> None:
    path = tmp_path / "swift.yaml"
    path.write_text(text)
    with pytest.raises(DocumentError):
        rewrite_file(path, lambda editable: editable.add(("b",), 1))
    assert path.read_text() == text


def test_a_change_that_cannot_be_made_leaves_the_file(tmp_path: Path) -> None:
    path = tmp_path / "swift.yaml"
    path.write_text(START)

    def change(text: EditableText) -> None:
        add(text, "travels")
        text.set_value(("nothing",), 1)

    with pytest.raises(EditError):
        rewrite_file(path, change)
    assert path.read_text() == START


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    for path in (tmp_path / "none.yaml", tmp_path):
        with pytest.raises(DocumentError):
            rewrite_file(path, lambda _text: None)
    assert list(tmp_path.iterdir()) == []


SLOW = """
import os, sys, time
from holdshort.document.rewrite import rewrite_file
step = sys.argv[2]
def stop(*_):
    print("there", flush=True)
    time.sleep(60)
setattr(os, step, stop)
rewrite_file(sys.argv[1], lambda text: text.add(("note",), "x" * 2000))
"""


@pytest.mark.skipif(os.name != "posix", reason="kills as POSIX systems do")
@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_writer_killed_half_way_leaves_the_old_file_whole(tmp_path: Path, step: str) -> None:
    path = tmp_path / "swift.yaml"
    path.write_text(START)
    writer = subprocess.Popen(
        [sys.executable, "-c", SLOW, str(path), step], stdout=subprocess.PIPE, text=True
    )
    assert writer.stdout is not None
    assert writer.stdout.readline() == "there\n"
    writer.send_signal(signal.SIGKILL)
    writer.wait(30)
    writer.stdout.close()
    assert path.read_text() == START
    began = time.monotonic()
    rewrite_file(path, lambda text: add(text, "travels"))  # the lock went with the writer
    assert time.monotonic() - began < 30
    assert path.read_text() == START + "  - {test: travels}\n"
