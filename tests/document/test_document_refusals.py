"""Every refusal: its kind, its place and a piece of its wording."""

import pathlib

import pytest

from holdshort.document import DocumentError, Fault, Limits, Span, read_document, read_file


def fault_of(text: str | bytes, limits: Limits | None = None) -> Fault:
    data = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
    with pytest.raises(DocumentError) as caught:
        read_document(data, "swift.yaml", limits or Limits())
    assert caught.value.fault.file == "swift.yaml"
    return caught.value.fault


# (text, kind, line, column, a piece of the wording)
REFUSED = [
    # not the YAML that is read
    ("a: &pack 1\n", "anchor", 1, 4, "anchor `&pack`"),
    ("a:\n  b: &m {c: 1}\n", "anchor", 2, 6, "anchor `&m`"),
    ("a: &\n", "anchor", 1, 5, "anchor or an alias"),
    ("a: 1\nb: *pack\n", "alias", 2, 4, "alias `*pack`"),
    ("a:\n  <<: {b: 1}\n", "merge-key", 2, 3, "`<<`"),
    ("a: !servo 1\n", "tag", 1, 4, "tag `!servo`"),
    ("a: !!str 1\n", "tag", 1, 4, "tag `!!str`"),
    ("!!map\na: 1\n", "tag", 1, 1, "tag `!!map`"),
    ("a: !e!x 1\n", "tag", 1, 4, "tags are not read"),
    ("%YAML 1.1\n---\na: 1\n", "directive", 1, 1, "`%YAML 1.1`"),
    ("%TAG !e! tag:example.org,2000:\n---\na: 1\n", "directive", 1, 1, "%TAG"),
    ("%YAML 2.0\n---\na: 1\n", "directive", 1, 1, "YAML 1.2"),
    ("%SPEED 9\n---\na: 1\n", "directive", 1, 7, "YAML 1.2"),
    ("a: 1\n---\nb: 2\n", "second-document", 2, 1, "second document"),
    ("a: 1\n...\n---\n", "second-document", 3, 1, "second document"),
    # keys
    ("a: 1\nb: 2\na: 3\n", "duplicate-key", 3, 1, "first on line 1, again on line 3"),
    ("1: x\n'1': y\n", "duplicate-key", 2, 1, '"1" stands twice'),
    ("a: {~: x, '~': y}\n", "duplicate-key", 1, 11, '"~" stands twice'),
    ("[a]: b\n", "key-not-scalar", 1, 1, "A list stands where a key"),
    ("x:\n  ? {a: b}\n  : c\n", "key-not-scalar", 2, 5, "A mapping stands where a key"),
    # nothing, or no mapping
    ("", "empty", 1, 1, "no key"),
    ("\n# only a comment\n", "empty", 1, 1, "no key"),
    ("---\n...\n", "empty", 2, 1, "no key"),
    ("---", "empty", 1, 1, "no key"),
    ("{}\n", "empty", 1, 1, "no key"),
    ("- a\n- b\n", "not-a-mapping", 1, 1, "holds a list"),
    ("\nhello\n", "not-a-mapping", 2, 1, 'only "hello"'),
    # characters
    ("a: x\0y\n", "control-character", 1, 5, "NUL character (U+0000)"),
    ("a: 1\nb: \x1b[1m\n", "control-character", 2, 4, "U+001B"),
    ("a: \x7f\n", "control-character", 1, 4, "U+007F"),
    ("a: 1 # \x85\n", "control-character", 1, 8, "U+0085"),
    ("a: é\x9f\n", "control-character", 1, 5, "U+009F"),
    ("a: 1\r\nb: x\u2028\n", "hidden-character", 2, 5, "U+2028"),
    ("a: \u2029\n", "hidden-character", 1, 4, "U+2029"),
    ("a: 1\n\ufeffb: 2\n", "hidden-character", 2, 1, "U+FEFF"),
    ("\ufeff\ufeffa: 1\n", "hidden-character", 1, 1, "U+FEFF"),
    ("a: \u202e1\n", "hidden-character", 1, 4, "reorders text (U+202E)"),
    ("a: 😀\u2066\n", "hidden-character", 1, 5, "reorders text (U+2066)"),
    ("a: \uffff\n", "control-character", 1, 4, "U+FFFF"),
    ('a: "\\0"\n', "control-character", 1, 4, "NUL character (U+0000), written as an escape"),
    ('a: ["\\x1b"]\n', "control-character", 1, 5, "U+001B"),
    ('a: "\\L"\n', "hidden-character", 1, 4, "U+2028"),
    ('a: "\\u202e"\n', "hidden-character", 1, 4, "reorders text"),
    ('"\\a": 1\n', "control-character", 1, 1, "U+0007"),
    ('a: "\\ud800"\n', "bad-escape", 1, 7, "escape"),
    ('a: "\\q"\n', "bad-escape", 1, 5, "escape"),
    ('a: "\\xg0"\n', "bad-escape", 1, 7, "escape"),
    # numbers
    ("a: 1e999\n", "number-too-large", 1, 4, "1e999"),
    ("a: [1, -1e400]\n", "number-too-large", 1, 8, "-1e400"),
    ("a: 1e-999\n", "number-too-small", 1, 4, "1e-999"),
    ("a: .inf\n", "number-not-finite", 1, 4, ".inf"),
    ("a: -.INF\n", "number-not-finite", 1, 4, "-.INF"),
    ("a: .NaN\n", "number-not-finite", 1, 4, ".NaN"),
    ("a: " + "1" * 31 + "\n", "number-too-long", 1, 4, "31 digits; at most 30"),
    ("a: -" + "1" * 5000 + "\n", "number-too-long", 1, 4, "5,000 digits"),
    ("a: 0x" + "f" * 31 + "\n", "number-too-long", 1, 4, "31 digits"),
    # tabs
    ("a:\n\tb: 1\n", "tab-indentation", 2, 1, "spaces only"),
    ("a:\n  - 1\n\t- 2\n", "tab-indentation", 3, 1, "spaces only"),
    ("a: |\n\tb\n", "tab-indentation", 2, 1, "spaces only"),
    ("a:\n  \tb: 1\n", "tab-indentation", 2, 3, "spaces only"),
    # other syntax
    ("a: b: c\n", "misplaced-colon", 1, 5, "colon"),
    ("a: 1\n  b: 2\n", "misplaced-colon", 2, 4, "colon"),
    ("a: [1, 2\n", "unclosed-bracket", 1, 9, "list in brackets"),
    ("a: [1, 2\nb: 3\n", "unclosed-bracket", 2, 2, "list in brackets"),
    ("a: {b: 1\nc: 2\n", "unclosed-bracket", 2, 2, "mapping in braces"),
    ("a: 1\nb: 'x\n", "unclosed-quote", 2, 4, "no closing quote"),
    ('a: "x\nb: 1\n', "unclosed-quote", 1, 4, "no closing quote"),
    ("a: @x\n", "reserved-character", 1, 4, '"@"'),
    ("a: `x\n", "reserved-character", 1, 4, '"`"'),
    ("a:\n  b: 1\n c: 2\n", "bad-indentation", 3, 2, "fits neither"),
    ("a: 1\n- b\n", "bad-indentation", 2, 1, "fits neither"),
    ("a: 'it's'\n", "after-the-value", 1, 8, "behind the end of a value"),
    ("a: 1\nb\nc: 2\n", "missing-colon", 2, 1, "no colon"),
    ("a: - b\n", "misplaced-indicator", 1, 4, "list item"),
    ("a: 1\n...\nb: 2\n", "after-the-end", 3, 1, "belongs to nothing"),
    ("a: |0\n x\n", "bad-block-text", 1, 5, "block of text"),
    ("a: ]\n", "missing-value", 1, 4, "value is expected"),
    ("a: {b:}\n", "colon-without-space", 1, 6, "space behind it"),
    ("a: {?x: 1}\n", "bare-question-mark", 1, 5, "question mark"),
    ("a: [b, ?'x']\n", "bare-question-mark", 1, 8, "question mark"),
    ("a: [b, :x]\n", "missing-value", 1, 8, "value is expected"),
    ("a: [1,,2]\n", "missing-value", 1, 7, "value is expected"),
]


