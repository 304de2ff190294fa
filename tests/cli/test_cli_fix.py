"""``holdshort fix``: shown as a diff, written on request, never a file that it should not touch."""

import contextlib
import io
import json
import re
import shutil
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.cli import main
from holdshort.cli.proved_fixes import ProvedFixes
from holdshort.document import Document, read_document, read_file
from holdshort.fixlist.text import file_argument
from holdshort.rulebook import Found, Judgement, judge, load_rulebook
from holdshort.setup import Loaded, load

ROOT = Path(__file__).resolve().parents[2]
GYRO = """\
holdshort: 1   # format
aircraft: {name: Wren}
parts:
  box: {kind: gyro, ports: {bus: bus-in, 1..4: servo}}
devices:
  # on the tray
  gyro:
    part: box
    mounting: {plugs: aft, label: up}
    told: {plugs: forward, label: up}   # as delivered
"""
FIXED = GYRO.replace("told: {plugs: forward", "told: {plugs: aft")
# The receiver is rated to 7.4 V and the servo to 6.0 V: two fixes of one setting.
TWO_RATINGS = """\
holdshort: 1
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2}
  reg: {kind: regulator, output: {min: 5.0 V, max: 8.4 V}}
  rx: {kind: receiver, voltage: {max: 7.4 V}, ports: {1..4: servo, supply: supply}}
  servo: {kind: servo, voltage: {max: 6.0 V}}
devices:
  battery: {part: pack}
  regulator: {part: reg, output: 8.4 V}
  rx: {part: rx}
  aileron: {part: servo}
leads:
  - {from: battery, to: regulator.in}
  - {from: regulator.out, to: rx.supply}
  - {from: rx.1, to: aileron}
"""
CLEAN = GYRO.replace("plugs: aft", "plugs: forward")
SPARE_PART = GYRO.replace("parts:\n", "parts:\n  old: {kind: servo}   # from the trainer\n")


# One throttle that two receivers hold, far apart, and a gyro that was told wrong.
TWO_BOXES = (
    GYRO.replace(
        "parts:\n", "parts:\n  old: {kind: servo}\n  rx: {kind: receiver, ports: {1..4: servo}}\n"
    ).replace("devices:\n", "devices:\n  front: {part: rx}\n  rear: {part: rx}\n")
    + """\
radio:
  channels: {1..2: {drives: lights}, 3: {drives: throttle}}
failsafe:
  front: {channels: {1..3: hold}}
  # 200 mm apart
  rear:
    set-on: '2026-05-03'   # on the bench
    channels:
      1..3: hold   # as delivered
"""
)
# The travel was changed after the one failsafe was set and before the other one was.
MIXED_DATES = """\
holdshort: 1
parts:
  rx: {kind: receiver, ports: {1..4: servo}}
  servo: {kind: servo, pulse: {min: 1000 us, max: 1900 us}}
devices:
  front: {part: rx}
  rear: {part: rx}
  tail: {part: servo}
leads:
  - {from: front.1, to: tail}
radio:
  pulse: {centre: 1500 us, full: 500 us}
  channels:
    1: {drives: elevator, centre: 0 %, travel: 100 %, changed: {travel: '2026-04-02'}}
failsafe:
  front: {channels: {1: 30 %}, set-on: '2026-04-01'}
  rear: {channels: {1: 50 %}, set-on: '2026-04-03'}
surfaces: {elevator: {servo: tail}}
"""


class Done:
    """What one process gave back."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code = code
        self.out = out
        self.err = err


@pytest.fixture(scope="module", autouse=True)
def bench_pack() -> None:
    """Leave the installed rules in place: this takes the place of the bench's own pack."""


def holdshort(*arguments: str | Path, stdin: bytes = b"", cwd: Path | None = None) -> Done:
    streams = [io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="\n") for _ in range(2)]
    with (
        pytest.MonkeyPatch.context() as patch,
        contextlib.redirect_stdout(streams[0]),
        contextlib.redirect_stderr(streams[1]),
    ):
        patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        patch.chdir(cwd or Path.cwd())
        code = main([str(one) for one in arguments])
    out, err = (stream.buffer.getvalue().decode() for stream in streams)
    return Done(code, out, err)


@pytest.fixture
def wren(tmp_path: Path) -> Path:
    file = tmp_path / "wren.yaml"
    file.write_text(GYRO, encoding="utf-8")
    return file


