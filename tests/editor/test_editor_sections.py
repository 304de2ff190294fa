"""Help in the sections about balance, telemetry, logs, sign-offs, bench cards and loads."""

import re
from datetime import date
from pathlib import Path

import pytest

from holdshort.editor.completing import complete
from holdshort.editor.hovering import hover
from holdshort.editor.judging import Bench, Judged
from holdshort.editor.locating import declarations, mention_at, references
from holdshort.editor.offers import Offer, quoted
from holdshort.editor.outline import context
from holdshort.editor.positions import Lines, Point
from holdshort.editor.session import Session
from holdshort.editor.symbols import symbols
from holdshort.editor.texts import Texts
from holdshort.rulebook import load_rulebook

from .conftest import EXAMPLES

TARN = EXAMPLES / "tarn-swift.yaml"
URI = TARN.as_uri()
RULEBOOK = load_rulebook()
SIGNED = (
    "\nsign-offs:\n  - {test: failsafe, on: 2026-05-01, by: me, outcome: passed}\n"
    "deferrals: []\nparts:\n  plug: {kind: connector}\n"
)
TEXT = TARN.read_text(encoding="utf-8") + SIGNED


def point(text: str, words: str, inside: int) -> Point:
    before = text[: text.index(words) + inside]
    return Point(before.count("\n") + 1, len(before.rpartition("\n")[2]) + 1)


@pytest.fixture(scope="module")
def tarn() -> Judged:
    made = Session(Texts(), RULEBOOK, today=date(2026, 5, 20))
    made.open(URI, TEXT, 1)
    found = made.judged(URI)
    assert found is not None
    return found


def offered(tarn: Judged, below: str, typed: str) -> list[Offer]:
    """Return what is offered at the bar of what is typed below the only place of a line."""
    assert TEXT.count(f"\n{below}\n") == 1
    text = TEXT.replace(f"\n{below}\n", f"\n{below}\n{typed}\n")
    found = complete(Lines(text.replace("|", "", 1)), point(text, "|", 0), tarn, RULEBOOK)
    return [] if found is None else list(found.found)


def labels(tarn: Judged, below: str, typed: str) -> list[str]:
    return [one.label for one in offered(tarn, below, typed)]


DEVICES = re.findall(r"^  ([\w-]+): ?(?:\{part|\n    part)", TEXT, re.MULTILINE)
CHANNELS = re.findall(r"^    (\d+): \{drives", TEXT, re.MULTILINE)


def test_what_the_file_names_was_found() -> None:
    assert len(DEVICES) == 23
    assert len(CHANNELS) == 12


@pytest.mark.parametrize(
    ("below", "typed", "first"),
    [
        ("telemetry:", "  new: {from: |}", {"front-rx", "rear-rx", "engine"}),
        ("telemetry:", "  new: {from: front-rx, measures: |}", {"voltage", "link-quality"}),
        ("  columns:", "    X: {measures: link-quality, of: |}",
         {"main", "back-up", "front-rx", "rear-rx"}),
        ("  columns:", "    X: {measures: current, unit: |}", {"A", "mA"}),
        ("  columns:", "    X: {measures: voltage, at: rear-rx.|}", {"rear-rx.3", "rear-rx.4"}),
        ("balance:", "  weighings: {a: {tanks: {|}}}", {"front", "rear", "header"}),
        ("sign-offs:", "  - test: failsafe\n    figures: {|}", {"time", "recovery"}),
        ("  nose wheel:", "    mirrored: |", {"nose"}),
        ("leads:", "  - |", {"from", "to"}),
        ("leads:", "  - {from: pack-1, connectors: [|]}", {"plug"}),
        ("sign-offs:", "  - |", {"test", "on", "by"}),
        ("observations:", "  - {card: |}", {"throttle stick back", "throttle stick forward"}),
    ],
)  # fmt: skip
def test_what_fits_comes_first(tarn: Judged, below: str, typed: str, first: set[str]) -> None:
    found = labels(tarn, below, typed)
    assert set(found[: len(first)]) == first


@pytest.mark.parametrize(
    ("below", "typed", "all_there"),
    [
        ("telemetry:", "  new: {from: engine, of: |}", [*DEVICES, "front", "rear", "header"]),
        ("  columns:", "    X: {measures: position, of: |}", [f"channel {n}" for n in CHANNELS]),
        ("balance:", "  changes: {a: {of: |}}", DEVICES),
        ("balance:", "  weighings: {a: {without: [|]}}", DEVICES),
        ("sign-offs:", "  - {test: |}", ["failsafe", "range check engine off", "balance"]),
        ("  nose wheel:", "    function: |", ["nose steering", "rudder"]),
    ],
)
def test_what_may_be_meant_is_offered(
    tarn: Judged, below: str, typed: str, all_there: list[str]
) -> None:
    assert set(all_there) <= set(labels(tarn, below, typed))


