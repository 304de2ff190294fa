"""``holdshort watch``: judged at the start and after each save, driven by hand and as a process."""

import os
import queue
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from holdshort.cli import main, output
from holdshort.cli.watch import Watcher
from holdshort.cli.watched import Watch
from holdshort.rulebook import Hold, load_rulebook

AIRCRAFT = """\
holdshort: 1
aircraft: {{name: {name}}}
catalogues: [shelf.yaml]
devices:
  gyro: {{part: box, mounting: {{plugs: {plugs}, label: up}}, told: {{plugs: aft, label: up}}}}
"""
SHELF = "holdshort-parts: 1\nparts:\n  box: {kind: gyro, ports: {bus: bus-in, 1..4: servo}}\n"
CLUB_RULES = """\
holdshort-rules: 1
name: club
sources:
  name-length: {text: the club's own habit, confidence: common practice}
rules:
  - id: name-too-short
    title: A name that nobody finds
    severity: note
    hold: flight
    subject: club
    pick: $.setup.aircraft.name
    must: {type: string, minLength: 9}
    message: "The name is too short."
    reason: "Nobody finds it."
    do: "Give it a longer one."
    sources: [name-length]
"""
HELD = "sits with plugs forward"


@pytest.fixture(scope="module", autouse=True)
def bench_pack() -> None:
    """Leave the installed rules in place: this takes the place of the bench's own pack."""


def text(name: str = "Wren", plugs: str = "forward") -> str:
    return AIRCRAFT.format(name=name, plugs=plugs)


@pytest.fixture
def wren(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / ".git").mkdir()  # no hangar file is looked for above
    (tmp_path / "shelf.yaml").write_text(SHELF)
    file = tmp_path / "wren.yaml"
    file.write_text(text())
    monkeypatch.chdir(tmp_path)
    return file


class Desk:
    """A watcher that is driven by hand, and what it prints."""

    def __init__(self, capsys: pytest.CaptureFixture[str], *paths: str, hangar: str | None = None):
        self._capsys = capsys
        self.watcher = Watcher(Watch(paths), load_rulebook(), Hold.FLIGHT, hangar)
        self.watcher.begin()
        self.first = self.printed()

    def printed(self) -> str:
        return self._capsys.readouterr().out

    def step(self) -> str:
        self.watcher.step()
        return self.printed()

    def settled(self) -> str:
        """Look twice: the first look sees the change, the second that it stands still."""
        assert self.step() == ""
        return self.step()


def heading(printed: str) -> str:
    found = re.match(r"== \d\d:\d\d:\d\d  (.*) ==\n", printed)
    assert found is not None, printed
    return found[1]


def save(file: Path, content: str) -> None:
    """Save as many editors do: aside, then by renaming."""
    aside = file.with_name(f".{file.name}.swp")
    aside.write_text(content)
    aside.replace(file)


