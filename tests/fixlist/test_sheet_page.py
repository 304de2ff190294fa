"""The aircraft sheet, taken apart by a parser: its structure, its policy, and what it says."""

import base64
import hashlib
import re
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any, cast

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.facts import Because
from holdshort.analysis.failure_table import failure_table
from holdshort.analysis.power_table import power_table
from holdshort.document import Document, read_document, read_file
from holdshort.fixlist.html_page import FOLDER, marked
from holdshort.fixlist.report import CAUTIONS, make_report
from holdshort.fixlist.rule_pages import page_blocks
from holdshort.fixlist.sheet_channels import channel_parts, link_loss_parts
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_page import render_page
from holdshort.fixlist.sheet_parts import Cell, table
from holdshort.fixlist.sheet_power import power_parts
from holdshort.fixlist.sheet_sections import SECTIONS
from holdshort.rulebook import (
    Clean,
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Rule,
    Rulebook,
    Severity,
    Source,
    judge,
    load_rulebook,
    rule,
)
from holdshort.rulebook.settings import Settings
from holdshort.setup import load

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
DAY = date(2026, 5, 1)
VOID = {"meta", "input", "br", "hr", "img", "link"}
HOSTILE = "</style></script><script>alert('1')</script><img src=x onerror=alert(2)>\"'`{{ 7*191 }}"
HIDDEN = "\u202e"