def test_what_could_be_written_is_shown_and_nothing_is(wren: Path) -> None:
    done = holdshort("fix", wren.name, cwd=wren.parent)
    assert (done.code, done.err) == (1, "")
    lines = done.out.splitlines()
    assert lines[0].startswith("WARNING before flight: `gyro` sits with plugs aft and label up")
    assert lines[1:3] == ["--- wren.yaml", "+++ wren.yaml"]
    assert "-    told: {plugs: forward, label: up}   # as delivered" in lines
    assert "+    told: {plugs: aft, label: up}   # as delivered" in lines
    assert "  to write `holdshort fix wren.yaml --write`" in lines
    assert "tell the" in done.out
    assert "never the aircraft" in done.out
    assert "\x1b" not in done.out
    assert wren.read_text(encoding="utf-8") == GYRO


@pytest.mark.skipif(shutil.which("patch") is None, reason="no `patch` here")
def test_the_diff_makes_the_same_change(wren: Path) -> None:
    shown = holdshort("fix", wren.name, cwd=wren.parent).out
    done = subprocess.run(
        ["patch", "-p0"], input=shown.encode(), capture_output=True, check=False, cwd=wren.parent
    )
    assert done.returncode == 0, done.stdout
    assert wren.read_text(encoding="utf-8") == FIXED


