"""``holdshort sign`` from the shell: listing, signing, asking, refusing."""

import io
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from holdshort.document import read_document

AIRCRAFT = """\
# a small aircraft
holdshort: 1
aircraft: {name: Wren, propulsion: piston}   # petrol
parts:
  rx: {kind: receiver, ports: {1..4: servo}}
  servo: {kind: servo}
devices: {rx: {part: rx}, tail: {part: servo}, choke: {part: servo}}
leads: [{from: rx.1, to: tail}, {from: rx.2, to: choke}]
radio:
  channels:
    1: {drives: elevator, travel: 80 %}   # the design value
    2: {drives: throttle}
surfaces: {elevator: {servo: tail}}
# the end
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def tree(file: Path) -> dict[str, Any]:
    return read_document(file.read_bytes(), "wren.yaml").root


def test_the_tests_are_listed_in_order_with_what_they_are_worth(run: Any, file: Path) -> None:
    result = run("sign", file)
    assert (result.code, result.err) == (0, "")
    out = result.out
    assert out.startswith(f"Tests of Wren\n{file}\n")
    assert "Nothing is signed in this file yet." in out
    order = [out.index(f"[ ] {name}: not signed") for name in ("centres", "directions", "failsafe")]
    assert order == sorted(order)
    assert "gyro off: no gyro is fitted" in out
    assert "Next: centres." in out
    assert "does not make an\naircraft safe" in out
    assert file.read_text(encoding="utf-8") == AIRCRAFT


def test_a_sign_off_goes_to_the_end_with_what_it_proved(run: Any, file: Path) -> None:
    result = run("sign", file, "centres", "--passed", "--by", "A. Builder", "--on", "2026-05-01")
    assert (result.code, result.err) == (0, "")
    assert "Signed: centres, passed, 2026-05-01, by A. Builder." in result.out
    assert "Next: directions." in result.out
    text = file.read_text(encoding="utf-8")
    kept = text.replace(text[text.index("sign-offs:") : text.index("# the end")], "")
    assert kept == AIRCRAFT  # every comment and all layout
    (entry,) = tree(file)["sign-offs"]
    assert list(entry)[:4] == ["test", "on", "by", "outcome"]
    assert entry["proved"]["channel 1"] == {"drives": "elevator"}
    assert entry["proved"]["way of channel 1"] == {"to tail": "rx.1 > tail"}
    assert "      channel 1: {drives: elevator}\n" in text  # a line for each subject
    assert "[x] centres: valid, 2026-05-01 by A. Builder" in run("sign", file).out


def test_the_words_of_a_test_need_no_quotes(run: Any, file: Path) -> None:
    result = run(
        "sign", file, "range", "check", "engine", "off", "--passed", "--by", "A. Builder",
        "--figure", "distance=40 paces", "--figure", "headings=4", "--note", "windy",
    )  # fmt: skip
    assert result.code == 0
    (entry,) = tree(file)["sign-offs"]
    assert entry["figures"] == {"distance": "40 paces", "headings": "4 headings"}
    assert entry["note"] == "windy"
    assert entry["on"] == date.today().isoformat()  # noqa: DTZ011  - as the command takes it
    assert "As it stands it does not count" in result.out  # those before it are not signed


def test_a_second_sign_off_of_the_same_holds_the_fingerprint_alone(run: Any, file: Path) -> None:
    for day in ("2026-05-01", "2026-05-02"):
        assert run("sign", file, "centres", "--passed", "--by", "A", "--on", day).code == 0
    first, second = tree(file)["sign-offs"]
    assert second["fingerprint"] == first["fingerprint"]
    assert "proved" in first
    assert "proved" not in second
    assert "valid, 2026-05-02" in run("sign", file).out


def test_a_change_after_it_is_told(run: Any, file: Path) -> None:
    assert run("sign", file, "travels", "--passed", "--by", "A").code == 0
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("travel: 80 %}   #", "travel: 90 %}   #"), encoding="utf-8")
    told = " ".join(run("sign", file).out.split())
    assert "[ ] travels: void: travel of channel 1 was 80 %, is 90 %" in told


def test_a_failed_test_needs_no_figures(run: Any, file: Path) -> None:
    result = run("sign", file, "voltage under load", "--failed", "--by", "A")
    assert result.code == 2  # there is no battery
    assert "`voltage under load` is not for this aircraft: no battery is declared" in result.err
    result = run("sign", file, "range check engine off", "--failed", "--by", "A")
    assert result.code == 0
    assert tree(file)["sign-offs"][0]["outcome"] == "failed"
    assert "It proved nothing. Kept with it are " in result.out
    assert "It counts until" not in result.out


def test_a_sign_off_that_does_not_count_is_not_said_to_count(run: Any, file: Path) -> None:
    out = " ".join(run("sign", file, "directions", "--passed", "--by", "A").out.split())
    assert "It counts until" not in out
    assert "As it stands it does not count: it rests on `centres` (not signed)." in out
    assert (
        "It counts until one changes" in run("sign", file, "balance", "--passed", "--by", "A").out
    )


def test_a_name_that_cannot_be_written_is_asked_for_again(
    run: Any, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed(monkeypatch, "A\x1b[2J", "A. Builder")
    result = run("sign", file, "centres", "--passed")
    assert result.code == 0
    assert tree(file)["sign-offs"][0]["by"] == "A. Builder"


@pytest.mark.parametrize(("pace", "code"), [("1 pace", 0), ("0.99 paces", 2), ("4000 paces", 0)])
def test_a_figure_at_its_bound_can_be(run: Any, file: Path, pace: str, code: int) -> None:
    result = run(
        "sign", file, "range check engine off", "--passed", "--by", "A",
        "--figure", f"distance={pace}", "--figure", "headings=1",
    )  # fmt: skip
    assert result.code == code
    assert code == 0 or "it lies between 1 and 4000 paces" in result.err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("centres",), "add: --passed or --failed, --by NAME"),
        (("centres", "--passed"), "add: --by NAME"),
        (
            ("range check engine off", "--passed", "--by", "A"),
            "add: --figure distance='30 paces', --figure headings='4 headings'",
        ),
        (("centers", "--passed", "--by", "A"), "Did you mean `centres`?"),
        (("gyro off", "--passed", "--by", "A"), "no gyro is fitted"),
        (("centres", "--passed", "--by", " "), "--by says nothing"),
        (("centres", "--passed", "--by", "x" * 2001), "longer than 2000"),
        (("centres", "--passed", "--by", "A", "--on", "2026-02-30"), "is no day"),
        (("centres", "--passed", "--by", "A", "--on", "tomorrow"), "is no day"),
        (("centres", "--passed", "--by", "A", "--figure", "gap"), "write it as `NAME=VALUE`"),
        (("centres", "--passed", "--by", "A", "--figure", "gap=1 mm"), "no figure `gap`"),
        (("failsafe", "--passed", "--by", "A", "--figure", "time=90 s"), "cannot be"),
        (("failsafe", "--passed", "--by", "A", "--figure", "time=2"), "without a unit"),
        (
            ("failsafe", "--passed", "--by", "A", "--figure", "time=2 s", "--figure", "time=3 s"),
            "given twice",
        ),
        (("failsafe", "--passed", "--by", "A", "--figure", "time=" + "9" * 3000), "too long"),
    ],
)
def test_what_cannot_be_signed_says_why_and_writes_nothing(
    run: Any, file: Path, arguments: tuple[str, ...], says: str
) -> None:
    result = run("sign", file, *arguments)
    assert (result.code, result.out) == (2, "")
    assert says in result.err
    assert file.read_text(encoding="utf-8") == AIRCRAFT


def test_a_day_still_to_come_is_refused(run: Any, file: Path) -> None:
    tomorrow = (date.today() + timedelta(days=1)).isoformat()  # noqa: DTZ011  - as the command
    result = run("sign", file, "centres", "--passed", "--by", "A", "--on", tomorrow)
    assert result.code == 2
    assert "is still to come" in result.err


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (AIRCRAFT.replace("80 %", "80 V"), "Nothing is signed while there are mistakes"),
        (AIRCRAFT + "sign-offs: {centres: yes}\n", "Nothing is signed"),
        (AIRCRAFT + "sign-offs: [1\n", "not closed"),
        ("holdshort-parts: 1\nparts: {}\n", "is no setup file"),
        ("holdshort-hangar: 1\n", "is no setup file"),
    ],
)
def test_a_file_with_mistakes_is_left_alone(run: Any, file: Path, text: str, says: str) -> None:
    file.write_text(text, encoding="utf-8")
    result = run("sign", file, "centres", "--passed", "--by", "A")
    assert (result.code, result.out) == (2, "")
    assert says in result.err
    assert file.read_text(encoding="utf-8") == text
    assert [path.name for path in file.parent.iterdir()] == ["wren.yaml"]


def test_standard_input_and_a_missing_file_are_refused(run: Any, file: Path) -> None:
    assert "name one" in run("sign", "-", "centres", stdin=AIRCRAFT.encode()).err
    assert run("sign", file.parent / "nix.yaml").code == 2


@pytest.mark.parametrize(
    "section",
    [
        "sign-offs: []\n",
        "sign-offs: []   # none yet\n",
        "sign-offs:\n",
        "sign-offs:\n  - {test: balance, on: 2026-01-01, by: B, outcome: failed}   # bad\n",
        "sign-offs:\n- test: balance\n  on: 2026-01-01\n  by: B\n  outcome: failed\n",
        "sign-offs: [{test: balance, on: 2026-01-01, by: B, outcome: failed}]\n",
    ],
)
def test_it_joins_what_is_there_in_any_form(run: Any, file: Path, section: str) -> None:
    text = AIRCRAFT.replace("# the end", section + "# the end")
    file.write_text(text, encoding="utf-8")
    before = list(tree(file)["sign-offs"] or [])
    assert run("sign", file, "centres", "--passed", "--by", "A").code == 0
    after = tree(file)["sign-offs"]
    assert after[:-1] == before
    assert after[-1]["test"] == "centres"
    written = file.read_text(encoding="utf-8")
    for comment in ("# a small aircraft", "# petrol", "# the design value", "# the end"):
        assert comment in written
    assert ("# none yet" in section) == ("# none yet" in written)
    assert ("# bad" in section) == ("# bad" in written)


def test_line_ends_and_a_byte_order_mark_stay(run: Any, file: Path) -> None:
    file.write_bytes(b"\xef\xbb\xbf" + AIRCRAFT.replace("\n", "\r\n").encode())
    assert run("sign", file, "centres", "--passed", "--by", "A").code == 0
    data = file.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf#")
    assert data.count(b"\n") == data.count(b"\r\n")


HOSTILE = "a\": {b}, - [c] # 'd' \\ & *e !f %g @h `i`"


def test_names_made_to_break_yaml_are_written_so_that_they_are_read_back(
    run: Any, file: Path
) -> None:
    name = '"t: x # \'y\' - \\"z\\" & *q"'
    text = AIRCRAFT.replace("tail: {part", f"{name}: {{part")
    text = text.replace("to: tail}", f"to: {name}}}").replace("servo: tail", f"servo: {name}")
    file.write_text(text, encoding="utf-8")
    result = run("sign", file, "centres", "--passed", "--by", HOSTILE, "--note", HOSTILE)
    assert (result.code, result.err) == (0, "")
    entry = tree(file)["sign-offs"][0]
    assert entry["by"] == entry["note"] == HOSTILE
    assert entry["proved"]["surface elevator"] == {"servo": "t: x # 'y' - \"z\" & *q"}
    assert "[x] centres: valid" in run("sign", file).out


@pytest.mark.parametrize("text", ["\x1b[2J", "two\nlines", "\u202ebackwards", "\x00", "a\u200bb"])
@pytest.mark.parametrize("option", ["--by", "--second", "--note"])
def test_characters_that_cannot_be_seen_are_refused(
    run: Any, file: Path, option: str, text: str
) -> None:
    result = run("sign", file, "directions", "--passed", "--by", "A", option, text)
    assert (result.code, result.out) == (2, "")
    assert f"{option} is not one line of text that can be seen." in result.err
    assert file.read_text(encoding="utf-8") == AIRCRAFT


class Terminal(io.StringIO):
    """Somebody at a terminal who types these lines."""

    def isatty(self) -> bool:
        return True


def typed(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr(sys, "stdin", Terminal("".join(f"{line}\n" for line in lines)))


def test_what_is_missing_is_asked_for_at_a_terminal(
    run: Any, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed(monkeypatch, "maybe", "p", "", "A. Builder", "B. Helper")
    result = run("sign", file, "directions")
    assert result.code == 0
    assert "Passed or failed?" in result.out
    (entry,) = tree(file)["sign-offs"]
    assert (entry["by"], entry["second"], entry["outcome"]) == ("A. Builder", "B. Helper", "passed")


def test_a_figure_that_cannot_be_is_asked_for_again(
    run: Any, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed(monkeypatch, "A", "9000 km", "", "40 paces", "4")
    result = run("sign", file, "range check engine off", "--passed")
    assert result.code == 0
    assert tree(file)["sign-offs"][0]["figures"] == {
        "distance": "40 paces",
        "headings": "4 headings",
    }


def test_answers_that_end_too_early_sign_nothing(
    run: Any, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed(monkeypatch, "passed")
    result = run("sign", file, "centres")
    assert result.code == 2
    assert "nothing is signed" in result.err
    assert file.read_text(encoding="utf-8") == AIRCRAFT


def test_a_clubs_test_is_listed_and_signed(run: Any, file: Path) -> None:
    hangar = (
        "holdshort-hangar: 1\ntests:\n  wing bolts: {title: Wing bolts tight, "
        "proves: [structure, surface *], figures: {torque: 2 N.m}, every: 30}\n"
    )
    (file.parent / "hangar.yaml").write_text(hangar, encoding="utf-8")
    assert "[ ] wing bolts: not signed" in run("sign", file).out
    missing = run("sign", file, "wing bolts", "--passed", "--by", "A")
    assert "--figure torque='" in missing.err
    result = run("sign", file, "wing bolts", "--passed", "--by", "A", "--figure", "torque=25 kg.cm")
    assert result.code == 0
    assert tree(file)["sign-offs"][0]["proved"] == {"surface elevator": {
        "function": "elevator", "servo": "tail"
    }}  # fmt: skip


def test_the_help_has_examples(run: Any) -> None:
    result = run("sign", "--help")
    assert result.code == 0
    assert "holdshort sign aircraft.yaml directions --passed" in result.out
