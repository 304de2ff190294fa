"""What is being typed at a cursor, in texts that are no documents at the moment."""

import random

import pytest

from holdshort.editor.outline import Context, context
from holdshort.editor.positions import Lines

from .conftest import EXAMPLES


def at_bar(text: str) -> Context | None:
    """Read the text at the place of its only bar."""
    before, _, after = text.partition("|")
    lines = (before + after).split("\n")
    return context(lines, before.count("\n"), len(before.rpartition("\n")[2]))


@pytest.mark.parametrize(
    ("text", "part", "path", "word"),
    [
        ("air|", "key", (), "air"),
        ("holdshort: 1\n|", "key", (), ""),
        ("aircraft:\n  na|", "key", ("aircraft",), "na"),
        ("aircraft:\n  name: a\n  |", "key", ("aircraft",), ""),
        ("devices:\n  a: {part: s|", "value", ("devices", "a", "part"), "s"),
        ("devices:\n  a: {part: servo, |}\n  b: {}", "key", ("devices", "a"), ""),
        ("devices:\n  a:\n    told: {plugs: a|ft}", "value",
         ("devices", "a", "told", "plugs"), "a"),
        ("devices:\n  a: {part: x,\n    told: {plugs: aft, la|\n  b: {}", "key",
         ("devices", "a", "told"), "la"),
        ("devices:\n  a: {part: x, tol\n  b: {ma|", "key", ("devices", "b"), "ma"),
        ("devices:\n  a:\n    part: |", "value", ("devices", "a", "part"), ""),
        ("leads:\n  - {from: a.1, to: b}\n  - {from: rx.|, to: c}", "value", ("leads", 1, "from"),
         "rx."),
        ("leads:\n- from: a\n  t|", "key", ("leads", 0), "t"),
        ("leads:\n  - from: a\n    to: b\n  - fr|", "value", ("leads", 1), "fr"),
        ("follows: [uk, |]", "value", ("follows", 1), ""),
        ("follows:\n  - uk\n  - |", "value", ("follows", 1), ""),
        ("radio:\n  links:\n    main: {heard-by: [a, |]}", "value",
         ("radio", "links", "main", "heard-by", 1), ""),
        ("radio:\n  channels:\n    1: {drives: left ai|}", "value",
         ("radio", "channels", "1", "drives"), "left ai"),
        ("note: |\n", "value", ("note",), ""),
        ("a: 'it: is'\nb|", "key", (), "b"),
        ("a: # nothing yet\n  b|", "key", ("a",), "b"),
    ],
)  # fmt: skip
def test_what_is_typed(text: str, part: str, path: tuple[str | int, ...], word: str) -> None:
    found = at_bar(text)
    assert found is not None
    assert (found.part, found.path, found.word) == (part, path, word)


@pytest.mark.parametrize(
    "text", ["# a com|ment", "a: 1 # b|", "aircraft:\n  note: >\n    some wo|rds\n", "a:|"]
)
def test_where_nothing_is_to_be_typed(text: str) -> None:
    assert at_bar(text) is None


def test_keys_before_and_behind_the_cursor_are_present() -> None:
    found = at_bar("devices:\n  a:\n    part: x\n    |\n    mass: 3 g\n  b: {note: y}\n")
    assert found is not None
    assert found.present == {"part": "x", "mass": "3 g"}
    found = at_bar("parts:\n  s: {kind: servo, |, mass: 3 g}\n")
    assert found is not None
    assert found.present == {"kind": "servo", "mass": "3 g"}


def test_any_text_can_be_read_anywhere() -> None:
    chance = random.Random(3)  # noqa: S311  - repeatable, no secret
    whole = (EXAMPLES / "tarn-swift.yaml").read_text(encoding="utf-8")
    signs = "{}[],:#'\"\n- |>&"
    for _ in range(300):
        start = chance.randrange(len(whole))
        text = list(whole[start : start + 400])
        for _ in range(chance.randrange(12)):
            text.insert(chance.randrange(len(text) + 1), chance.choice(signs))
        lines = Lines("".join(text)).lines
        line = chance.randrange(len(lines))
        found = context(lines, line, chance.randrange(len(lines[line]) + 1))
        if found is not None:
            assert lines[line].count(found.word)
