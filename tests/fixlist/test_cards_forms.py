"""Bench cards as text, as JSON and as a page."""

import base64
import hashlib
import json
import re
import unicodedata
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import holdshort.fixlist
from holdshort.analysis import Aircraft
from holdshort.analysis.bench_cards import BenchCard, CardGroup, CardLine, CardSheet, CardSource
from holdshort.analysis.cards import card_sheet
from holdshort.document import Document, DocumentError, read_document
from holdshort.fixlist.cards_json import render_json
from holdshort.fixlist.cards_page import render_page
from holdshort.fixlist.cards_text import render_text
from holdshort.fixlist.paragraphs import WIDTH
from holdshort.setup import load

SCHEMA: dict[str, Any] = json.loads(
    (Path(holdshort.fixlist.__path__[0]) / "cards.schema.json").read_text(encoding="utf-8")
)
HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}
HOSTILE = '<script>alert("1")</script>'


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def sheet_of(tree: dict[str, Any]) -> CardSheet:
    text = json.dumps({"holdshort": 1, **tree})
    return card_sheet(Aircraft(load(read_document(text.encode(), "t.yaml"), no_catalogue).setup))


def aircraft(surface: str = "left aileron", title: str = "Wren") -> dict[str, Any]:
    return {
        "aircraft": {"name": title, "propulsion": "turbine"},
        "parts": {
            "rx": {"kind": "receiver", "ports": {"1": "servo"}},
            "box": {"kind": "gyro", "ports": {"in": "pulse-in", "1": "servo"}, "senses": "roll"},
            "servo": {"kind": "servo"},
        },
        "devices": {
            "rx": {"part": "rx"},
            "second": {"part": "rx"},
            "gyro": {"part": "box"},
            "servo": {"part": "servo"},
        },
        "leads": [{"from": "rx.1", "to": "gyro.in"}, {"from": "gyro.1", "to": "servo"}],
        "radio": {"channels": {"1": {"drives": "left aileron"}}},
        "surfaces": {surface: {"servo": "servo", "function": "aileron", "side": "left"}},
    }


