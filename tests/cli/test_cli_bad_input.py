"""Bad input of every kind ends in a sentence and exit code 2, never in a traceback."""

import io
import os
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from holdshort.cli import main

SEED = b"""holdshort: 1
aircraft: {name: Wren, mass: {ready: 7 kg}}
devices:
  main: {part: pack}
  rx: {part: rx, ports: {1..2: servo}}
leads: [{from: main, to: rx.supply, length: 20 cm}]
radio: {channels: {1..2: {drives: aileron}}}
failsafe: {rx: {channels: {1: hold}}}
surfaces: {aileron: {servo: ail}}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2}
  rx: {kind: receiver, ports: {1..2: servo, supply: supply}}
"""


def refused(result: Any, *words: str) -> None:
    assert result.code == 2
    assert result.err == ""
    for word in words:
        assert word in result.out


def test_a_missing_file(run: Any, here: Path) -> None:
    refused(run("lint", "nix.yaml"), "There is no file nix.yaml.", "Not read")


def test_a_folder_without_setup_files(run: Any, here: Path) -> None:
    (here / "empty").mkdir()
    refused(run("lint", "empty"), "There is no setup file in the folder empty.")
    (here / "empty" / "shelf.yaml").write_text("holdshort-parts: 1\nparts: {}\n", encoding="utf-8")
    refused(run("lint", "empty"), "Files of parts are there")


def test_a_folder_named_as_a_catalogue(run: Any, here: Path) -> None:
    (here / "parts").mkdir()
    refused(
        run("lint", "-", stdin=b"holdshort: 1\ncatalogues: [parts]\n"),
        "parts is a folder, not a file.",
        "standard input:2:",
    )


def test_a_catalogue_that_never_ends(run: Any, here: Path) -> None:
    refused(
        run("lint", "-", stdin=b"holdshort: 1\ncatalogues: [/dev/zero]\n"),
        "/dev/zero is neither a file nor a folder.",
    )


@pytest.mark.parametrize("name", ["/dev/zero", "/dev/null"])
def test_a_device(run: Any, name: str) -> None:
    refused(run("lint", name), f"{name} is neither a file nor a folder.")


def test_a_pipe_that_nobody_writes_to(run: Any, here: Path) -> None:
    os.mkfifo("pipe.yaml")
    refused(run("lint", "pipe.yaml"), "pipe.yaml is neither a file nor a folder.")
    refused(run("lint", "."), "There is no setup file")


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read everything")
def test_no_permission(run: Any, here: Path) -> None:
    (here / "secret.yaml").write_bytes(SEED)
    (here / "secret.yaml").chmod(0)
    refused(run("lint", "secret.yaml"), "permission denied")
    refused(run("lint", "."), "permission denied")


def test_a_folder_that_cannot_be_read(
    run: Any, here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def denied(path: str) -> None:
        raise PermissionError(13, "Permission denied", path)

    (here / "locked").mkdir()
    monkeypatch.setattr("os.scandir", denied)
    result = run("lint", "locked")
    refused(result, "The folder locked cannot be read: Permission denied.")
    assert "no setup file" not in result.out


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000, "", "\udc80.yaml", "\x1b[2J"])
def test_a_name_that_no_file_can_have(run: Any, here: Path, name: str) -> None:
    result = run("lint", name)
    refused(result)
    assert not set(result.out) & set("\0\x1b\udc80")


def test_a_very_large_file(run: Any, here: Path) -> None:
    with (here / "large.yaml").open("wb") as file:
        file.write(b"holdshort: 1\n")
        file.truncate(50 * 1024 * 1024)
    refused(run("lint", "large.yaml"), "larger than")
    refused(run("lint", "."), "larger than")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\0",
        b"\xff\xfe\x00",
        b"[" * 100_000,
        b"- a\n- b\n",
        b"text",
        b"holdshort: 2\n",
        b"holdshort: 1\n---\nholdshort: 1\n",
        b"holdshort: 1\nparts: {a: {like: a}}\ndevices: {d: {part: a}}\n",
        b"holdshort: 1\nparts: {a: {like: b}, b: {like: a}}\n",
        b"a: &x [*x]\n",
    ],
)
def test_bad_text(run: Any, data: bytes) -> None:
    refused(run("lint", "-", stdin=data), "MISTAKE")


def test_standard_input_that_is_closed(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", None)
    refused(run("lint", "-"), "Standard input cannot be read.")


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["lint"],
        ["lint", "--until", "landing", "a.yaml"],
        ["lint", "--form", "json", "a.yaml"],
        ["launch"],
        ["\x1b[2J"],
        ["lint", "--\x1b[2J", "a.yaml"],
        ["rules", "a", "b"],
    ],
)
def test_bad_arguments(run: Any, arguments: list[str]) -> None:
    result = run(*arguments)
    assert result.code == 2
    assert "\x1b" not in result.out + result.err
    assert result.out or result.err.count("\n") == 1


def test_a_mistake_in_the_program_ends_in_one_sentence(
    run: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("a \x1b[31m mistake")

    monkeypatch.setattr("holdshort.cli.packs.load_rulebook", broken)
    result = run("rules")
    assert (result.code, result.out) == (2, "")
    assert "ZeroDivisionError: a \\x1b[31m mistake" in result.err
    assert result.err.count("\n") == 1
    monkeypatch.setenv("HOLDSHORT_TRACEBACK", "1")
    assert main(["rules"]) == 2
    assert "Traceback" in capsys.readouterr().err


def test_an_interrupt(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("holdshort.cli.packs.load_rulebook", interrupted)
    assert main(["rules"]) == 130


def bytes_near(seed: bytes) -> st.SearchStrategy[bytes]:
    """The seed with a piece cut out and something else put in."""

    def spliced(start: int, length: int, piece: bytes) -> bytes:
        return seed[:start] + piece + seed[start + length :]

    pieces = st.one_of(
        st.binary(max_size=6),
        st.sampled_from(
            [b": ", b"\n", b"- ", b"{", b"[", b"null", b"1..6", b"1e999", b"\xc2\xa0", b"'", b"#"]
        ),
    )
    return st.builds(spliced, st.integers(0, len(seed)), st.integers(0, 12), pieces)


@settings(max_examples=150, deadline=None)
@given(
    st.one_of(st.binary(max_size=200), bytes_near(SEED)),
    st.sampled_from(["text", "json"]),
)
@example(SEED, "text")
def test_any_bytes_give_an_exit_code_and_nothing_else_goes_wrong(data: bytes, form: str) -> None:
    out, err = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
        patch.setattr(sys, "stdout", out)
        patch.setattr(sys, "stderr", err)
        code = main(["lint", "-", "--format", form])
    assert code in {0, 1, 2}
    assert err.getvalue() == ""
    assert out.getvalue()
    assert "\x1b" not in out.getvalue()
