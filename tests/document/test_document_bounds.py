"""Hostile files end in one located error, with little memory taken."""

import pathlib
import tracemalloc
from collections.abc import Callable

import pytest

from holdshort.document import DocumentError, Fault, read_document, read_file

MEBIBYTE = 1024 * 1024


def peak_of(job: Callable[[], object]) -> tuple[Fault, int]:
    """Return the fault a job ends in, and the most memory it took beside the input, in bytes."""
    tracemalloc.start()
    try:
        with pytest.raises(DocumentError) as caught:
            job()
        return caught.value.fault, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


HOSTILE = [
    ("[" * 100_000, "too-deep"),
    ("a: " + "[" * 100_000, "too-deep"),
    ("a: " + "{" * 100_000, "too-deep"),
    ("a: " + "{a: " * 100_000, "too-deep"),
    ("a:\n" + "- " * 100_000, "too-deep"),
    ("? " * 100_000, "key-not-scalar"),
    ("".join(" " * depth + "a:\n" for depth in range(1500)), "too-deep"),
    ("a: '" + "x" * MEBIBYTE, "unclosed-quote"),
    ("a: " + "x" * MEBIBYTE, "scalar-too-long"),
    ("x" * MEBIBYTE, "scalar-too-long"),
    ("a: |\n" + "  x\n" * 200_000, "scalar-too-long"),
    ("a: " + "1" * MEBIBYTE, "scalar-too-long"),
    ("#" * MEBIBYTE, "empty"),
    ("\n" * MEBIBYTE, "empty"),
    ("a: !" + "x" * MEBIBYTE, "tag"),
    ("a: &" + "x" * MEBIBYTE, "anchor"),
    ("%" + "x" * MEBIBYTE, "directive"),
    ("a: 1\n" + "\0" * MEBIBYTE, "control-character"),
    ("a: &a [" + "*a," * 100_000 + "]", "anchor"),
]


@pytest.mark.parametrize(("text", "kind"), HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_files_take_little_memory(text: str, kind: str) -> None:
    data = text.encode()
    fault, peak = peak_of(lambda: read_document(data, "hostile.yaml"))
    assert fault.kind == kind
    assert fault.span is not None
    # A few copies of the text: decoded, with plain line ends, and as the parser takes it.
    assert peak < 8 * len(data) + 8 * MEBIBYTE
    assert len(fault.message) < 200


def test_as_many_nodes_as_a_file_can_hold() -> None:
    data = b"a: [" + b"1," * 1_000_000 + b"]"
    fault, peak = peak_of(lambda: read_document(data, "hostile.yaml"))
    assert fault.kind == "too-many-nodes"
    assert peak < 120 * MEBIBYTE


def test_a_huge_file_is_not_read_whole(tmp_path: pathlib.Path) -> None:
    path = tmp_path / "huge.yaml"
    with path.open("wb") as file:
        file.truncate(50 * MEBIBYTE)
    fault, peak = peak_of(lambda: read_file(path, "huge.yaml"))
    assert fault.kind == "file-too-large"
    assert "2,097,152 bytes" in fault.message
    assert peak < 8 * MEBIBYTE