def close(schema: Any) -> Any:
    """Let no other key stand in an object, so that an undocumented key shows."""
    if isinstance(schema, list):
        return [close(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    closed = {key: close(value) for key, value in schema.items()}
    return {**closed, "additionalProperties": False} if closed.get("type") == "object" else closed


class Page(HTMLParser):
    """Takes a page apart, and notes tags that are not closed in order."""

    VOID = {"meta", "input", "br", "hr", "img", "link"}  # noqa: RUF012  - never changed

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.style = ""
        self.wrong: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data: str) -> None:
        if self.open[-1:] == ["style"]:
            self.style += data
        else:
            self.texts.append(data)

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def test_the_text_has_boxes_cautions_first_and_what_to_write_back() -> None:
    text = render_text(sheet_of(aircraft()))
    assert text.startswith("Bench cards of Wren\nt.yaml\n\nBefore anything moves\n")
    assert "  [ ] left aileron: trailing edge up\n" in text
    entry = "  - {card: roll right, seen: as it must, on: YYYY-MM-DD, by: NAME}\n"
    assert entry in text
    assert text.index("Engine made safe first: fuel off") < text.index("Aileron stick right")
    assert max(map(len, text.splitlines())) <= WIDTH


def test_what_is_to_be_written_in_is_a_blank_line_with_the_reason() -> None:
    tree = aircraft()
    tree["surfaces"] = {"aileron": {"servo": "servo"}}
    text = render_text(sheet_of(tree))
    card = text.split("\nAileron stick right\n")[1].split("\n\n")[0]
    assert re.search(
        r"\[ \] aileron: _{10,} \(not declared: which `side` `aileron`\s+is on\)", card
    )


def test_json_keeps_its_shape() -> None:
    tree = aircraft()
    tree["devices"]["broken"] = {"part": "nothing"}
    data = json.loads(render_json(sheet_of(tree)))
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.validate(data, close(SCHEMA))
    assert (data["format"], data["version"]) == ("holdshort-cards", 1)
    hand = next(group for group in data["groups"] if group["group"] == "hand motions")
    assert hand["cards"][0]["lines"][0] == {
        "subjects": ["left aileron"],
        "must": "trailing edge up",
        "not_declared": None,
        "note": None,
    }
    assert "devices.broken" in data["unread"]


def test_json_says_null_for_what_is_to_be_written_in() -> None:
    tree = aircraft()
    tree["surfaces"] = {"aileron": {"servo": "servo"}}
    data = json.loads(render_json(sheet_of(tree)))
    line = data["groups"][0]["cards"][0]["lines"][0]
    assert line["must"] is None
    assert "side" in line["not_declared"]


def test_the_page_is_well_formed_and_fetches_nothing() -> None:
    text = render_page(sheet_of(aircraft()))
    page = Page(text)
    assert text.startswith("<!DOCTYPE html>\n")
    assert (page.open, page.wrong) == ([], [])
    names = {tag for tag, _ in page.tags}
    assert not names & {"script", "link", "img", "iframe", "object", "form", "a", "base", "svg"}
    attributes = {name for _, found in page.tags for name in found}
    assert not attributes & {"src", "href", "style", "srcset", "action"}
    assert not [name for name in attributes if name.startswith("on")]
    assert not re.search(r"url\(|@import|expression|https?:", page.style)
    assert {"html", "main", "header", "article", "label"} <= names


def test_the_page_forbids_everything_but_its_own_style() -> None:
    """Source: W3C Content Security Policy Level 3, hash-source: base64 of the SHA-256 digest."""
    page = Page(render_page(sheet_of(aircraft())))
    policy = next(
        meta["content"]
        for meta in page.named("meta")
        if meta.get("http-equiv") == "Content-Security-Policy"
    )
    digest = base64.b64encode(hashlib.sha256(page.style.encode()).digest()).decode()
    assert policy == (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    )
    # A policy counts only for what comes after it.
    order = [tag for tag, _ in page.tags]
    assert order.index("meta") < order.index("style")


def test_every_line_has_a_box_and_every_card_stays_on_one_sheet() -> None:
    sheet = sheet_of(aircraft())
    page = Page(render_page(sheet))
    lines = [line for group in sheet.groups for card in group.cards for line in card.lines]
    boxes = [box for box in page.named("input") if box["type"] == "checkbox"]
    assert len(boxes) == len(page.named("label")) == len(lines)
    assert re.search(r"\.card \{[^}]*break-inside: avoid", page.style)
    assert "size: A4" in page.style
    assert "prefers-color-scheme: dark" in page.style


def test_a_card_too_long_for_a_sheet_is_continued() -> None:
    lines = tuple(CardLine((f"servo {number} " + "W" * 70,), "up") for number in range(30))
    card = BenchCard("long card", "Long", ("Do it.",), lines)
    sheet = CardSheet("t", None, (), (CardGroup("g", "G", (), (card,)),), (), ())
    page = Page(render_page(sheet))
    titles = [text for text in page.texts if text.startswith("Long (")]
    assert titles == [f"Long ({at + 1} of {len(titles)})" for at in range(len(titles))]
    assert len(titles) > 1
    assert len(page.named("input")) == len(lines)
    assert sum("card: long card" in text for text in page.texts) == 1


@pytest.mark.parametrize(
    "name", [HOSTILE, '" onload="x', "it's & <b>", "`a` `b", "x" * 80, "{{ 7 * 7 }}", "{% raw %}"]
)
def test_names_are_only_ever_text(name: str) -> None:
    title = name
    surface = name if not set(name) & set(".,[]{}") else "left aileron"
    text = render_page(sheet_of(aircraft(surface, title)))
    page = Page(text)
    assert (page.open, page.wrong) == ([], [])
    assert "script" not in {tag for tag, _ in page.tags}
    assert "b" not in {tag for tag, _ in page.tags}
    assert not any("onload" in found for _, found in page.tags)
    assert f"Bench cards of {name}" in page.texts
    assert any(surface in each for each in page.texts)


@pytest.mark.parametrize("text", [HOSTILE, f"`a` {HOSTILE}", f"` {HOSTILE}", f"`{HOSTILE}`"])
def test_no_field_of_a_card_is_more_than_text(text: str) -> None:
    card = BenchCard(
        text, text, (text, text), (CardLine((text,), text, text, text), CardLine((text,), "")),
        (text,), (text,), (CardSource(text, text),),
    )  # fmt: skip
    single = card._replace(do=(text,))
    group = CardGroup(text, text, (text,), (card, single), (CardSource(text, text),))
    page = Page(render_page(CardSheet(text, text, (text,), (group,), (), (text,))))
    assert (page.open, page.wrong) == ([], [])
    assert "script" not in {tag for tag, _ in page.tags}
    told = "".join(page.texts)
    assert told.count(HOSTILE) > 30


@pytest.mark.parametrize("mark", ["\u202e", "\u2066", "\u202b"])
def test_marks_that_reorder_text_are_refused_by_the_reader(mark: str) -> None:
    text = json.dumps({"holdshort": 1, "aircraft": {"name": f"a{mark}b"}}, ensure_ascii=False)
    with pytest.raises(DocumentError) as caught:
        read_document(text.encode(), "t")
    assert "reorders text" in caught.value.fault.message


words = st.text(max_size=40)
lines_drawn = st.builds(
    CardLine, st.lists(words, min_size=1, max_size=3).map(tuple), words, words, words
)
cards_drawn = st.builds(
    BenchCard,
    words,
    words,
    st.lists(words, max_size=2).map(tuple),
    st.lists(lines_drawn, min_size=1, max_size=4).map(tuple),
    st.lists(words, max_size=1).map(tuple),
    st.lists(words, max_size=1).map(tuple),
    st.just((CardSource("a book", "read"),)),
)
sheets = st.builds(
    lambda file, name, texts, cards: CardSheet(
        file, name, texts, (CardGroup("g", name or "g", texts, tuple(cards)),), (), texts
    ),
    words,
    st.none() | words,
    st.lists(words, max_size=2).map(tuple),
    st.lists(cards_drawn, min_size=1, max_size=2),
)


@settings(max_examples=40, deadline=None)
@given(sheets)
def test_no_form_lets_a_hidden_character_through(sheet: CardSheet) -> None:
    page = render_page(sheet)
    for text in (render_text(sheet), render_json(sheet), page):
        seen = {unicodedata.category(character) for character in text.replace("\n", "")}
        assert not seen & HIDDEN
    taken = Page(page)
    assert (taken.open, taken.wrong) == ([], [])


@settings(max_examples=40, deadline=None)
@given(sheets)
def test_no_line_is_too_wide_but_the_one_to_copy(sheet: CardSheet) -> None:
    for line in render_text(sheet).splitlines():
        assert len(line) <= WIDTH or line.startswith("  - {card: ")