def test_it_lints_at_once_and_again_after_a_save(
    wren: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = Desk(capsys, "wren.yaml")
    assert heading(desk.first) == "watching; Ctrl-C ends it"
    assert HELD in desk.first
    assert desk.step() == desk.step() == ""
    save(wren, text(plugs="aft"))
    printed = desk.settled()
    assert heading(printed) == "wren.yaml changed"
    assert HELD not in printed
    assert "Fix list for Wren" in printed
    assert desk.step() == desk.step() == ""


def test_a_save_in_several_steps_is_one_change(
    wren: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = Desk(capsys, "wren.yaml")
    wren.write_text(text()[:30])
    assert desk.step() == ""
    wren.unlink()
    assert desk.step() == ""
    wren.write_text(text(plugs="aft"))
    assert desk.step() == ""
    assert "Fix list for Wren" in desk.step()
    assert desk.step() == ""


def test_what_is_put_back_in_time_is_no_change(
    wren: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = Desk(capsys, "wren.yaml")
    aside = wren.with_suffix(".old")
    wren.rename(aside)
    assert desk.step() == ""
    aside.rename(wren)
    assert desk.step() == desk.step() == desk.step() == ""


def test_a_broken_file_is_told_and_watching_goes_on(
    wren: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = Desk(capsys, "wren.yaml")
    save(wren, "holdshort: 1\ndevices: {")
    assert "MISTAKE" in desk.settled()
    wren.unlink()
    gone = desk.settled()
    assert heading(gone) == "wren.yaml gone"
    assert "There is no file wren.yaml" in gone
    wren.write_text(text())
    assert HELD in desk.settled()


def test_a_file_that_is_not_there_yet_is_waited_for(
    wren: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = Desk(capsys, "later.yaml")
    assert "There is no file later.yaml" in desk.first
    (wren.parent / "later.yaml").write_text(text("Later"))
    assert "Fix list for Later" in desk.settled()


def test_only_what_a_change_touches_is_judged_again(
    wren: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = wren.with_name("robin.yaml")
    other.write_text(
        text("Robin").replace("catalogues: [shelf.yaml]", "parts: {box: {kind: gyro}}")
    )
    desk = Desk(capsys, "wren.yaml", "robin.yaml")
    assert "Held in all 2 aircraft: 2" in desk.first
    save(other, text("Robin", "aft"))
    printed = desk.settled()
    assert ("Robin" in printed, "Wren" in printed) == (True, False)
    assert "Held in all 2 aircraft: 1" in printed


def test_a_catalogue_is_told_to_all_that_use_it(
    wren: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wren.with_name("robin.yaml").write_text(text("Robin"))
    alone = wren.with_name("finch.yaml")
    alone.write_text("holdshort: 1\naircraft: {name: Finch}\n")
    desk = Desk(capsys, "wren.yaml", "robin.yaml", "finch.yaml")
    shelf = wren.with_name("shelf.yaml")
    save(shelf, SHELF.replace("kind: gyro,", "kind: gyro, senses: yaw,"))
    printed = desk.settled()
    assert heading(printed) == "shelf.yaml changed"
    assert ("Wren" in printed, "Robin" in printed, "Finch" in printed) == (True, True, False)
    assert "reversed in yaw" not in printed
    shelf.unlink()
    assert "There is no file shelf.yaml" in desk.settled()
    shelf.write_text(SHELF)
    assert HELD in desk.settled()


def test_a_hangar_file_that_comes_goes_or_changes_is_told(
    wren: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = Desk(capsys, "wren.yaml")
    assert "Hangar file" not in desk.first
    hangar = wren.with_name("hangar.yaml")
    hangar.write_text("holdshort-hangar: 1\nseverities: {gyro-mounting-mismatch: caution}\n")
    printed = desk.settled()
    assert heading(printed) == "hangar.yaml changed"
    assert "CAUTION  `gyro` sits" in printed
    save(hangar, "holdshort-hangar: 1\n")
    assert "WARNING  `gyro` sits" in desk.settled()
    hangar.unlink()
    gone = desk.settled()
    assert heading(gone) == "hangar.yaml gone"
    assert "Hangar file" not in gone


def test_the_rules_of_a_club_are_watched(wren: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wren.with_name("hangar.yaml").write_text("holdshort-hangar: 1\npacks: [./rules.yaml]\n")
    rules = wren.with_name("rules.yaml")
    rules.write_text("holdshort-rules: 1\n")
    desk = Desk(capsys, "wren.yaml")
    assert "Rules cannot be loaded" in desk.first
    rules.write_text(CLUB_RULES)
    printed = desk.settled()
    assert heading(printed) == "rules.yaml changed"
    assert "The name is too short" in printed
    save(rules, CLUB_RULES.replace("minLength: 9", "minLength: 2"))
    assert "The name is too short" not in desk.settled()


def test_a_named_hangar_file_is_watched(wren: Path, capsys: pytest.CaptureFixture[str]) -> None:
    hangar = wren.with_name("club.yaml")
    hangar.write_text("holdshort-hangar: 1\n")
    desk = Desk(capsys, "wren.yaml", hangar="club.yaml")
    hangar.write_text("holdshort-hangar: 1\nseverities: {gyro-mounting-mismatch: caution}\n")
    assert "CAUTION  `gyro` sits" in desk.settled()


def test_files_below_a_folder_come_and_go(wren: Path, capsys: pytest.CaptureFixture[str]) -> None:
    desk = Desk(capsys, ".")
    assert "Fix list for Wren" in desk.first
    inner = wren.parent / "inner"
    inner.mkdir()
    robin = inner / "robin.yaml"
    robin.write_text(text("Robin").replace("shelf.yaml", "../shelf.yaml"))
    (inner / "notes.yaml").write_text("groceries: [milk]\n")
    printed = desk.settled()
    assert "Fix list for Robin" in printed
    assert "Wren" not in printed
    assert "MISTAKE" not in printed
    robin.unlink()
    printed = desk.settled()
    assert heading(printed) == "inner/robin.yaml gone"
    assert "Fix list" not in printed
    wren.unlink()
    assert "There is no setup file here that can be judged." in desk.settled()


def test_a_folder_that_the_hangar_file_skips_is_passed_by(
    wren: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wren.with_name("hangar.yaml").write_text("holdshort-hangar: 1\nskip: [old]\n")
    old = wren.parent / "old"
    old.mkdir()
    (old / "robin.yaml").write_text(text("Robin"))
    desk = Desk(capsys, ".")
    assert "Robin" not in desk.first
    (old / "robin.yaml").write_text(text("Rook"))
    assert desk.step() == desk.step() == ""


def test_names_steer_no_terminal(wren: Path, capsys: pytest.CaptureFixture[str]) -> None:
    odd = wren.with_name("a\x1b[2J\u202e.yaml")
    odd.write_text(text())
    desk = Desk(capsys, odd.name)
    odd.write_text(text(plugs="aft"))
    printed = desk.first + desk.settled()
    assert all(character.isprintable() or character == "\n" for character in printed)


def test_a_screen_is_cleared_only_where_there_is_one(
    wren: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    watcher = Watcher(Watch(("wren.yaml",)), load_rulebook(), Hold.FLIGHT, clears=True)
    watcher.begin()
    assert capsys.readouterr().out.startswith("\x1b[H\x1b[2J== ")
    monkeypatch.setattr(Watcher, "begin", _interrupted)
    for wide, arguments, clears in ((80, [], True), (80, ["--no-clear"], False), (None, [], False)):
        monkeypatch.setattr(output, "width", lambda wide=wide: wide)
        assert main(["watch", "wren.yaml", *arguments]) == 0
        assert SEEN.pop() is clears


SEEN: list[bool] = []


def _interrupted(self: Watcher) -> None:
    SEEN.append(self.clears)
    raise KeyboardInterrupt


def test_standard_input_cannot_be_watched(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["watch", "-"]) == 2
    assert "Standard input cannot be watched" in capsys.readouterr().err


class Process:
    """A watching process, and its lines as they come."""

    def __init__(self, *arguments: str) -> None:
        command = [sys.executable, "-m", "holdshort", "watch", *arguments]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.lines: queue.Queue[str] = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.lines.put(line.decode())

    def wait_for(self, words: str) -> list[str]:
        seen: list[str] = []
        limit = time.monotonic() + 30
        while time.monotonic() < limit:
            try:
                seen.append(self.lines.get(timeout=1))
            except queue.Empty:
                continue
            if words in seen[-1]:
                return seen
        raise AssertionError(f"{words!r} never came, but {''.join(seen)}")

    def end(self) -> int:
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(timeout=30)


@pytest.fixture
def process(wren: Path) -> Iterator[Process]:
    started = Process("wren.yaml")
    yield started
    started.process.kill()
    started.process.wait()
    for stream in (started.process.stdout, started.process.stderr):
        if stream is not None:
            stream.close()


def test_a_process_prints_each_run_at_once_and_ctrl_c_ends_it_with_0(
    wren: Path, process: Process
) -> None:
    process.wait_for("Makers' instructions")
    save(wren, text(plugs="aft"))
    seen = process.wait_for("Makers' instructions")
    assert any("wren.yaml changed" in line for line in seen)
    save(wren, "holdshort: [")
    process.wait_for("MISTAKE")
    assert process.end() == 0
    assert process.process.stderr is not None
    assert process.process.stderr.read() == b""


def test_watching_costs_next_to_nothing(wren: Path, process: Process) -> None:
    process.wait_for("Makers' instructions")
    stat = Path(f"/proc/{process.process.pid}/stat")
    if not stat.exists():
        pytest.skip("no /proc here")

    def ticks() -> int:
        fields = stat.read_text().rpartition(")")[2].split()
        return int(fields[11]) + int(fields[12])

    before = ticks()
    time.sleep(1.5)
    used = (ticks() - before) / os.sysconf("SC_CLK_TCK")
    assert used < 0.5  # one that never rests takes three times that


def test_a_reader_that_goes_away_ends_it(wren: Path) -> None:
    reading, writing = os.pipe()
    command = [sys.executable, "-m", "holdshort", "watch", "wren.yaml"]
    process = subprocess.Popen(command, stdout=writing, stderr=subprocess.PIPE)
    os.close(writing)
    os.read(reading, 100)
    os.close(reading)
    limit = time.monotonic() + 30
    while process.poll() is None and time.monotonic() < limit:
        save(wren, text(f"Wren {time.monotonic()}"))
        time.sleep(0.6)
    assert process.stderr is not None
    assert (process.poll(), process.stderr.read()) == (0, b"")
    process.stderr.close()
