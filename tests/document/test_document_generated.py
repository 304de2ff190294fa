"""Generated documents: survival, places, and agreement with other readers."""

import io
import random
from collections.abc import Iterator
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from holdshort.document import (
    Document,
    DocumentError,
    Limits,
    Node,
    Span,
    TreeList,
    TreeMap,
    read_document,
)
from holdshort.document.builder import build_tree
from holdshort.document.source import decode


def slice_text(text: str, span: Span) -> str:
    """Return the piece of a text that a span covers; the line ends are those of the text."""
    lines = text.splitlines(keepends=True) or [""]
    lines.append("")
    rows = lines[span.line - 1 : span.end_line]
    rows[-1] = rows[-1][: span.end_column - 1]
    rows[0] = rows[0][span.column - 1 :]
    return "".join(rows)


# Characters that YAML allows and that end no line; "_" is left out because ruamel.yaml reads
# 1_000 as a number in YAML 1.2 too, which the core schema does not.
CHARACTERS = st.one_of(
    st.sampled_from(" :#-,[]{}&*!|>'\"%@`?\\~.01e+xonNULtrue"),
    st.characters(codec="utf-8", categories=("L", "N", "P", "S"), exclude_characters="_"),
)
TEXTS = st.text(CHARACTERS, max_size=12)
LINES = st.text(st.one_of(CHARACTERS, st.just("\n")), max_size=20)


def is_plain_in_both(text: str) -> bool:
    """Tell whether YAML 1.1 and 1.2 agree on where this text may stand without quotes.

    Between brackets 1.2 lets text start with ":" or "?" and ruamel.yaml writes it so; libyaml
    and PyYAML read it as 1.1 did, and the reader refuses it.
    """
    return "?" not in text and not text.startswith(":")


WORDS = st.sampled_from(
    ["null", "~", "true", "False", "on", "no", "12:30", "017", "0o17", "0x1F", "1e3", "2024-05-01",
     "7.4 V", "14 AWG", "1..6", "- a", "a: b", "# x", "<<", ".inf", "", " lead", "trail "]
)  # fmt: skip
VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**29), 10**29),
    st.floats(allow_nan=False, allow_infinity=False, allow_subnormal=False),
    TEXTS.filter(is_plain_in_both),
    LINES.filter(is_plain_in_both),
    WORDS,
)


def trees(
    values: st.SearchStrategy[Any], texts: st.SearchStrategy[str]
) -> st.SearchStrategy[dict[str, Any]]:
    def around(inner: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
        return st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3)

    keys = texts | WORDS
    node = st.recursive(values, around, max_leaves=10)
    return st.dictionaries(keys, node, min_size=1, max_size=4)


TREES = trees(VALUES, TEXTS.filter(is_plain_in_both))
TEXT_TREES = trees(TEXTS | LINES | WORDS, TEXTS)


def dump_with_ruamel(tree: Any, *, flow: bool | None, offset: int) -> str:
    writer: Any = YAML(typ="safe", pure=True)
    writer.default_flow_style = flow
    writer.sort_base_mapping_type_on_output = False
    writer.allow_unicode = True
    writer.width = 100_000  # ruamel.yaml folds keys between brackets, which is not YAML
    writer.indent(mapping=offset + 2, sequence=offset + 2, offset=offset)
    stream = io.StringIO()
    writer.dump(tree, stream)
    return stream.getvalue()


def load_with_ruamel(text: str) -> Any:
    reader: Any = YAML(typ="safe", pure=True)
    return reader.load(text)


LAYOUTS = st.fixed_dictionaries(
    {
        "flow": st.sampled_from([True, False, None]),
        "offset": st.sampled_from([0, 2]),
    }
)
STYLES = st.sampled_from([None, "'", '"', "|", ">"])
FLOWS = st.sampled_from([True, False, None])
LINE_ENDS = st.sampled_from(["\n", "\r\n", "\r"])


def read(text: str) -> Document:
    return read_document(text.encode(), "generated.yaml")


def kinds(node: Any) -> Any:
    """Return the tree with the type of each value beside it, so that 1, 1.0 and True differ."""
    if isinstance(node, dict):
        return {key: kinds(value) for key, value in node.items()}
    if isinstance(node, list):
        return [kinds(value) for value in node]
    return type(node).__name__, node