@pytest.mark.skipif(shutil.which("patch") is None, reason="no `patch` here")
@pytest.mark.parametrize("text", [GYRO, GYRO.removesuffix("\n")])
def test_the_diff_knows_where_the_file_ends(wren: Path, text: str) -> None:
    wren.write_text(text, encoding="utf-8")
    shown = holdshort("fix", wren.name, cwd=wren.parent).out
    done = subprocess.run(
        ["patch", "-p0", "-F0"], input=shown.encode(), capture_output=True, check=False,
        cwd=wren.parent,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout
    assert wren.read_text(encoding="utf-8") == text.replace(
        "told: {plugs: forward", "told: {plugs: aft"
    )


def test_what_only_tidies_is_done_by_name_alone(wren: Path) -> None:
    wren.write_text(SPARE_PART, encoding="utf-8")
    command = f"holdshort fix {wren.name} --rule unfitted-part"
    shown = holdshort("fix", wren.name, cwd=wren.parent)
    assert "-  old:" not in shown.out
    assert command in " ".join(shown.out.split())
    written = holdshort("fix", wren.name, "--write", cwd=wren.parent)
    assert (written.code, "old: {kind: servo}" in wren.read_text()) == (0, True)
    assert command in " ".join(written.out.split())
    assert holdshort("fix", wren, "--write", "--rule", "unfitted-part").code == 0
    assert wren.read_text() == FIXED


@pytest.mark.parametrize("change", [
    ("", ""),
    ("\n", "\r\n"),
    ("\n", "\r"),
    ("holdshort", "\ufeffholdshort"),
    ("# on the tray", "# \U0001f6e9 on the tray"),
    ("{name: Wren}", "{name: \U0001f6e9}"),
    ("    told: {plugs: forward,", "    told: { \"plugs\" : 'forward' ,"),
    ("1..3: hold   # as delivered\n", "1..3: hold"),
])  # fmt: skip
def test_a_fix_in_sarif_makes_what_is_written(tmp_path: Path, change: tuple[str, str]) -> None:
    text = TWO_BOXES.replace(*change) if change[0] else TWO_BOXES
    file = tmp_path / "wren.yaml"
    file.write_bytes(text.encode())
    log = json.loads(holdshort("lint", "--format", "sarif", file).out)
    (run,) = log["runs"]
    seen: set[str] = set()
    for result in run["results"]:
        for fix in result.get("fixes", ()):
            seen.add(result["ruleId"])
            (change_of_file,) = fix["artifactChanges"]
            assert change_of_file["artifactLocation"] == run["artifacts"][0]["location"]
            by_hand = replaced(text.removeprefix("\ufeff"), change_of_file["replacements"])
            file.write_bytes(text.encode())
            assert holdshort("fix", file, "--write", "--rule", result["ruleId"]).code == 0
            assert file.read_bytes().decode().removeprefix("\ufeff") == by_hand
    assert seen == {"gyro-mounting-mismatch", "throttle-failsafe-holds", "unfitted-part"}


def replaced(text: str, replacements: list[dict[str, Any]]) -> str:
    """Replace each region in turn, as SARIF 2.1.0 describes one: the end column is outside."""
    for replacement in replacements:
        starts = [0, *(found.end() for found in re.finditer(r"\r\n|\r|\n", text))]
        region = replacement["deletedRegion"]
        start = starts[region["startLine"] - 1] + region["startColumn"] - 1
        end = starts[region["endLine"] - 1] + region["endColumn"] - 1
        text = text[:start] + replacement["insertedContent"]["text"] + text[end:]
    return text


def test_a_fix_that_cannot_be_written_is_none_in_sarif(wren: Path) -> None:
    wren.write_text(MIXED_DATES, encoding="utf-8")
    log = json.loads(holdshort("lint", "--format", "sarif", wren).out)
    results = {one["ruleId"]: one for one in log["runs"][0]["results"] if one["kind"] == "fail"}
    assert "fixes" not in results["pulse-out-of-range"]
    done = holdshort("fix", wren, "--write", "--rule", "pulse-out-of-range")
    assert (done.code, wren.read_text(encoding="utf-8")) == (1, MIXED_DATES)
    assert "`failsafe-older-than-travel` finds something" in " ".join(done.out.split())


def test_a_file_that_has_changed_since_it_was_judged_has_no_fixes(wren: Path) -> None:
    document = read_document(wren.read_bytes(), str(wren))
    loaded = load(document, lambda name: read_file(name, name))
    judgement = judge(Aircraft(loaded.setup), load_rulebook())
    (found,) = [one for one in judgement.found if one.finding.fix]
    proved = ProvedFixes(document, (loaded, judgement), lambda text: proving(text, found))
    assert len(list(proved.changes(found))) == 1
    wren.write_text(GYRO.replace("name: Wren", "name: Kite"), encoding="utf-8")
    assert list(proved.changes(found)) == []
    wren.unlink()
    assert list(proved.changes(found)) == []


def proving(document: Document, found: Found) -> tuple[Loaded, Judgement]:
    """Judge a changed text, in which the finding must be gone."""
    loaded = load(document, lambda name: read_file(name, name))
    judgement = judge(Aircraft(loaded.setup), load_rulebook())
    assert found.rule.id not in {one.rule.id for one in judgement.found}
    return loaded, judgement


def test_a_mistake_in_the_hangar_file_is_told_and_the_fix_is_made(wren: Path) -> None:
    (wren.parent / "hangar.yaml").write_text("holdshort-hangar: 1\nlimts: {}\n", encoding="utf-8")
    done = holdshort("fix", wren, "--write", "--hangar", wren.parent / "hangar.yaml")
    assert done.code == 2
    assert "`limts`" in done.err
    assert wren.read_text(encoding="utf-8") == FIXED


def test_standard_input_has_no_fixes_in_sarif() -> None:
    log = json.loads(holdshort("lint", "--format", "sarif", "-", stdin=GYRO.encode()).out)
    assert not any("fixes" in result for result in log["runs"][0]["results"])


def test_it_is_written_and_the_file_is_judged_again(wren: Path) -> None:
    done = holdshort("fix", wren.name, "--write", cwd=wren.parent)
    assert (done.code, done.err) == (0, "")
    assert wren.read_text(encoding="utf-8") == FIXED
    assert "Written to wren.yaml: 1 fix" in done.out
    assert "fixed    warning gyro-mounting-mismatch at devices.gyro.told (line 10)" in done.out
    again = holdshort("fix", wren.name, "--write", cwd=wren.parent)
    assert (again.code, again.out.splitlines()[0]) == (0, "Nothing was written to wren.yaml")
    assert wren.read_text(encoding="utf-8") == FIXED


def test_what_stays_is_listed(wren: Path) -> None:
    wren.write_text(SPARE_PART.replace("  gyro:\n", "  gyro-2: {part: box}\n  gyro:\n"))
    done = holdshort("fix", wren, "--write", "--rule", "unfitted-part")
    assert done.code == 0
    assert "fixed    note unfitted-part at parts.old" in done.out
    assert "stayed   warning gyro-mounting-mismatch at devices.gyro.told" in done.out
    assert "from the trainer" not in wren.read_text()
    assert "told: {plugs: forward" in wren.read_text()


def test_of_two_fixes_of_one_setting_the_second_waits_for_the_next_run(wren: Path) -> None:
    wren.write_text(TWO_RATINGS, encoding="utf-8")
    first = holdshort("fix", wren, "--write", "--until", "power-up")
    assert first.code == 1
    assert "output: 7.4 V" in wren.read_text()
    assert "left     warning regulator-above-servo-rating" in first.out
    second = holdshort("fix", wren, "--write", "--until", "power-up")
    assert second.code == 0
    assert wren.read_text() == TWO_RATINGS.replace("output: 8.4 V}\n  rx", "output: 6.0 V}\n  rx")


def test_only_the_rules_and_hold_points_asked_for(wren: Path) -> None:
    wren.write_text(SPARE_PART, encoding="utf-8")
    one = holdshort("fix", wren, "--rule", "unfitted-part").out
    assert "unfitted-part" in one
    assert "mismatch" not in one
    early = holdshort("fix", wren, "--until", "power-up")
    assert (early.code, early.out) == (
        0, "Nothing to fix: no finding here has a fix that can be written.\n",
    )  # fmt: skip


def test_a_rule_that_is_not_there_is_named_with_what_is_near(wren: Path) -> None:
    done = holdshort("fix", wren, "--rule", "gyro-mounting-mismatsch")
    assert (done.code, done.out) == (2, "")
    assert "Did you mean `gyro-mounting-mismatch`" in done.err
    assert holdshort("fix", wren, "--rule", "deferral-unused").code == 0


def test_standard_input_is_shown_or_passed_on(wren: Path) -> None:
    shown = holdshort("fix", "-", stdin=GYRO.encode())
    assert shown.code == 1
    assert "+    told: {plugs: aft, label: up}" in shown.out
    passed = holdshort("fix", "-", "--write", stdin=GYRO.encode())
    assert (passed.code, passed.out) == (0, FIXED)
    assert passed.err.startswith("holdshort: gyro-mounting-mismatch: Tells `gyro` plugs aft")


def test_line_ends_and_a_byte_order_mark_stay(tmp_path: Path) -> None:
    file = tmp_path / "wren.yaml"
    data = b"\xef\xbb\xbf" + GYRO.replace("\n", "\r\n").encode()
    wanted = b"\xef\xbb\xbf" + FIXED.replace("\n", "\r\n").encode()
    file.write_bytes(data)
    command = [sys.executable, "-m", "holdshort", "fix"]
    passed = subprocess.run(
        [*command, "-", "--write"], input=data, capture_output=True, check=False
    )
    assert passed.stdout == wanted
    subprocess.run([*command, str(file), "--write"], check=True, capture_output=True)
    assert file.read_bytes() == wanted


@pytest.mark.parametrize(
    "text",
    [
        "holdshort: 1\ndevices: {gyro: {part: box",
        "",
        "\x00",
        "holdshort: 1\na: &x 1\nb: *x\n",
        "- a list",
        GYRO + "devices: {}\n",
    ],
)
def test_a_file_with_mistakes_of_syntax_is_refused(wren: Path, text: str) -> None:
    wren.write_text(text, encoding="utf-8")
    for more in ([], ["--write"]):
        done = holdshort("fix", wren, *more)
        assert (done.code, done.out) == (2, "")
        assert done.err.startswith("holdshort: ")
        assert wren.read_text(encoding="utf-8") == text


def test_other_kinds_of_files_are_refused(tmp_path: Path) -> None:
    shelf = tmp_path / "shelf.yaml"
    shelf.write_text("holdshort-parts: 1\nparts: {s: {kind: servo}}\n")
    hangar = tmp_path / "hangar.yaml"
    hangar.write_text("holdshort-hangar: 1\n")
    pipe = tmp_path / "pipe"
    for file in (shelf, hangar, tmp_path, pipe):
        done = holdshort("fix", file, "--write")
        assert (done.code, done.out) == (2, "")
        assert done.err
    assert shelf.read_text().startswith("holdshort-parts")


def test_a_mistake_of_form_elsewhere_hinders_no_fix_and_is_told(wren: Path) -> None:
    text = GYRO.replace("name: Wren", "name: Wren, wings: 2")
    wren.write_text(text, encoding="utf-8")
    done = holdshort("fix", wren, "--write")
    assert done.code == 2
    assert "`wings`" in done.err
    assert wren.read_text(encoding="utf-8") == text.replace("plugs: forward", "plugs: aft")


def test_a_file_that_cannot_be_written_is_told(wren: Path) -> None:
    link = wren.parent / "link.yaml"
    link.symlink_to(wren)
    assert holdshort("fix", link, "--write").code == 0
    assert link.is_symlink()
    assert wren.read_text(encoding="utf-8") == FIXED


def test_the_fix_list_says_where_a_fix_is(wren: Path) -> None:
    text = holdshort("lint", wren.name, cwd=wren.parent).out
    assert (
        "  fix      `holdshort fix wren.yaml --rule gyro-mounting-mismatch` can write this" in text
    )
    data = json.loads(holdshort("lint", "--format", "json", wren).out)
    fix = data["files"][0]["findings"][0]["fix"]
    assert fix["edits"] == [{"act": "set", "at": "devices.gyro.told.plugs", "value": "aft"}]
    assert fix["text"].startswith("Tells `gyro` plugs aft and label up in the file.")


def test_a_deferred_finding_is_left_alone(wren: Path) -> None:
    until = date.today() + timedelta(days=30)  # noqa: DTZ011  - the day where the owner is
    wren.write_text(
        GYRO + "deferrals:\n  - {rule: gyro-mounting-mismatch, at: devices.gyro.told, "
        f"reason: on the bench, by: Ann, until: {until}}}\n"
    )
    before = wren.read_text()
    done = holdshort("fix", wren, "--write")
    assert (done.code, wren.read_text()) == (0, before)


def test_deferrals_that_are_needed_no_more_are_taken_out(wren: Path) -> None:
    old = "reason: on the bench, by: Ann, until: 2001-01-01}"
    wren.write_text(
        CLEAN + "deferrals:\n"
        f"  - {{rule: gyro-mounting-mismatch, at: devices.gyro.told, {old}   # one\n"
        f"  - {{rule: gyro-mounting-mismatch, at: devices.gyro.mounting, {old}   # two\n"
        f"  - {{rule: gyro-mounting-mismatsch, at: devices.gyro.told, {old}   # misspelt\n"
    )
    done = holdshort("fix", wren, "--write")
    assert done.code == 0
    text = wren.read_text()
    assert ("# one" in text, "# two" in text, "# misspelt" in text) == (False, False, True)
    assert "stayed   caution deferral-unused at deferrals[0]" in done.out


def test_a_deferral_past_its_day_is_taken_out_and_what_it_was_about_stays(wren: Path) -> None:
    text = GYRO.replace("parts:\n", "parts:\n  old: {kind: servo}\n")
    wren.write_text(
        text + "deferrals: [{rule: unfitted-part, at: parts.old, reason: soon, by: Ann, "
        "until: 2001-01-01}]\n"
    )
    done = holdshort("fix", wren, "--write", "--rule", "deferral-expired")
    assert done.code == 0
    assert wren.read_text() == text + "deferrals: []\n"
    assert "stayed   note unfitted-part at parts.old" in done.out


names = st.text(
    st.one_of(st.sampled_from("\x1b[31m`'\" $(){}#:-\u202e\u200b"), st.characters()),
    min_size=1,
    max_size=12,
)


@given(name=names)
@settings(
    max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
def test_no_name_in_a_file_steers_the_terminal(name: str, tmp_path: Path) -> None:
    file = tmp_path / "drawn.yaml"
    quoted = json.dumps(name)
    text = GYRO.replace("  gyro:\n", f"  {quoted}:\n").replace("Wren", quoted)
    file.write_text(text, encoding="utf-8", errors="replace")
    for more in ([], ["--write"]):
        done = holdshort("fix", file, *more)
        shown = done.out + done.err
        assert all(character.isprintable() or character == "\n" for character in shown)


@pytest.mark.parametrize(
    ("name", "argument"),
    [
        ("a/b-c.yaml", "a/b-c.yaml"),
        ("my jet.yaml", "'my jet.yaml'"),
        ("it's.yaml", "'it'\\''s.yaml'"),
        ("-x.yaml", "./-x.yaml"),
        ("-x y.yaml", "'./-x y.yaml'"),
        ("$(rm).yaml", "'$(rm).yaml'"),
        ("-", "-"),
    ],
)
def test_the_command_can_be_copied_into_a_shell(name: str, argument: str) -> None:
    assert file_argument(name) == argument
