"""Hover, definitions and offers in one process, with names that mean mischief."""

import asyncio
import random
from datetime import date
from pathlib import Path

import pytest

from holdshort.document import read_file
from holdshort.editor.cards import Card, Line, code
from holdshort.editor.completing import complete
from holdshort.editor.hovering import hover
from holdshort.editor.judging import Judged
from holdshort.editor.locating import declarations, mention_at, references
from holdshort.editor.mending import mends
from holdshort.editor.mentions import mentions
from holdshort.editor.offers import quoted
from holdshort.editor.positions import Point
from holdshort.editor.server import Server
from holdshort.editor.session import Session
from holdshort.editor.symbols import symbols
from holdshort.editor.texts import Texts
from holdshort.editor.uris import path_of, uri_of
from holdshort.rulebook import load_rulebook

from .conftest import EXAMPLES

TARN = EXAMPLES / "tarn-swift.yaml"
SMALL = EXAMPLES / "studies" / "one-pack-jet.yaml"
TEXT = TARN.read_text(encoding="utf-8")


def session() -> Session:
    return Session(Texts(), load_rulebook(), today=date(2026, 5, 20))


@pytest.fixture(scope="module")
def tarn() -> Judged:
    made = session()
    made.open(TARN.as_uri(), TEXT, 1)
    found = made.judged(TARN.as_uri())
    assert found is not None
    return found


def point(text: str, words: str, *, inside: int = 1) -> Point:
    before = text[: text.index(words) + inside]
    return Point(before.count("\n") + 1, len(before.rpartition("\n")[2]) + 1)


def shown(judged: Judged, words: str, *, inside: int = 1) -> str:
    found = hover(judged, point(TEXT, words, inside=inside))
    assert found is not None
    return found[0].markup(markdown=True).value


def test_a_device_shows_its_part_its_voltage_and_what_it_takes_with_it(tarn: Judged) -> None:
    text = shown(tarn, "nose: {part")
    assert "**servo** `nose`" in text
    assert "`servo-mini: mini servo`" in text
    assert "voltage `min 4.8 V, max 7.4 V`" in text
    assert "rail at rest `7.40 V`" in text  # what regulator-2 is set to, nothing drawn
    assert "channel 6 by `front-rx.10 > gyro-right.bus-1 > gyro-right.6 > nose`" in text
    assert "if it fails" in shown(tarn, "regulator-1: {")


def test_a_port_a_lead_a_channel_a_surface_a_part_and_a_key_are_told(tarn: Judged) -> None:
    assert "has" not in shown(tarn, "from: front-rx.1,", inside=15)
    assert "channel 9 by" in shown(tarn, "from: front-rx.1,", inside=15)
    lead = shown(tarn, "from: pack-1,")
    assert "wire `14 AWG`" in lead
    assert "length `20 cm`" in lead
    assert "current in " in lead
    assert "drop in " in lead
    assert "drives `rudder`" in shown(tarn, "5: {drives", inside=0)
    assert "moved by `nose`" in shown(tarn, "nose wheel:")
    assert "declared in `" in shown(tarn, "servo-mini", inside=3)
    key = shown(tarn, "output: 7.4")
    assert "What a regulator or regulated box is set to, in volts." in key
    assert "`8.4 V`" in key
    words = shown(tarn, "propulsion:")
    assert "`turbine`" in words


def place_of(judged: Judged, words: str, *, inside: int) -> list[tuple[str, str]]:
    """Return the file and the text of each declaration."""
    mention = mention_at(judged, point(TEXT, words, inside=inside))
    assert mention is not None
    found = []
    for spot in declarations(judged, mention):
        line = Path(spot.file).read_text(encoding="utf-8").split("\n")[spot.span.line - 1]
        found.append((Path(spot.file).name, line[spot.span.column - 1 : spot.span.end_column - 1]))
    return found


