"""Rules that fail: each is named with its file and line, and the others still run."""

import signal
import time
from pathlib import Path

import pytest

from holdshort.analysis import Aircraft
from holdshort.document import DocumentError, read_document
from holdshort.document.fault import Fault
from holdshort.rulebook import Judgement, judge
from holdshort.rulebook.packs import load_pack
from holdshort.rulebook.time_limit import OutOfTimeError, TimeLimit
from holdshort.setup import load

HEAD = """
from pathlib import Path
from holdshort.api import Clean, Finding, Hold, NotChecked, Pack, Place, Severity, Source, rule
def check(aircraft):
    at = aircraft.setup.place()
{body}
def sound(aircraft):
    yield Clean(aircraft.setup.place())
def declared(id, check):
    return rule(id, title="t", severity=Severity.NOTE, hold=Hold.FLIGHT, subject="s",
                sources=("practice",))(check)
pack = Pack("club", 1, (declared("breaks-down", check), declared("sound-one", sound)),
            {{"practice": Source("practice", "common practice", "common practice")}},
            Path("p"), Path("c"))
"""
BODY_LINE = 6
CHECK_LINE = 4


def refuse(name: str) -> object:
    raise DocumentError(Fault("file-missing", name, name, None))


def judged(folder: Path, body: str, seconds: float = 10.0) -> Judgement:
    lines = "\n".join(f"    {line}" for line in body.splitlines())
    (folder / "__init__.py").write_text(HEAD.format(body=lines))
    pack = load_pack(f"{folder}/")
    document = read_document(b"holdshort: 1\n", "wren.yaml")
    aircraft = Aircraft(load(document, refuse).setup)  # type: ignore[arg-type]
    return judge(aircraft, [(pack, rule) for rule in pack.rules], seconds)


@pytest.mark.parametrize(
    ("body", "words", "line"),
    [
        ("yield 1 / 0", "ZeroDivisionError", BODY_LINE),
        ("import sys; sys.exit()\nyield", "SystemExit", BODY_LINE),
        ("class Odd(BaseException): pass\nraise Odd('x')\nyield", "Odd: x", BODY_LINE + 1),
        ("aircraft.setup.devices['nix']\nyield", "KeyError", BODY_LINE),
        ("aircraft.supply(None)\nyield", "AttributeError", BODY_LINE),
        ("yield 7", "yields findings, not int", CHECK_LINE),
        ("return None", "TypeError", CHECK_LINE),
        ("yield Clean('here')", "a place is made by", CHECK_LINE),
        ("yield Clean(Place('wren.yaml', 7))", "a place is made by", CHECK_LINE),
        ("yield Clean(Place('nix.yaml', ()))", "not part of the setup", CHECK_LINE),
        ("yield Finding(at, 'm', 'd', severity='bad')", "is a Severity, not 'bad'", CHECK_LINE),
        ("yield Finding(at, 'm', 'd', hold=9)", "is a Hold, not 9", CHECK_LINE),
        ("yield Finding(at, 'm', 'd', because=(7,))", "AttributeError", CHECK_LINE),
        ("while True: yield Clean(at)", "at most 100,000 outcomes", CHECK_LINE),
        ("yield NotChecked(at, '')", "`needs` of an outcome is text", CHECK_LINE),
    ],
)
def test_a_failing_rule_is_named_with_file_and_line(
    tmp_path: Path, body: str, words: str, line: int
) -> None:
    judgement = judged(tmp_path, body)
    (crash,) = judgement.crashes
    assert (crash.rule.id, crash.pack.name) == ("breaks-down", "club")
    assert words in crash.error
    assert f"{tmp_path / '__init__.py'}, line {line}" in crash.error
    assert [rule.id for rule in judgement.clean] == ["sound-one"]


@pytest.mark.parametrize(
    "body",
    [
        "while True: pass\nyield",
        "import time\ntime.sleep(60)\nyield",
        "while True:\n    try: 1 / 0\n    except Exception: pass\nyield",
        "import re\nre.match(r'(a|aa)+$', 'a' * 60 + 'b')\nyield",
    ],
)
def test_a_rule_that_never_ends_is_ended_and_the_next_still_runs(tmp_path: Path, body: str) -> None:
    began = time.monotonic()
    judgement = judged(tmp_path, body, seconds=0.2)
    assert time.monotonic() - began < 10
    (crash,) = judgement.crashes
    assert "OutOfTimeError: still running after 0.2 s" in crash.error
    assert f"{tmp_path / '__init__.py'}, line " in crash.error
    assert [rule.id for rule in judgement.clean] == ["sound-one"]


def test_an_interrupt_in_a_rule_is_an_interrupt(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt):
        judged(tmp_path, "raise KeyboardInterrupt\nyield")


def test_code_that_swallows_the_end_once_is_ended_again() -> None:
    def stubborn() -> None:
        try:
            time.sleep(60)
        except BaseException:  # noqa: BLE001  - what the limit has to cope with
            time.sleep(60)

    with TimeLimit(0.05) as limit:
        limit.start()
        with pytest.raises(OutOfTimeError):
            stubborn()


def test_the_timer_and_its_handler_are_left_as_they_were() -> None:
    before = signal.getsignal(signal.SIGALRM)
    with TimeLimit(5.0) as limit:
        limit.start()
    assert signal.getsignal(signal.SIGALRM) is before
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


def test_a_timer_of_the_calling_program_is_left_running() -> None:
    signal.setitimer(signal.ITIMER_REAL, 100.0)
    try:
        with TimeLimit(0.01) as limit:
            limit.start()
            time.sleep(0.03)
            limit.stop()
        assert signal.getitimer(signal.ITIMER_REAL)[0] > 90
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