@pytest.mark.parametrize(("text", "kind", "line", "column", "wording"), REFUSED)
def test_refused_at_its_place(text: str, kind: str, line: int, column: int, wording: str) -> None:
    fault = fault_of(text)
    assert fault.span is not None
    assert (fault.kind, *fault.span[:2]) == (kind, line, column)
    assert wording in fault.message
    assert fault.message.endswith(".")
    assert fault.do.endswith((".", "`aircraft:`."))


@pytest.mark.parametrize("text", ["a: &p 1\n", "a: *p\n", "a: {<<: {}}\n"])
def test_sharing_names_what_to_write_instead(text: str) -> None:
    do = fault_of(text).do
    assert "`parts:`" in do
    assert "`1..6`" in do


def test_an_expanding_file_ends_at_its_first_anchor() -> None:
    text = "a: &a [x, x]\n" + "".join(f"{i}: &{i} [*a, *a]\n" for i in range(1000))
    assert fault_of(text).kind == "anchor"


def test_duplicate_key_names_both_places_and_the_path() -> None:
    fault = fault_of("rx:\n  ports:\n    - {from: a, to: b, from: c}\n")
    assert fault.span == Span(3, 24, 3, 28)
    assert fault.related == (("first written here", Span(3, 8, 3, 12)),)
    assert fault.path == ("rx", "ports", 0, "from")