@pytest.mark.parametrize(
    ("words", "inside", "file", "text"),
    [
        ("to: regulator-1.in", 6, "tarn-swift.yaml", "regulator-1"),
        ("from: regulator-1.out-2", 20, "shelf.yaml", "out-1..4"),
        ("part: servo-mini", 8, "shelf.yaml", "servo-mini"),
        ("servo: nose\n", 8, "tarn-swift.yaml", "nose"),
        ("drives: left aileron", 10, "tarn-swift.yaml", "left aileron"),
        ("channels: {1..6: neutral, 7: up, 8:", 26, "tarn-swift.yaml", "7"),
        ("heard-by: front-rx", 12, "tarn-swift.yaml", "front-rx"),
    ],
)
def test_names_lead_to_where_they_are_declared(
    tarn: Judged, words: str, inside: int, file: str, text: str
) -> None:
    assert place_of(tarn, words, inside=inside) == [(file, text)]


def test_references_of_a_device_are_all_the_places_that_name_it(tarn: Judged) -> None:
    mention = mention_at(tarn, point(TEXT, "front-rx:"))
    assert mention is not None
    found = references(tarn, mention, declared=True)
    # By a plain search of the file, in which no line names it twice and no comment does.
    lines = [number for number, line in enumerate(TEXT.split("\n"), 1) if "front-rx" in line]
    assert [spot.span.line for spot in found] == lines
    own = [spot.span.line for spot in references(tarn, mention, declared=False)]
    assert own == lines[1:]


@pytest.mark.parametrize("name", ["`", "``", "a`b", "[x](http://a)", "<b>", "a\u202eb", "` `"])
def test_what_a_file_says_is_code_and_nothing_else(name: str) -> None:
    shown_code = code(name)
    fence = len(shown_code) - len(shown_code.lstrip("`"))
    inner = shown_code[fence:-fence]
    assert "`" * fence not in inner.strip(" `") or fence > 1
    assert shown_code.endswith("`" * fence)
    assert shown_code.isprintable()
    runs = [
        len(run)
        for run in inner.replace("`", "\0`\0").replace("\0\0", "").split("\0")
        if "`" in run
    ]
    assert fence not in runs
    assert "**" not in Card(Line("a", "b"), own="**c**").markup(markdown=False).value


@pytest.mark.parametrize(
    ("name", "heading"),
    [
        ("<img src=x>`]", "**key** ``<img src=x>`]``"),  # no name of a device
        ("<b onclick=x>`** &amp;", "**servo** ``<b onclick=x>`** &amp;``"),
    ],
)
def test_a_hostile_name_cannot_break_out_of_its_card(name: str, heading: str) -> None:
    made = session()
    text = TEXT.replace("nose: {part", f"'{name}': {{part")
    text = text.replace("servo: nose\n", f"servo: '{name}'\n")
    made.open(TARN.as_uri(), text, 1)
    judged = made.judged(TARN.as_uri())
    assert judged is not None
    found = hover(judged, point(text, f"'{name}", inside=3))
    assert found is not None
    assert found[0].markup(markdown=True).value.startswith(f"{heading}\n\n")


@pytest.mark.parametrize(
    ("name", "text"),
    [("a b", "a b"), ("a: b", "'a: b'"), ("it's", "'it''s'"), ("- a", "'- a'"), ("#a", "'#a'")],
)
def test_names_are_quoted_where_yaml_needs_it(name: str, text: str) -> None:
    assert quoted(name) == text


@pytest.mark.parametrize(
    ("uri", "path"),
    [
        ("file:///a/b.yaml", "/a/b.yaml"),
        ("file:///a%20b/c%25d/%C3%A9.yaml", "/a b/c%d/é.yaml"),
        ("file://localhost/a.yaml", "/a.yaml"),
        ("file:///a;b.yaml", "/a;b.yaml"),
        ("file:///C%3A/models/a.yaml", "C:/models/a.yaml"),
        ("file:///c:/models/a.yaml", "c:/models/a.yaml"),
        ("untitled:Untitled-1", "untitled:Untitled-1"),
        ("http://[", "http://["),
    ],
)
def test_uris_are_paths(uri: str, path: str) -> None:
    # RFC 8089, appendix E.2, for drive letters; RFC 3986 for the percent signs.
    assert path_of(uri) == path


