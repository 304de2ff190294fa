"""Values, places and paths of files that are read."""

import pathlib

import pytest

from holdshort.document import (
    Document,
    DocumentError,
    Span,
    TreeList,
    TreeMap,
    read_document,
    read_file,
    show_path,
)

TEXT = """\
# a comment
holdshort: 1
aircraft:
  name: 'Tarn'   # quoted
  mass: {dry: 13.9 kg, ready: 017}
leads:
- {from: a, to: b}
-
- - x
  - "y"

notes: |
  one
  two

# after
empty:
"""


def read(text: str) -> Document:
    return read_document(text.encode(), "swift.yaml")


# YAML 1.2.2, section 10.3.2: the table of tag resolution of the core schema (from memory).
CORE_SCHEMA: list[tuple[str, object]] = [
    ("null", None), ("Null", None), ("NULL", None), ("~", None), ("", None), ("nULL", "nULL"),
    ("true", True), ("True", True), ("TRUE", True), ("tRUE", "tRUE"),
    ("false", False), ("False", False), ("FALSE", False),
    ("0", 0), ("-19", -19), ("+12", 12), ("017", 17), ("0o7", 7), ("0x3A", 58), ("0xff", 255),
    ("-0o7", "-0o7"), ("0o8", "0o8"), ("0O7", "0O7"), ("-0x1", "-0x1"), ("0b11", "0b11"),
    ("0.", 0.0), ("-0.0", -0.0), (".5", 0.5), ("+12e03", 12000.0), ("-2E+05", -200000.0),
    ("1e3", 1000.0), ("1.5e-3", 0.0015), ("0e-999", 0.0), (".", "."), ("e3", "e3"), ("1e", "1e"),
    ("on", "on"), ("off", "off"), ("yes", "yes"), ("no", "no"), ("y", "y"), ("N", "N"),
    ("12:30", "12:30"), ("1_000", "1_000"), ("2024-05-01", "2024-05-01"), ("14 AWG", "14 AWG"),
    ("1..6", "1..6"), ("7.4 V", "7.4 V"), ("+", "+"), ("--1", "--1"), ("inf", "inf"),
    ("nan", "nan"), ("-.nan", "-.nan"), ("٣", "٣"), ("1" * 30, int("1" * 30)), ("=", "="),
]  # fmt: skip


@pytest.mark.parametrize(("written", "value"), CORE_SCHEMA)
def test_plain_values_follow_the_core_schema(written: str, value: object) -> None:
    document = read(f"a: {written}\n")
    found = document.root["a"]
    assert (type(found), found) == (type(value), value)
    assert document.written_at(("a",)) == (None if isinstance(value, str) else written)


@pytest.mark.parametrize("written", ["'17'", '"true"', "'~'", '"1e999"', "''", "'.inf'"])
def test_quoted_values_are_text(written: str) -> None:
    document = read(f"a: {written}\n")
    assert document.root["a"] == written[1:-1]
    assert document.written_at(("a",)) is None


def test_the_tree() -> None:
    assert read(TEXT).root == {
        "holdshort": 1,
        "aircraft": {"name": "Tarn", "mass": {"dry": "13.9 kg", "ready": 17}},
        "leads": [{"from": "a", "to": "b"}, None, ["x", "y"]],
        "notes": "one\ntwo\n",
        "empty": None,
    }


# Counted by hand in TEXT.
PLACES: list[tuple[tuple[str | int, ...], tuple[int, int, int, int]]] = [
    ((), (2, 1, 17, 7)),
    (("holdshort",), (2, 12, 2, 13)),
    (("aircraft",), (4, 3, 5, 35)),
    (("aircraft", "name"), (4, 9, 4, 15)),
    (("aircraft", "mass"), (5, 9, 5, 35)),
    (("aircraft", "mass", "ready"), (5, 31, 5, 34)),
    (("leads",), (7, 1, 10, 8)),
    (("leads", 0), (7, 3, 7, 19)),
    (("leads", 1), (8, 2, 8, 2)),
    (("leads", 2), (9, 3, 10, 8)),
    (("leads", 2, 1), (10, 5, 10, 8)),
    (("notes",), (12, 8, 14, 6)),
    (("empty",), (17, 7, 17, 7)),
]


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize(("path", "span"), PLACES)
def test_places(
    path: tuple[str | int, ...], span: tuple[int, int, int, int], line_end: str, mark: str
) -> None:
    document = read(mark + TEXT.replace("\n", line_end))
    assert document.span_at(path) == Span(*span)
    node = document.node_at(path)
    if isinstance(node, TreeMap | TreeList):
        assert node.span == Span(*span)


def test_key_places() -> None:
    document = read(TEXT)
    assert document.key_span_at(("aircraft", "mass", "ready")) == Span(5, 24, 5, 29)
    assert document.key_span_at(("leads", 2, 1)) == Span(10, 5, 10, 8)
    assert document.key_span_at(()) == document.root.span