def scalars(node: Node) -> Iterator[tuple[str, Span]]:
    """Each key and scalar value below a node: its text as YAML gives it, and its span."""
    if isinstance(node, TreeMap):
        for key, value in node.items():
            yield key, node.key_spans[key]
            if not isinstance(value, TreeMap | TreeList):
                yield node.written.get(key, str(value)), node.value_spans[key]
            yield from scalars(value)
    elif isinstance(node, TreeList):
        for index, value in enumerate(node):
            if not isinstance(value, TreeMap | TreeList):
                yield node.written.get(index, str(value)), node.value_spans[index]
            yield from scalars(value)


def collections_in(node: Node) -> Iterator[TreeMap | TreeList]:
    if isinstance(node, TreeMap | TreeList):
        yield node
        for child in node.values() if isinstance(node, TreeMap) else node:
            yield from collections_in(child)


def check_scalar(text: str, value: str, span: Span) -> None:
    """Check that the slice alone, given to PyYAML, is the scalar again."""
    piece = slice_text(text, span)
    if piece.startswith(("|", ">")):
        header = piece.splitlines()[0]
        rest = text.splitlines()[span.end_line - 1][span.end_column - 1 :]
        assert rest == ""
        assert len(piece.splitlines()) == 1 or piece.splitlines()[-1].strip(" ")
        if any(sign.isdigit() for sign in header):
            return
    else:
        assert piece == piece.strip(" \n")
    loader: Any = yaml.BaseLoader
    again = yaml.load("--- " + piece, Loader=loader)  # noqa: S506 - BaseLoader makes text only
    if piece.startswith(("|", ">")):
        again, value = again.rstrip("\n"), value.rstrip("\n")
    assert (again or "") == value


def check_collection(text: str, node: TreeMap | TreeList) -> None:
    piece = slice_text(text, node.span)
    if piece.startswith(("{", "[")):
        assert piece[-1] == {"{": "}", "[": "]"}[piece[0]]
        return
    spans = node.value_spans
    last = list(spans.values())[-1] if isinstance(spans, dict) else spans[-1]
    assert node.span[2:] == last[2:]
    if isinstance(node, TreeMap):
        first = next(iter(node.key_spans.values()))
        assert node.span[:2] == first[:2] or piece.startswith("?")


def check_places(text: str) -> None:
    root = read(text).root
    for value, span in scalars(root):
        check_scalar(text, value, span)
    for node in collections_in(root):
        check_collection(text, node)


@settings(max_examples=150, deadline=None)
@given(TREES, LAYOUTS)
def test_values_survive_a_dump_by_ruamel(tree: dict[str, Any], layout: dict[str, Any]) -> None:
    text = dump_with_ruamel(tree, **layout)
    ours = read(text).root
    assert kinds(ours) == kinds(load_with_ruamel(text))
    assert kinds(ours) == kinds(tree)
    assert list(ours) == list(tree)


@settings(max_examples=150, deadline=None)
@given(TEXT_TREES, STYLES, FLOWS, st.sampled_from([20, 1000]))
def test_text_survives_a_dump_by_pyyaml_in_every_style(
    tree: dict[str, Any], style: str | None, flow: bool | None, width: int
) -> None:
    chosen = style or "'"  # without a style PyYAML leaves 1e3 plain, which YAML 1.2 reads as 1000
    text = yaml.safe_dump(
        tree, default_style=chosen, default_flow_style=flow, width=width, allow_unicode=True
    )
    assert kinds(read(text).root) == kinds(tree) == kinds(load_with_ruamel(text))


@settings(max_examples=100, deadline=None)
@given(TREES, LAYOUTS)
def test_places_in_a_dump_by_ruamel(tree: dict[str, Any], layout: dict[str, Any]) -> None:
    check_places(dump_with_ruamel(tree, **layout))


@settings(max_examples=100, deadline=None)
@given(TEXT_TREES, STYLES, FLOWS, st.sampled_from([20, 1000]))
def test_places_in_a_dump_by_pyyaml(
    tree: dict[str, Any], style: str | None, flow: bool | None, width: int
) -> None:
    text = yaml.safe_dump(
        tree, default_style=style, default_flow_style=flow, width=width, allow_unicode=True
    )
    check_places(text)


@settings(max_examples=60, deadline=None)
@given(TREES, LAYOUTS, LINE_ENDS)
def test_line_ends_change_no_place(
    tree: dict[str, Any], layout: dict[str, Any], line_end: str
) -> None:
    text = dump_with_ruamel(tree, **layout)
    plain, changed = read(text).root, read(text.replace("\n", line_end)).root
    assert kinds(plain) == kinds(changed)
    assert list(scalars(plain)) == list(scalars(changed))