@pytest.mark.parametrize("path", ["/a/b.yaml", "/a b/%20.yaml", "/é/#1;?.yaml"])
def test_a_path_comes_back_from_its_uri(path: str) -> None:
    assert path_of(uri_of(path)) == path


def test_nothing_that_is_typed_ends_the_server() -> None:
    chance = random.Random(11)  # noqa: S311  - repeatable, no secret
    made = session()
    uri = SMALL.as_uri()
    whole = SMALL.read_text(encoding="utf-8")
    text = whole
    made.open(uri, text, 1)
    signs = ["{", "}", "[", "]", ":", ": ", "\n", "  ", "'", '"', "- ", "1..", "8.4 V", "&a", "*a"]
    for _ in range(60):
        start = chance.randrange(len(text))
        end = min(len(text), start + chance.choice([0, 0, 1, 5, 60]))
        text = text[:start] + chance.choice(signs) + text[end:]
        if chance.random() < 0.2:
            text = whole
        made.open(uri, text, 1)
        buffer = made.texts.find(uri)
        assert buffer is not None
        assert buffer.text == text
        judged = made.judged(uri)
        assert judged is not None
        at = Point(chance.randrange(1, len(buffer.lines.lines) + 1), chance.randrange(1, 60))
        complete(buffer.lines, at, made.last_good(uri), made.rulebook)
        hover(judged, at)
        if judged.document is not None:
            symbols(judged.document, buffer.lines)
        if judged.report is not None:
            mends(judged, list(judged.report.findings)[:2], made.bench, buffer.lines)
        made.judge_next()


def test_every_mention_is_the_text_that_it_names() -> None:
    document = read_file(TARN)
    lines = TEXT.split("\n")
    compared: dict[str, int] = {}
    for one in mentions(document):
        text = lines[one.span.line - 1][one.span.column - 1 : one.span.end_column - 1]
        if one.thing == "port" and "." in one.names[0] and one.path[0] == "leads":
            assert one.names[0].endswith(f".{text}")
        elif one.thing == "port":  # a key of `ports:`, of one port or a run of them
            first, last = (name.partition(".")[2] for name in (one.names[0], one.names[-1]))
            assert text == (first if len(one.names) == 1 else f"{first}..{last}")
        elif len(one.names) == 1:
            assert text == one.names[0]
        else:
            continue
        compared[one.thing] = compared.get(one.thing, 0) + 1
    # Both ends of each of the leads name a device, and each device its part.
    leads = document.root["leads"]
    devices = document.root["devices"]
    assert isinstance(leads, list)
    assert isinstance(devices, dict)
    assert compared["device"] >= 2 * len(leads) + len(devices)
    assert compared["part"] >= 1
    assert compared["port"] >= 1
    assert {"surface", "link", "tank"} <= compared.keys()


def offered(uri: str, text: str) -> list[str]:
    """Return what may be written at the only bar of a text."""
    made = session()
    before, _, after = text.partition("|")
    made.open(uri, before + after, 1)
    buffer = made.texts.find(uri)
    assert buffer is not None
    at = Point(before.count("\n") + 1, len(before.rpartition("\n")[2]) + 1)
    found = complete(buffer.lines, at, made.last_good(uri), made.rulebook)
    return [] if found is None else [offer.insert for offer in found.found]