def test_what_cannot_be_meant_is_not_offered(tarn: Judged) -> None:
    lines = "  - {from: pack-1, connectors: [|]}"
    assert "servo-mini" not in labels(tarn, "leads:", lines)
    assert "plug" not in labels(tarn, "devices:", "  new: {part: |}")
    backed = labels(tarn, "devices:", "  new: {part: receiver-10, backs-up: |}")
    assert backed == ["front-rx", "rear-rx"]
    senses = labels(tarn, "devices:", "  ail-left: {part: pack-sensor, senses: |}")
    assert "ail-right" in senses
    assert "ail-left" not in senses
    run = "  engine: {channels: {1..3: neutral, |}}"
    assert labels(tarn, "failsafe:", run) == [n for n in CHANNELS if int(n) > 3]
    assert offered(tarn, "leads:", "  - {from:|}") == []  # a space is wanted first


def test_words_that_mean_something_in_yaml_are_quoted() -> None:
    assert [quoted(name) for name in ("true", "Null", "no")] == ["'true'", "'Null'", "no"]


@pytest.mark.parametrize(
    ("words", "inside", "line"),
    [
        ("of: main}", 5, "    main: {heard-by: front-rx}"),
        ("of: channel 1}", 12, "    1: {drives: left aileron, centre"),
        ("at: rear-rx}", 5, "  rear-rx:"),
        ("of: engine-pack", 5, "  engine-pack: {part"),
        ("senses: pack-2", 9, "  pack-2: {part"),
    ],
)
def test_what_a_figure_is_of_leads_to_its_declaration(
    tarn: Judged, words: str, inside: int, line: str
) -> None:
    found = mention_at(tarn, point(TEXT, words, inside))
    assert found is not None
    (spot,) = declarations(tarn, found)
    assert TEXT.split("\n")[spot.span.line - 1].startswith(line)


SMALL = """holdshort: 1
devices:
  rudder: {part: s}
surfaces:
  rudder: {servo: rudder}
log:
  columns:
    A: {measures: position, of: rudder}
    B: {measures: current, of: rudder}
balance:
  tanks: {main: {capacity: 1 l}}
  items: {nose weight: {mass: 100 g}}
  weighings: {w: {without: [nose weight, rudder], tanks: {main: 1 l}}}
  movable: {nose weight: {from: 1 mm}}
telemetry: {f: {from: rudder, measures: fuel, of: main}}
sign-offs: [{test: wing bolts}]
"""