def outline(node: Node) -> Any:
    """Return a tree with all its spans and written texts, for comparing two readings."""
    if isinstance(node, TreeMap):
        inner = {key: outline(value) for key, value in node.items()}
        return node.span, inner, node.key_spans, node.value_spans, node.written
    if isinstance(node, TreeList):
        items = [outline(value) for value in node]
        return node.span, items, node.value_spans, node.written
    return type(node), node


def outline_by(text: str, *, pure: bool) -> Any:
    return outline(build_tree(decode(text.encode(), "x"), Limits(), pure=pure))


needs_the_c_parser = pytest.mark.skipif(
    not hasattr(yaml, "CBaseLoader"), reason="PyYAML was built without its C parser"
)


@needs_the_c_parser
@settings(max_examples=60, deadline=None)
@given(TREES, LAYOUTS, LINE_ENDS)
def test_both_parsers_agree_on_generated_files(
    tree: dict[str, Any], layout: dict[str, Any], line_end: str
) -> None:
    text = dump_with_ruamel(tree, **layout).replace("\n", line_end)
    assert outline_by(text, pure=True) == outline_by(text, pure=False)


@needs_the_c_parser
@pytest.mark.parametrize(
    "text",
    [
        "? a\n? b\n",
        "a: |\n  x\n\n# c\nb: >+\n  y\n\n\n",
        "a:\n- 1\n-\n- - 3\n\n# c\nb: x y\n  z\n\n",
        "a: [b: c , {d}, 😀: '😀']\r\nb:\r\n",
        "a: |\n  x",
        "%YAML 1.2\n---\na: 1\n...\n",
    ],
)
def test_both_parsers_agree(text: str) -> None:
    assert outline_by(text, pure=True) == outline_by(text, pure=False)


SPANS_BY_HAND = "a: [1, 'é']\r\nb: >\r\n  x\r\n"


def test_the_slices_are_what_stands_there() -> None:
    root = read(SPANS_BY_HAND).root
    pieces = [slice_text(SPANS_BY_HAND, span) for _, span in scalars(root)]
    assert pieces == ["a", "1", "'é'", "b", ">\r\n  x"]


def survives(data: bytes) -> None:
    for limits in (Limits(), Limits(size=40, depth=3, nodes=10, scalar=8, digits=3)):
        try:
            document = read_document(data, "any.yaml", limits)
        except DocumentError as error:
            fault = error.fault
            assert fault.kind
            assert fault.message
            assert fault.span is not None
            assert fault.span[:2] <= fault.span[2:]
            lines = data.decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n")
            assert 1 <= fault.span.line <= lines.count("\n") + 1
        else:
            assert document.root


SIGNS = st.text(
    st.sampled_from(list("ab1:-?,[]{}#&*!|>'\"%@` \t\n\r\\xu0é😀~<.+\ufeff\u2028\x00")), max_size=60
)


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=60))
def test_any_bytes(data: bytes) -> None:
    survives(data)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=60))
def test_any_text(text: str) -> None:
    survives(text.encode("utf-8", "surrogatepass"))


@settings(max_examples=600, deadline=None)
@given(SIGNS)
def test_any_signs(text: str) -> None:
    survives(text.encode())


@settings(max_examples=200, deadline=None)
@given(SIGNS)
def test_the_python_parser_survives_any_signs(text: str) -> None:
    try:
        root = build_tree(decode(text.encode(), "x"), Limits(), pure=True)
    except DocumentError:
        return
    assert root


@settings(max_examples=150, deadline=None)
@given(TREES, LAYOUTS, st.integers(0, 2**32))
def test_damaged_files(tree: dict[str, Any], layout: dict[str, Any], seed: int) -> None:
    choose = random.Random(seed)  # noqa: S311 - damage need not be secret
    data = bytearray(dump_with_ruamel(tree, **layout).encode())
    for _ in range(3):
        place = choose.randrange(len(data))
        data[place : place + choose.randrange(3)] = (
            choose.choice(
                [b"\t", b"\n", b":", b"[", b"}", b"'", b'"', b"- ", b"\xff", b"&a ", b"", b"\0"]
            )
            or b" "
        )
    survives(bytes(data))