def test_a_file_of_parts_and_a_hangar_file_are_helped_too(tmp_path: Path) -> None:
    uri = (tmp_path / "parts.yaml").as_uri()
    head = "holdshort-parts: 1\nparts:\n  a: {kind: servo, ratings: []}\n"
    assert "stall-current: " in offered(uri, f"{head}  b: {{kind: servo, ratings: [{{st|}}]}}\n")
    assert "a" in offered(uri, f"{head}  b: {{like: |}}\n")
    assert "ratings: " in offered(uri, f"{head}  b:\n    like: a\n    rat|\n")
    assert offered(uri, f"{head}  b: {{kind: regul|}}\n") == ["regulator"]
    hangar = (tmp_path / "hangar.yaml").as_uri()
    first = "holdshort-hangar: 1\nlimits:\n"
    assert offered(hangar, f"{first}  aerials-par|\n") == ["aerials-parallel: "]
    assert offered(hangar, f"{first}  aerials-parallel: {{|}}\n") == ["least-angle: "]
    words = offered(hangar, "holdshort-hangar: 1\nseverities: {aerials-parallel: |}\n")
    assert words == ["warning", "caution", "note"]


def test_the_first_key_of_a_new_file_is_offered(tmp_path: Path) -> None:
    assert offered((tmp_path / "new.yaml").as_uri(), "hold|") == [
        "holdshort: ", "holdshort-parts: ", "holdshort-hangar: ",
    ]  # fmt: skip


def test_a_rule_and_a_catalogue_are_told_and_found(tmp_path: Path) -> None:
    (tmp_path / "shelf.yaml").write_text("holdshort-parts: 1\n", encoding="utf-8")
    text = (
        "holdshort: 1\ncatalogues: [shelf.yaml]\ndeferrals:\n  - {rule: aerials-parallel, "
        "at: devices, reason: r, by: me, until: 2030-01-01}\n"
    )
    made = session()
    uri = (tmp_path / "a.yaml").as_uri()
    made.open(uri, text, 1)
    judged = made.judged(uri)
    assert judged is not None
    found = hover(judged, point(text, "aerials-parallel"))
    assert found is not None
    card = found[0].markup(markdown=True).value
    assert "**rule** `aerials-parallel`" in card
    assert "least-angle" in card
    mention = mention_at(judged, point(text, "shelf.yaml"))
    assert mention is not None
    (spot,) = declarations(judged, mention)
    assert spot.file == str(tmp_path / "shelf.yaml")


def test_a_fix_mends_the_finding_that_it_is_asked_for_and_no_other() -> None:
    told = "told: {plugs: aft, label: up, changed: 2026-04-18}"
    assert TEXT.count(told) == 2
    text = TEXT.replace(told, told.replace("plugs: aft", "plugs: forward"))
    made = session()
    made.open(TARN.as_uri(), text, 1)
    judged, buffer = made.judged(TARN.as_uri()), made.texts.find(TARN.as_uri())
    assert judged is not None
    assert judged.report is not None
    assert buffer is not None
    wrong = [one for one in judged.report.findings if one.rule == "gyro-mounting-mismatch"]
    assert len(wrong) == 2
    for finding in wrong:
        (mend,) = mends(judged, [finding], made.bench, buffer.lines)
        assert {edit.range.start.line + 1 for edit in mend.edits} == {finding.at.line}


def test_a_mark_ends_with_its_line() -> None:
    made = session()
    uri = TARN.as_uri()
    made.open(uri, "holdshort: 1\naircraft:\n  name:\n    - one of\n    - two\n", 1)
    (news,) = made.judge_next()
    (told,) = [one for one in news.diagnostics if one.range.start.line == 3]
    assert told.range.end.line == 3
    assert told.range.end.character == len("    - one of")


def test_what_is_typed_on_is_judged_once_it_is_left_alone() -> None:
    told: list[int | None] = []

    async def typing() -> None:
        server = Server(load_rulebook(), pause=0.8)
        server.tell = lambda news: told.extend(one.version for one in news)  # type: ignore[method-assign]
        for version in (1, 2, 3):
            server.session.open(TARN.as_uri(), "holdshort: 1\naircraft: {name: A}\n", version)
            server.judge_soon()
            await asyncio.sleep(0.05)
        while not told:
            await asyncio.sleep(0.05)

    asyncio.run(typing())
    assert told == [3]