class Page(HTMLParser):
    """Takes a page apart, and notes tags that are not closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.source = text
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.within: dict[str, list[str]] = {"style": [], "script": [], "title": []}
        self.words: list[str] = []
        self.wrong: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data: str) -> None:
        for tag, texts in self.within.items():
            if self.open[-1:] == [tag]:
                texts.append(data)
                return
        self.words.append(data)

    def named(self, *tags: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name in tags]

    @property
    def ids(self) -> list[str]:
        return [found for _, attributes in self.tags if (found := attributes.get("id"))]

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def facts_of(tree: dict[str, Any] | str, *rules: Rule, pages: Path = EXAMPLES) -> SheetFacts:
    """Judge a setup by a pack of ``rules``."""
    text = tree if isinstance(tree, str) else yaml.safe_dump({"holdshort": 1, **tree})
    loaded = load(read_document(text.encode(), "wren.yaml"), no_catalogue)
    sources = {"B1": Source("B1", "a book about birds", "from memory")}
    pack = Pack("bench", 1, rules, sources, pages, pages)
    book = Settings(Rulebook((pack,)))
    aircraft = Aircraft(loaded.setup, today=DAY)
    judgement = judge(aircraft, book.rulebook, today=DAY)
    return SheetFacts(aircraft, judgement, make_report(loaded, judgement), book, DAY)


def page_of(tree: dict[str, Any] | str, *rules: Rule) -> Page:
    return Page(render_page(facts_of(tree, *rules)))


def example_facts(file: Path, rulebook: Rulebook) -> SheetFacts:
    loaded = load(read_file(str(file)), lambda name: read_file(str(file.parent / name)))
    assert not loaded.faults
    aircraft = Aircraft(loaded.setup, today=DAY)
    judgement = judge(aircraft, rulebook, today=DAY)
    return SheetFacts(aircraft, judgement, make_report(loaded, judgement), Settings(rulebook), DAY)


@pytest.fixture(scope="module")
def rulebook() -> Rulebook:
    return load_rulebook()


@pytest.fixture(
    scope="module",
    params=["tarn-swift", "minimal", "studies/throttle-reversed-later", "studies/petrol-two-packs"],
)
def example(request: pytest.FixtureRequest, rulebook: Rulebook) -> tuple[SheetFacts, Page]:
    facts = example_facts(EXAMPLES / f"{request.param}.yaml", rulebook)
    return facts, Page(render_page(facts))


def saying(
    name: str, severity: Severity, hold: Hold, *outcomes: Callable[[Aircraft], Outcome]
) -> Rule:
    @rule(
        name, title=f"About {name}", severity=severity, hold=hold, subject="test", sources=("B1",)
    )
    def check(aircraft: Aircraft) -> Iterator[Outcome]:
        for outcome in outcomes:
            yield outcome(aircraft)

    return check


def finding(message: str, *path: str | int) -> Callable[[Aircraft], Outcome]:
    return lambda aircraft: Finding(aircraft.setup.place(*path), message, "Mend it.")


def needing(text: str) -> Callable[[Aircraft], Outcome]:
    return lambda aircraft: NotChecked(aircraft.setup.place(), text)


def clean(aircraft: Aircraft) -> Outcome:
    return Clean(aircraft.setup.place())


class _Texts(yaml.SafeLoader):
    """Reads a setup file as YAML 1.2 does: days, `on` and `off` are text."""


_Texts.yaml_implicit_resolvers = {
    letter: [(tag, pattern) for tag, pattern in found if not tag.endswith((":timestamp", ":bool"))]
    for letter, found in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
cast("Any", _Texts).add_implicit_resolver(
    "tag:yaml.org,2002:bool", re.compile("^(?:true|false)$"), list("tf")
)


WIRED: dict[str, Any] = {
    "aircraft": {"name": "Wren", "propulsion": "turbine"},
    "parts": {
        "rx": {"kind": "receiver", "ports": {"1": "servo", "supply": "supply"}},
        "servo": {"kind": "servo"},
        "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "capacity": "2000 mAh"},
    },
    "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}, "tail": {"part": "servo"}},
    "leads": [{"from": "pack", "to": "rx.supply"}, {"from": "rx.1", "to": "tail"}],
    "radio": {"channels": {"1": {"drives": "elevator"}}},
    "surfaces": {"elevator": {"servo": "tail"}},
}


def test_tags_close_ids_are_unique_and_links_lead_somewhere(
    example: tuple[SheetFacts, Page],
) -> None:
    page = example[1]
    assert (page.wrong, page.open) == ([], [])
    assert [name for name, times in Counter(page.ids).items() if times > 1] == []
    links = [attributes["href"] or "" for attributes in page.named("a")]
    assert len(links) > 4
    assert {link for link in links if link.removeprefix("#") not in page.ids} == set()
    for attribute in ("aria-labelledby", "aria-describedby"):
        for _, attributes in page.tags:
            for target in (attributes.get(attribute) or "").split():
                assert target in page.ids


def test_headings_go_down_one_by_one_below_one_title(example: tuple[SheetFacts, Page]) -> None:
    levels = [int(tag[1]) for tag, _ in example[1].tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_the_page_has_a_language_landmarks_and_a_way_past_the_contents(
    example: tuple[SheetFacts, Page],
) -> None:
    page = example[1]
    assert page.named("html") == [{"lang": "en"}]
    for landmark in ("main", "nav", "footer"):
        assert len(page.named(landmark)) == 1
    first_link = page.named("a")[0]
    assert first_link == {"class": "skip", "href": "#main"}


def test_tables_have_a_caption_and_say_what_their_heads_head(
    example: tuple[SheetFacts, Page],
) -> None:
    page = example[1]
    tables = page.source.split("<table>")[1:]
    for each in tables:
        body = each.split("</table>")[0]
        assert re.search(r"<caption id=\"[^\"]+\"><bdi dir=\"ltr\">[^<]", body)
        assert set(re.findall(r"<th scope=\"(\w+)\"", body)) == {"col", "row"}
        assert "<th>" not in body
        columns = body.count('scope="col"')
        rows = body.split("<tbody>")[1].split("</tr>")[:-1]
        assert {len(re.findall(r"<t[hd][ >]", row)) for row in rows} == {columns}
    boxes = [a for a in page.named("div") if (a.get("class") or "").startswith("scroll")]
    assert len(boxes) >= len(tables)
    assert all(box.get("tabindex") == "0" for box in boxes)


def test_the_policy_lets_in_the_style_and_the_script_of_the_page_and_nothing_else(
    example: tuple[SheetFacts, Page],
) -> None:
    page = example[1]
    policies = [
        attributes["content"] or ""
        for attributes in page.named("meta")
        if attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    assert len(policies) == 1
    directives = dict(part.split(" ", 1) for part in policies[0].split("; "))
    assert [directives.pop(name) for name in ("default-src", "base-uri", "form-action")] == [
        "'none'"
    ] * 3
    # CSP level 3, 2.3.1: a hash-source is the algorithm and the base64 of the digest.
    for name in ("style", "script"):
        assert len(page.named(name)) == 1
        digest = hashlib.sha256("".join(page.within[name]).encode()).digest()
        assert directives.pop(f"{name}-src") == f"'sha256-{base64.b64encode(digest).decode()}'"
    assert directives == {}


def test_nothing_is_fetched_and_no_attribute_runs_or_styles(
    example: tuple[SheetFacts, Page],
) -> None:
    page = example[1]
    for _, attributes in page.tags:
        for name, value in attributes.items():
            assert not name.startswith("on")
            assert name not in {"style", "src", "srcset", "action", "formaction", "data", "poster"}
            if name.endswith("href"):
                assert (value or "").startswith("#")
    assert not re.search(r"url\(|@import", "".join(page.within["style"]))
    assert not page.named("img", "link", "iframe", "object", "embed", "base", "form")


def test_each_finding_stands_once_in_the_order_of_the_report(
    example: tuple[SheetFacts, Page],
) -> None:
    facts, page = example
    items = page.source.split('<li id="finding-')[1:]
    assert len(items) == len(facts.report.findings)
    for number, (item, told) in enumerate(zip(items, facts.report.findings, strict=True), 1):
        own = Page(f'<li id="finding-{item.split("</li>")[0]}</li>')
        assert own.named("li")[0]["id"] == f"finding-{number}"
        assert own.named("li")[0]["data-severity"] == told.severity.word
        assert own.named("li")[0]["data-hold"] == told.hold.word
        shown = re.sub(r"\s", "", own.text)
        for text in (told.title, told.message, told.do):
            assert re.sub(r"\s|`", "", text) in shown
        assert f"{told.at.file}:{told.at.line}:{told.at.column}" in shown


def test_every_rule_that_found_something_is_explained_with_its_sources(
    example: tuple[SheetFacts, Page],
) -> None:
    facts, page = example
    told = page.source.split('<section class="rule"')[1:]
    assert len(told) == len({found.rule for found in facts.report.findings})
    for found in facts.report.findings:
        own = next(part for part in told if f"<code>{found.rule}</code>" in part)
        text = Page(f"<section {own.split('</section>')[0]}</section>").text
        for source in found.sources:
            assert source.text in text
            assert source.confidence in text


def test_nothing_is_called_safe(example: tuple[SheetFacts, Page]) -> None:
    text = example[1].text.lower()
    for caution in CAUTIONS:
        assert caution.lower() in text
        text = text.replace(caution.lower(), "")
    text = text.replace("engine made safe", "").replace("made safe first", "")
    assert re.findall(r".{20}\bsafe\b.{20}|airworthy|cleared to|good to go|all clear", text) == []


def test_the_voltages_are_those_of_the_power_table(rulebook: Rulebook) -> None:
    facts = example_facts(EXAMPLES / "tarn-swift.yaml", rulebook)
    source = render_page(facts)
    body = source.split("Voltage of each rail by load case, V")[1].split("</table>")[0]
    shown = power_table(facts.aircraft)
    rows = [re.findall(r"<bdi>([^<]*)</bdi></t[hd]>", row) for row in body.split("<tr>")[1:]]
    wanted = [
        [f"rail {' + '.join(rail.sources)}"]
        + [f"{rail.volts[case.name].value:.2f}" for case in shown.cases]
        for rail in shown.rails
        if rail.sources
    ]
    assert rows[1:] == wanted
    assert len(wanted) > 3


def test_a_lost_function_is_said_in_words_and_signs(rulebook: Rulebook) -> None:
    facts = example_facts(EXAMPLES / "studies" / "one-lead-six-surfaces.yaml", rulebook)
    source = render_page(facts)
    body = source.split("What one failure leaves of each control function")[1]
    row = next(row for row in body.split("</tr>") if "pack radio-pack" in row)
    lost = next(
        outcome
        for outcome in failure_table(facts.aircraft).singles
        if outcome.failures[0].label == "pack radio-pack"
    )
    assert len(lost.lost) > 1
    assert row.count("<bdi>LOST</bdi>") == len(lost.lost)
    assert row.count('<span class="sign" aria-hidden="true">✕</span>') == len(lost.lost)
    assert len(re.findall(r'class="outside[^"]*"><span', row)) == len(lost.lost)


def cells(part: Any, heading: str) -> dict[str, Cell]:
    """Return the cells of the row of a table that ``heading`` begins, by their columns."""
    row = next(row for row in part.rows if row[0].text == heading)
    titles = (column.title for column in part.columns)
    return dict(zip(titles, row, strict=True))


def test_a_device_outside_its_rating_stands_out() -> None:
    # A full pack of two cells gives 8.4 V, and the servo takes 6 V.
    parts = {**WIRED["parts"], "servo": {"kind": "servo", "voltage": {"max": "6 V"}}}
    shown = power_parts(facts_of({**WIRED, "parts": parts}))
    table = next(part for part in shown if getattr(part, "caption", "") == "Voltage at each device")
    told = {name: cells(table, name)["against its rating"] for name in ("tail", "rx")}
    assert (told["tail"].tone, told["tail"].sign) == ("outside", "!")
    assert (told["rx"].tone, told["rx"].sign) == ("", "")


def test_a_failsafe_that_is_not_declared_stands_out() -> None:
    shown = link_loss_parts(facts_of(WIRED))
    rows = [row for part in shown for row in getattr(part, "rows", ())]
    told = {cell.text: (cell.tone, cell.sign) for row in rows for cell in row}
    assert told["not declared"] == ("outside", "!")
    assert told["elevator"] == ("", "")


def test_channels_without_modes_have_their_figures_under_their_heads() -> None:
    channels = {"3": {"drives": "elevator", "travel": {"low": "90 %", "high": "70 %"}}}
    shown = channel_parts(facts_of({**WIRED, "radio": {"channels": channels}}))
    table = next(part for part in shown if getattr(part, "rows", ()))
    told = {title: cell.text for title, cell in cells(table, "3").items()}
    assert "mode" not in told
    assert (told["drives"], told["travel low"], told["travel high"]) == ("elevator", "90 %", "70 %")


def test_many_reasons_are_listed_up_to_a_number_and_then_counted() -> None:
    def crowded(aircraft: Aircraft) -> Outcome:
        place = aircraft.setup.place("aircraft")
        reasons = tuple(Because(place, f"reason {number}") for number in range(1, 46))
        return Finding(place, "Too many.", "Mend it.", because=reasons)

    page = page_of(WIRED, saying("many-reasons", Severity.CAUTION, Hold.FLIGHT, crowded))
    assert "reason 40 (" in page.text
    assert "reason 41 (" not in page.text
    assert "and 5 more, which the JSON report lists" in page.text


def test_the_parts_of_a_large_drawing_are_numbered(rulebook: Rulebook) -> None:
    source = render_page(example_facts(EXAMPLES / "tarn-swift.yaml", rulebook))
    titles = re.findall(r"<p>(Wiring, part [^<]+)</p>", source)
    assert len(titles) > 1
    for number, title in enumerate(titles, 1):
        assert title.startswith(f"Wiring, part {number} of {len(titles)}: ")
    assert "Wiring, part" not in page_of(WIRED, saying("a-rule", Severity.NOTE, Hold.FLIGHT)).text


def test_a_drawn_finding_and_its_badge_lead_to_each_other() -> None:
    loose = saying(
        "tail-loose", Severity.WARNING, Hold.FLIGHT, finding("It is loose.", "devices", "tail")
    )
    page = page_of(WIRED, loose)
    item = page.source.split('<li id="finding-1"')[1].split("</li>")[0]
    target = re.search(r'Drawn at</dt><dd><a href="#(device-\d+)"><bdi>tail</bdi></a>', item)
    assert target
    drawing = page.source.split("<svg xmlns")[1].split("</svg>")[0]
    assert f'id="{target[1]}"' in drawing
    assert 'href="#finding-1"' in drawing


@pytest.mark.parametrize(
    ("rules", "words"),
    [
        ((), ["Nothing found in what was declared"] * 3),
        (
            (saying("bad-plug", Severity.WARNING, Hold.POWER_UP, finding("a"), finding("b")),),
            ["Held by 2 warnings", "Held by what holds power-up", "Held by what holds power-up"],
        ),
        (
            (
                saying("bad-plug", Severity.CAUTION, Hold.ENGINE_RUN, finding("a")),
                saying("bad-lead", Severity.WARNING, Hold.FLIGHT, finding("b")),
                saying("dim-lamp", Severity.CAUTION, Hold.FLIGHT, finding("c")),
            ),
            [
                "Nothing found in what was declared",
                "Held by 1 caution",
                "Held by 1 warning and 1 caution, and by what holds engine run",
            ],
        ),
        (
            (saying("dim-lamp", Severity.NOTE, Hold.POWER_UP, finding("a")),),
            ["Nothing found in what was declared"] * 3,
        ),
    ],
)
def test_each_hold_point_says_what_holds_it(rules: tuple[Rule, ...], words: list[str]) -> None:
    page = page_of(WIRED, *rules)
    board = page.source.split('<ul class="board">')[1].split("</ul>")[0]
    assert re.findall(r"<span>([^<]+)</span>", board) == words
    shapes = re.findall(r"shape-(\w+)", board)
    assert [shape == "held" for shape in shapes] == [text.startswith("Held") for text in words]


def test_what_was_not_checked_is_counted_at_its_hold_point_and_listed() -> None:
    unknown = saying("heavy-tail", Severity.WARNING, Hold.ENGINE_RUN, needing("the `mass`"))
    page = page_of(WIRED, unknown)
    board = page.source.split('<ul class="board">')[1].split("</ul>")[0].split("</li>")
    assert ["1 not checked: facts are missing" in point for point in board[:3]] == [
        False, True, False,
    ]  # fmt: skip
    assert re.findall(r"shape-(\w+)", board[1]) == ["open"]
    section = page.source.split('<section id="not-checked"')[1].split("</section>")[0]
    assert '<code dir="auto">mass</code>' in section
    assert "heavy-tail" in section


def test_a_mistake_of_form_and_a_failed_rule_are_told_at_every_hold_point() -> None:
    @rule(
        "falls-over", title="Falls", severity=Severity.NOTE, hold=Hold.FLIGHT, subject="test",
        sources=("B1",),
    )  # fmt: skip
    def falls(aircraft: Aircraft) -> Iterator[Outcome]:
        yield clean(aircraft)
        raise RuntimeError("no such bird")

    page = page_of({**WIRED, "gliders": 1}, falls)
    board = page.source.split('<ul class="board">')[1].split("</ul>")[0]
    assert board.count("1 mistake of form: what they touch is not judged") == 3
    assert board.count("1 rule failed, and judged nothing") == 3
    assert re.findall(r"shape-(\w+)", board) == ["open"] * 3
    assert "RuntimeError: no such bird" in page.text
    assert "gliders" in page.text


def test_a_deferred_finding_is_told_apart_with_who_and_until_when() -> None:
    bad = saying(
        "bad-plug", Severity.WARNING, Hold.FLIGHT, finding("Worn plug.", "devices", "tail")
    )
    waiting = {
        "rule": "bad-plug", "at": "devices.tail", "reason": "plug ordered", "by": "the owner",
        "until": "2026-06-01", "second": "the instructor",
    }  # fmt: skip
    page = page_of({**WIRED, "deferrals": [waiting]}, bad)
    section = page.source.split('<section id="deferred"')[1].split("</section>")[0]
    for text in ("Worn plug.", "plug ordered", "the owner and the instructor", "2026-06-01"):
        assert text in section
    assert "finding-1" not in page.ids
    assert "1 finding deferred: accepted for now" in page.text


def test_a_bare_aircraft_has_no_section_without_content() -> None:
    page = page_of(
        {"aircraft": {"name": "Wren"}}, saying("is-fine", Severity.NOTE, Hold.FLIGHT, clean)
    )
    shown = {section.id for section in SECTIONS} & set(page.ids)
    assert shown >= {"aircraft", "hold-points", "fix-list", "cautions"}
    assert not shown & {"wiring", "power", "failures", "link-loss", "channels", "codes", "rules"}
    assert "nothing was found in what was declared" in page.text


def test_the_sections_have_ids_of_their_own_and_templates_that_exist() -> None:
    ids = [section.id for section in SECTIONS]
    assert len(set(ids)) == len(ids)
    for section in SECTIONS:
        assert (FOLDER / f"sheet_{section.block}.html.jinja").is_file()


def test_hostile_texts_are_only_text() -> None:
    name = "<script>alert('n')</script>\"'"
    tree = {
        **WIRED,
        "aircraft": {"name": HOSTILE, "propulsion": "turbine"},
        "devices": {name: {"part": "rx"}, "tail": {"part": "servo"}},
        "leads": [{"from": f"{name}.1", "to": "tail"}],
        "surfaces": {name: {"servo": "tail"}},
    }
    long = "x" * 5000
    rules = (
        saying("long-text", Severity.WARNING, Hold.FLIGHT, finding(long)),
        saying("bad-text", Severity.CAUTION, Hold.FLIGHT, finding(HOSTILE + HIDDEN)),
        saying("open-text", Severity.CAUTION, Hold.FLIGHT, needing(HOSTILE + HIDDEN)),
    )
    page = page_of(tree, *rules)
    assert (page.wrong, page.open) == ([], [])
    assert len(page.named("script")) == len(page.named("style")) == 1
    assert not page.named("img")
    assert "alert" not in "".join(page.within["script"] + page.within["style"])
    assert HIDDEN not in page.source
    assert "\\u202e" in page.text
    assert "{{ 7*191 }}" in page.text
    assert "1337" not in page.source
    assert long in page.text
    assert not any(name.startswith("on") for _, given in page.tags for name in given)


def renamed(tree: Any, names: dict[str, str]) -> Any:
    """Return a tree in which every name, and every port of what it names, is another."""
    if isinstance(tree, dict):
        mapping = cast("dict[str, Any]", tree)
        return {names.get(key, key): renamed(value, names) for key, value in mapping.items()}
    if isinstance(tree, list):
        entries: list[Any] = tree  # pyright: ignore[reportUnknownVariableType]
        return [renamed(value, names) for value in entries]
    if not isinstance(tree, str):
        return tree
    device, dot, port = tree.partition(".")
    return names[device] + dot + port if dot and device in names else names.get(tree, tree)


def test_every_name_of_a_full_aircraft_is_only_text(rulebook: Rulebook) -> None:
    file = EXAMPLES / "tarn-swift.yaml"
    tree = yaml.load(file.read_text(encoding="utf-8"), _Texts)  # noqa: S506  - texts and nothing else
    marker = "</svg><img src=x onerror=alert(1)>\"'>"  # a name holds 80 letters at most
    named = [*tree["devices"], *tree["balance"]["weighings"], *tree["radio"]["links"]]
    hostile = renamed(tree, {name: f"{name}{marker}" for name in named if not name.isalpha()})
    hostile["aircraft"]["name"] = hostile["balance"]["datum"] = marker
    text = yaml.dump(hostile, allow_unicode=True, width=10_000)
    loaded = load(
        read_document(text.encode(), "wren.yaml"),
        lambda name: read_file(str(file.parent / name)),
    )
    assert not loaded.faults
    aircraft = Aircraft(loaded.setup, today=DAY)
    judgement = judge(aircraft, rulebook, today=DAY)
    report = make_report(loaded, judgement)
    facts = SheetFacts(aircraft, judgement, report, Settings(rulebook), DAY)
    page = Page(render_page(facts))
    assert (page.wrong, page.open) == ([], [])
    shown = {section.id for section in SECTIONS} & set(page.ids)
    assert shown >= {"wiring", "power", "failures", "link-loss", "balance", "loads", "cards"}
    assert not page.named("img")
    for tag, attributes in page.tags:
        for name, value in attributes.items():
            assert not name.startswith("on")
            assert name == "aria-label" or "alert" not in (value or ""), (tag, name)
    assert page.text.count("alert(1)") > 300


@settings(max_examples=25)
@given(st.text(max_size=120))
def test_any_text_comes_back_from_the_page_as_it_went_in(text: str) -> None:
    rules = (saying("any-text", Severity.CAUTION, Hold.FLIGHT, finding(f"[{text}]")),)
    page = page_of({"aircraft": {"name": "Wren"}}, *rules)
    assert (page.wrong, page.open) == ([], [])
    item = page.source.split('<p class="message"><bdi dir="ltr">')[1].split("</bdi>")[0]
    shown = "".join(Page(item).words)
    if text.isprintable() and "`" not in text:
        assert shown == f"[{text}]"
    assert shown.isprintable()


def test_back_ticks_mark_code_only_in_pairs() -> None:
    assert str(marked("`a<b` and c")) == '<code dir="auto">a&lt;b</code> and c'
    assert str(marked("a ` b")) == "a ` b"
    assert str(marked("a\nb\x1b")) == "a\\nb\\x1b"


def test_a_rule_page_is_taken_apart(tmp_path: Path) -> None:
    text = (
        "# A title\n\n**What it looks at.** One `thing`\nand **another**.\n\n"
        "Either:\n- first\n  goes on\n- **second**\n\n| a | b |\n|---|---|\n"
    )
    (tmp_path / "some-rule.md").write_text(text, encoding="utf-8")
    some = saying("some-rule", Severity.NOTE, Hold.FLIGHT)
    pack = Pack("bench", 1, (some,), {}, tmp_path, tmp_path)
    blocks = page_blocks(pack, some)
    assert [(block.form, block.lead, block.texts) for block in blocks] == [
        ("paragraph", "What it looks at.", ("One `thing` and another.",)),
        ("paragraph", "", ("Either:",)),
        ("list", "", ("first goes on", "second")),
        ("written", "", ("| a | b |", "|---|---|")),
    ]
    assert page_blocks(pack, saying("other-rule", Severity.NOTE, Hold.FLIGHT)) == ()


def test_a_row_of_another_length_than_the_head_is_refused() -> None:
    with pytest.raises(ValueError, match="a row of 1 cells in a table of 2 columns"):
        table("Birds", ("name", "mass"), [("wren",)], "<>")


def test_cells_say_how_they_may_break() -> None:
    assert [Cell(text).size for text in ("", "7.40 V", "a " * 20, "x" * 60)] == [
        "short", "short", "", "long",
    ]  # fmt: skip


def test_a_full_example_stays_small(rulebook: Rulebook) -> None:
    text = render_page(example_facts(EXAMPLES / "tarn-swift.yaml", rulebook))
    assert len(text.encode()) < 400_000
