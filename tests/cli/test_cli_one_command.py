"""The parser of one command alone says and takes the same as that of all commands."""

import argparse

import pytest

from holdshort.cli import arguments

WORDS = tuple(arguments._COMMANDS)


def commands(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    """Return the parsers of the commands that a parser knows."""
    return next(
        dict(action.choices)
        for action in parser._actions
        if isinstance(action, argparse._SubParsersAction)
    )


def test_all_commands_are_known_where_none_is_named() -> None:
    for word in ("", "--help", "bogus"):
        assert tuple(commands(arguments._parser(word))) == WORDS


@pytest.mark.parametrize("word", WORDS)
def test_the_help_of_a_command_is_the_same_alone(word: str) -> None:
    alone = commands(arguments._parser(word))
    assert tuple(alone) == (word,)
    assert alone[word].format_help() == commands(arguments._parser(""))[word].format_help()


def test_an_unknown_command_is_refused_with_all_that_there_are(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert arguments.run_of(["lnt", "a.yaml"])() == 2
    said = capsys.readouterr().err
    assert all(word in said for word in WORDS)