def test_absent_paths_fall_back_to_the_nearest_ancestor() -> None:
    document = read(TEXT)
    assert document.span_at(("leads", 0, "wire", "gauge")) == Span(7, 3, 7, 19)
    assert document.span_at(("leads", 9)) == Span(7, 1, 10, 8)
    assert document.span_at(("holdshort", "x")) == Span(2, 12, 2, 13)
    assert document.key_span_at(("aircraft", "x")) == Span(3, 1, 3, 9)
    assert document.span_at(("nothing",)) == document.root.span


@pytest.mark.parametrize(
    "path", [("x",), ("leads", 3), ("leads", -1), ("leads", "0"), (0,), ("holdshort", "x")]
)
def test_absent_paths_have_no_node(path: tuple[str | int, ...]) -> None:
    document = read(TEXT)
    with pytest.raises(LookupError):
        document.node_at(path)
    with pytest.raises(LookupError):
        document.written_at(path)


def test_written_is_kept_for_values_that_are_not_text() -> None:
    document = read("a: 017\nb: '017'\nc: [0x1F, x, ~, , 1.50]\n".replace(", ,", ", 'q',"))
    assert document.written_at(("a",)) == "017"
    assert document.written_at(("b",)) is None
    assert document.written_at(("c",)) is None
    steps = [document.written_at(("c", i)) for i in range(5)]
    assert steps == ["0x1F", None, "~", None, "1.50"]
    items = document.root["c"]
    assert isinstance(items, TreeList)
    assert items.written == {0: "0x1F", 2: "~", 4: "1.50"}
    assert document.root.written == {"a": "017"}


def test_keys_are_text_as_written() -> None:
    text = "1: a\n~: b\ntrue: c\n1.50: d\n'a b': e\n\"t\\tb\": f\n? g\n? h\n: i\n? \n: j\n'<<': k\n"
    assert list(read(text).root.items()) == [
        ("1", "a"), ("~", "b"), ("true", "c"), ("1.50", "d"), ("a b", "e"), ("t\tb", "f"),
        ("g", None), ("h", "i"), ("", "j"), ("<<", "k"),
    ]  # fmt: skip


def test_values_left_out_stand_behind_their_key() -> None:
    document = read("? a\n\n? b\nc: [{d\n}, {e}, f: ]\n")
    assert document.span_at(("a",)) == Span(1, 4, 1, 4)
    assert document.span_at(("b",)) == Span(3, 4, 3, 4)
    assert document.span_at(("c", 0, "d")) == Span(4, 7, 4, 7)
    assert document.span_at(("c", 1, "e")) == Span(5, 6, 5, 6)


def test_columns_are_code_points() -> None:
    document = read("😀: ['😀😀', é, 𝒳]\n")
    assert document.key_span_at(("😀",)) == Span(1, 1, 1, 2)
    assert document.span_at(("😀", 0)) == Span(1, 5, 1, 9)
    assert document.span_at(("😀", 1)) == Span(1, 11, 1, 12)
    assert document.span_at(("😀", 2)) == Span(1, 14, 1, 15)


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("a: |\n  x  \n\n   \n# c\nb: 1\n", (1, 4, 2, 6)),
        ("a: |+\n  x\n\n\nb: 1\n", (1, 4, 2, 4)),
        ("a: >-\n\n  x\n  y", (1, 4, 4, 4)),
        ("a: |\n  x\n  \u00a0\n", (1, 4, 3, 4)),
        ("a: |\nb: 1\n", (1, 4, 1, 5)),
        ("a: | # why\n", (1, 4, 1, 11)),
        ("a: |2\n    x\n  y\n", (1, 4, 3, 4)),
    ],
)
def test_block_text_ends_with_its_last_line(text: str, span: tuple[int, int, int, int]) -> None:
    assert read(text).span_at(("a",)) == Span(*span)


def test_version_and_marks_of_one_document_are_read() -> None:
    assert read("%YAML 1.2 # note\n---\na: 1\n...\n# end\n").root == {"a": 1}


def test_tabs_inside_text_and_before_comments_are_read() -> None:
    assert read("a: 'x\ty'\t# tab\nb:\t1\n").root == {"a": "x\ty", "b": 1}


def test_read_file(tmp_path: pathlib.Path) -> None:
    path = tmp_path / "swift.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")
    assert read_file(path).root == {"a": 1, "b": 2}
    assert read_file(str(path)).name == str(path)
    assert read_file(path, "swift").name == "swift"
    path.write_bytes(b"a: 1\na: 1\n")
    with pytest.raises(DocumentError, match=r"^shown:2:1: "):
        read_file(path, "shown")


@pytest.mark.parametrize(
    ("path", "shown"),
    [
        (("devices", "gyro", "told"), "devices.gyro.told"),
        (("leads", 5, "from"), "leads[5].from"),
        (("leads", 0, 1), "leads[0][1]"),
        (("devices", "front rx", "x"), 'devices."front rx".x'),
        (("a.b", "c[0]"), '"a.b"."c[0]"'),
        (('say "x"', ""), '"say \\"x\\""."x"'.replace('."x"', '.""')),
        (("ail-l", "größe", "1"), "ail-l.größe.1"),
        (("a\nb",), '"a\\nb"'),
        ((), "the whole file"),
    ],
)
def test_show_path(path: tuple[str | int, ...], shown: str) -> None:
    assert show_path(path) == shown