def test_faults_know_the_path_of_what_was_read() -> None:
    assert fault_of("a:\n  - 1\n  - {b: .nan}\n").path == ("a", 1, "b")


def test_an_unclosed_list_shows_where_it_opens() -> None:
    assert fault_of("a:\n  b: [1, 2\n").related[0][1] == Span(2, 6, 2, 7)


def test_a_colon_without_a_space_is_pointed_out() -> None:
    assert "space behind the colon" in fault_of("name:Tarn\n").do


@pytest.mark.parametrize(
    ("data", "line", "column", "wording"),
    [
        (b"a: \xff\n", 1, 4, "0xFF at offset 3"),
        (b"a: 1\r\nb: \xc3(\n", 2, 4, "0xC3 at offset 9"),
        ("é: 1\r€: ".encode() + b"\xe2\x82", 2, 4, "0xE2 at offset 11"),
        (b"\xef\xbb\xbfa: \x80\n", 1, 4, "0x80 at offset 6"),
        (b"a: \xed\xa0\x80\n", 1, 4, "0xED at offset 3"),
        ("a: 1\n".encode("utf-16"), 1, 1, "UTF-16"),
        ("a: 1\n".encode("utf-32"), 1, 1, "UTF-32"),
        (b"\xfe\xff\0a", 1, 1, "UTF-16"),
        (b"\0\0\xfe\xff\0\0\0a", 1, 1, "UTF-32"),
    ],
)
def test_not_utf8(data: bytes, line: int, column: int, wording: str) -> None:
    fault = fault_of(data)
    assert fault.kind == "not-utf-8"
    assert fault.span is not None
    assert fault.span[:2] == (line, column)
    assert wording in fault.message
    assert fault.do == "Save it as UTF-8."


def nested(depth: int) -> str:
    """Return a file in which mappings stand `depth` deep, the root counted."""
    return "a: " + "{a: " * (depth - 1) + "1" + "}" * (depth - 1) + "\n"


def test_depth_limit() -> None:
    read_document(nested(40).encode(), "x")
    fault = fault_of(nested(41))
    assert fault.kind == "too-deep"
    assert fault.span == Span(1, 4 + 4 * 39, 1, 5 + 4 * 39)
    assert "more than 40 deep" in fault.message
    blocks = "".join(" " * i + "a:\n" for i in range(41))
    assert fault_of(blocks).kind == "too-deep"


def test_node_limit() -> None:
    limits = Limits(nodes=5)
    read_document(b"a: [1, 2]\n", "x", limits)
    fault = fault_of("a: [1, 2, 3]\n", limits)
    assert (fault.kind, fault.span) == ("too-many-nodes", Span(1, 11, 1, 12))
    assert fault_of("a: [1, 2, [3]]\n", limits).kind == "too-many-nodes"
    many = "a: [" + "1," * 200_000 + "]\n"
    assert "200,000" in fault_of(many).message


def test_scalar_limit() -> None:
    read_document(b"a: " + b"x" * 20_000, "x")
    fault = fault_of("a:\n  " + "x" * 20_001)
    assert (fault.kind, fault.span) == ("scalar-too-long", Span(2, 3, 2, 20_004))
    assert "20,001" in fault.message


def test_size_limit() -> None:
    limits = Limits(size=10)
    read_document(b"a: 1234567", "x", limits)
    fault = fault_of("a: 12345678", limits)
    assert fault.kind == "file-too-large"
    assert "10 bytes" in fault.message


def test_files_that_cannot_be_read(tmp_path: pathlib.Path) -> None:
    def kind(path: pathlib.Path | str) -> str:
        with pytest.raises(DocumentError) as caught:
            read_file(path, "shown")
        assert caught.value.fault.file == "shown"
        assert caught.value.fault.span is None
        assert "shown" in str(caught.value)
        return caught.value.fault.kind

    assert kind(tmp_path / "absent.yaml") == "file-missing"
    assert kind(tmp_path) == "file-is-folder"
    assert kind("a\0b") == "file-unreadable"
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    assert kind(tmp_path / "loop") == "file-unreadable"


def test_a_file_without_permission(tmp_path: pathlib.Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def deny(*_arguments: object, **_options: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(pathlib.Path, "open", deny)
    with pytest.raises(DocumentError) as caught:
        read_file(tmp_path / "closed.yaml")
    assert caught.value.fault.kind == "file-not-permitted"
    assert caught.value.fault.file == str(tmp_path / "closed.yaml")


def test_error_text_is_one_line_with_the_place() -> None:
    with pytest.raises(DocumentError) as caught:
        read_document(b"a: 1\na: 2\n", "swift.yaml")
    assert str(caught.value).startswith('swift.yaml:2:1: The key "a" stands twice')