def test_tanks_items_tests_and_surfaces_are_told_apart(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    hangar = tmp_path / "hangar.yaml"
    hangar.write_text(
        "holdshort-hangar: 1\ntests:\n  wing bolts: {title: Tight, proves: [place of *], "
        "before: flight}\n",
        encoding="utf-8",
    )
    made = Session(Texts(), RULEBOOK)
    uri = (tmp_path / "a.yaml").as_uri()
    made.open(uri, SMALL, 1)
    judged = made.judged(uri)
    assert judged is not None

    def named(words: str, inside: int) -> tuple[str, list[int], str]:
        found = mention_at(judged, point(SMALL, words, inside))
        assert found is not None
        spots = declarations(judged, found)
        places = [spot.span.line for spot in references(judged, found, declared=True)]
        return found.thing, places, Path(spots[0].file).name

    assert named("of: rudder}\n    B", 5)[:2] == ("surface", [5, 8])
    assert named("of: rudder}\nbal", 5)[:2] == ("device", [3, 5, 9, 13, 15])
    assert named("of: main", 5)[:2] == ("tank", [11, 13, 15])
    assert named("nose weight, r", 2)[:2] == ("item", [12, 13, 14])
    assert named("wing bolts", 2) == ("test", [16], "hangar.yaml")


def shown(judged: Judged, words: str, inside: int) -> str:
    found = hover(judged, point(TEXT, words, inside))
    assert found is not None
    return found[0].markup(markdown=True).value


def test_the_balance_shows_every_state(tarn: Judged) -> None:
    text = shown(tarn, "\nbalance:", 3)
    # By moments from the scales, with the header tank filled (0.30 l of 0.80 kg/l at 860 mm):
    # (1.870 kg x 322 mm + 12.030 kg x 947 mm + 0.240 kg x 860 mm) / 14.140 kg.
    place = (1.870 * 322 + 12.030 * 947 + 0.240 * 860) / 14.140
    assert f"mass kg 14.14; at mm {place:.1f} ±" in text
    assert "dry, gear down:" in text
    assert "take-off, gear up:" in text
    assert "safe" not in text


def test_a_reading_a_test_a_card_and_a_surface_are_told(tarn: Judged) -> None:
    reading = shown(tarn, "  pack 1: {from", 3)
    assert "way `pack-sensor-1 > front-rx > transmitter`" in reading
    assert "alarm below `10.8 V`" in reading
    assert "or more: 2 min 2 s of flight before" in reading  # two minutes, and its delay of 2 s
    test = shown(tarn, "test: failsafe", 8)
    assert "to be passed before engine run" in test
    assert "its latest sign-off `changed by hand, 2026-05-01`" in test  # it has no fingerprint
    card = shown(tarn, "card: roll right", 8)
    assert "see `left aileron: trailing edge up`" in card  # a gyro lowers the left wing's aileron
    surface = shown(tarn, "\n  left flap:", 4)
    assert "goes `down 40 deg`" in surface
    assert "at 40 deg down and 35 m/s" in surface
    assert "of that" in surface
    assert "driven by channel `7`" in surface
    assert "heard by `front-rx`" in shown(tarn, "of: main}", 5)
    assert "capacity `1.6 l`" in shown(tarn, "front: {capacity", 2)
    wheel = shown(tarn, "\n  nose wheel:", 4)
    assert "driven by channel `6`" in wheel  # which drives the nose steering


def test_the_outline_opens_the_sections_of_sections(tarn: Judged) -> None:
    assert tarn.document is not None
    lines = Texts().open(URI, TEXT, 1).lines
    found = {one.name: one for one in symbols(tarn.document, lines)}
    balance = {one.name: one for one in found["balance"].children or ()}
    assert [one.name for one in balance["tanks"].children or ()] == ["front", "rear", "header"]
    columns = {one.name: one for one in found["log"].children or ()}["columns"]
    assert [one.name for one in columns.children or ()][:2] == ["Rx V", "Rx 2 V"]


@pytest.mark.parametrize(
    "line",
    [
        "a" + " " * 60_000,
        "a: {" + "b: " * 20_000,
        "a: [" + "b " * 30_000,
        '"' * 60_000,
        "- " * 30_000,
        "a: " + "{" * 4_000,
        "a: " + "[{" * 2_000,
    ],
)
def test_a_line_of_any_length_is_read_in_its_length(line: str) -> None:
    # With the square of their lengths, the long ones would take minutes.
    for number, column in ((0, len(line)), (1, 0)):
        found = context([line, "b"], number, column)
        assert found is None or len(found.path) < 50


def test_a_text_is_judged_once_between_two_changes(monkeypatch: pytest.MonkeyPatch) -> None:
    judged: list[str] = []
    judge = Bench.judge

    def counted(bench: Bench, buffer: object) -> Judged:
        judged.append("once")
        return judge(bench, buffer)  # type: ignore[arg-type]

    monkeypatch.setattr(Bench, "judge", counted)
    made = Session(Texts(), RULEBOOK)
    for version in (1, 2):
        made.open(URI, "holdshort: 1\naircraft: {name: A}\n", version)
        for _ in range(3):
            assert made.judged(URI) is not None
        assert made.judge_next()
        assert made.judged(URI) is not None
        assert len(judged) == version
    made.all_changed()
    made.judge_next()
    assert len(judged) == 3


def test_a_file_that_is_none_of_ours_tells_nothing(tmp_path: Path) -> None:
    (tmp_path / "plain.yaml").write_text(
        "parts:\n  a: {kind: servo, token: hush}\n  b: {kind: battery, token: hush}\n",
        encoding="utf-8",
    )
    (tmp_path / "link.yaml").symlink_to("/etc/passwd")
    text = "holdshort: 1\ncatalogues: [plain.yaml, link.yaml]\ndevices: {d: {part: a}}\n"
    made = Session(Texts(), RULEBOOK)
    uri = (tmp_path / "a.yaml").as_uri()
    made.open(uri, text, 1)
    judged = made.judged(uri)
    assert judged is not None
    told = [one.message for news in made.judge_next() for one in news.diagnostics]
    assert any("plain.yaml" in message for message in told)
    whole = Path("/etc/passwd").read_text(encoding="utf-8").strip()
    cards = [
        found[0].markup(markdown=False).value
        for line, words in enumerate(text.split("\n"), 1)
        for column in range(1, len(words) + 1)
        if (found := hover(judged, Point(line, column)))
    ]
    buffer = made.texts.find(uri)
    assert buffer is not None
    offers = complete(buffer.lines, point(text, "part: a", 6), judged, RULEBOOK)
    listed = [one.label + one.detail for one in offers.found] if offers else []
    for said in (*told, *cards, *listed):
        assert "hush" not in said
        assert whole not in said
