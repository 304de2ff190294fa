"""What may be said on the command line, with an example for every command."""

import argparse
import importlib
import sys
from collections.abc import Callable, Sequence
from typing import Final, Never

from holdshort import __version__
from holdshort.cli import output
from holdshort.cli.views import VIEWS

HOLD_POINTS: Final = ("power-up", "engine-run", "flight")
_HELP_WIDTH: Final = 88
_TWO_WORDS: Final = ("rules test", "rules new")


class _Help(argparse.RawDescriptionHelpFormatter):
    """Help of a fixed width: asking the terminal would load a module that lint does not need."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=28, width=_HELP_WIDTH)


class _Parser(argparse.ArgumentParser):
    """A parser that writes through the same gate as everything else."""

    def error(self, message: str) -> Never:
        output.say(f"{message}. Try `{self.prog} --help`.")
        raise SystemExit(2)

    def print_help(self, file: object = None) -> None:
        del file
        output.write(self.format_help())


_AddParser = Callable[..., _Parser]


def run_of(argv: Sequence[str] | None) -> Callable[[], int]:
    """Return what the command line asks for, ready to be run."""
    parser = _parser()
    try:
        arguments = parser.parse_args(_joined(sys.argv[1:] if argv is None else argv))
    except SystemExit as ending:
        code = ending.code
        return lambda: code if isinstance(code, int) else 0
    if arguments.version:
        output.write(f"holdshort {__version__}\n")
        return lambda: 0
    if arguments.command is None:
        output.write(parser.format_help())
        return lambda: 2
    run: Callable[[argparse.Namespace], int] = importlib.import_module(
        f"holdshort.cli.{arguments.command.replace(' ', '_')}"
    ).run
    return lambda: run(arguments)


def _joined(words: Sequence[str]) -> list[str]:
    """Join the two words of a command that has two, which no rule's id can be mistaken for."""
    pair = " ".join(words[:2])
    return [pair, *words[2:]] if pair in _TWO_WORDS else list(words)


def _parser() -> _Parser:
    parser = _Parser(
        prog="holdshort",
        description="Read the setup files of model aircraft and tell what has to be fixed before\n"
        "power-up, before the engine runs and before flight.",
        epilog="example:\n  holdshort lint aircraft.yaml\n\n"
        "exit codes:\n  0  nothing is held\n  1  something is held\n"
        "  2  the job, or part of it, could not be done",
        formatter_class=_Help,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="store_true", help="show the version and stop")
    commands = parser.add_subparsers(
        dest="command", metavar="COMMAND", title="commands", prog="holdshort", parser_class=_Parser
    )
    add = commands.add_parser
    _add_lint(add)
    _add_rules(add)
    _add_rules_test(add)
    _add_rules_new(add)
    if VIEWS:
        _add_show(add)
    _add_cards(add)
    _add_start(add)
    _add_schema(add)
    return parser


def _add(add: _AddParser, name: str, does: str, examples: Sequence[str]) -> _Parser:
    shown = "\n".join(f"  holdshort {example}" for example in examples)
    return add(
        name,
        help=does,
        description=f"{does[0].upper()}{does[1:]}.",
        epilog=f"{'example' if len(examples) == 1 else 'examples'}:\n{shown}",
        formatter_class=_Help,
        allow_abbrev=False,
    )


def _add_format(parser: _Parser) -> None:
    parser.add_argument(
        "--format", choices=("text", "json"), default="text", help="how to write it (text)"
    )


def _add_hangar(parser: _Parser) -> None:
    parser.add_argument(
        "--hangar",
        metavar="FILE",
        help="the hangar file that counts, in place of the `hangar.yaml` in the folder of the "
        "aircraft or above",
    )


def _add_lint(add: _AddParser) -> None:
    parser = _add(
        add,
        "lint",
        "judge setup files and print the fix list",
        (
            "lint aircraft.yaml",
            "lint hangar/ --until power-up",
            "lint --format json - < aircraft.yaml",
        ),
    )
    parser.add_argument(
        "paths",
        nargs="+",
        metavar="PATH",
        help="a setup file, a file of parts, a folder of them, or - for standard input",
    )
    _add_format(parser)
    _add_hangar(parser)
    parser.add_argument(
        "--until",
        choices=HOLD_POINTS,
        default="flight",
        metavar="POINT",
        help="hold only what holds this point or an earlier one: "
        "power-up, engine-run or flight (flight)",
    )


def _add_rules(add: _AddParser) -> None:
    parser = _add(
        add,
        "rules",
        "list the rules, or show the page of one",
        ("rules", "rules regulator-above-servo-rating", "rules --pack ./our-rules"),
    )
    parser.add_argument("rule", nargs="?", metavar="RULE", help="the rule whose page to show")
    parser.add_argument(
        "--format",
        choices=("text", "json", "markdown"),
        default="text",
        help="how to write it (text); markdown is a reference of all rules",
    )
    parser.add_argument(
        "--pack",
        action="append",
        metavar="PACK",
        help="also the rules of this pack: a folder, a YAML file, or an installed pack's name",
    )


def _add_rules_test(add: _AddParser) -> None:
    parser = _add(
        add,
        "rules test",
        "run the cases of rule packs, and check their pages and sources",
        ("rules test ./our-rules", "rules test ./our-rules.yaml", "rules test"),
    )
    parser.add_argument(
        "packs",
        nargs="*",
        metavar="PACK",
        help="a folder, a YAML file, or the name of an installed pack (all installed ones)",
    )
    _add_format(parser)


def _add_rules_new(add: _AddParser) -> None:
    parser = _add(
        add,
        "rules new",
        "start a rule with the case that it fails",
        ("rules new tail-light-missing -o our-rules",),
    )
    parser.add_argument("rule", metavar="RULE", help="the id: the condition in words and hyphens")
    parser.add_argument(
        "-o",
        "--output",
        default="our-rules",
        metavar="FOLDER",
        help="the folder of the pack (our-rules)",
    )
    parser.add_argument(
        "--yaml", action="store_true", help="start a rule in YAML, which needs no Python"
    )


def _add_show(add: _AddParser) -> None:
    first = next(iter(VIEWS))
    parser = _add(
        add,
        "show",
        "show what was computed for one aircraft",
        (
            f"show {first} aircraft.yaml",
            f"show {first} aircraft.yaml --plot {first}.svg",
            f"show {first} --format json - < aircraft.yaml",
        ),
    )
    views = "; ".join(f"{name}: {view.title}" for name, view in VIEWS.items())
    parser.add_argument("view", choices=tuple(VIEWS), metavar="WHAT", help=views)
    parser.add_argument("file", metavar="FILE", help="a setup file, or - for standard input")
    _add_format(parser)
    _add_hangar(parser)
    parser.add_argument(
        "--plot",
        metavar="FILE",
        help="also draw a picture into this file, which ends in .svg or .png (needs matplotlib: "
        "`pip install 'holdshort[plot]'`)",
    )
    parser.add_argument(
        "--pairs", action="store_true", help="with failures: also fail things two at a time"
    )


def _add_cards(add: _AddParser) -> None:
    parser = _add(
        add,
        "cards",
        "print bench cards: what to do, what must move which way, a box to tick",
        ("cards aircraft.yaml", "cards aircraft.yaml -o cards.html"),
    )
    parser.add_argument("file", metavar="FILE", help="a setup file, or - for standard input")
    _add_format(parser)
    _add_hangar(parser)
    parser.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        help="write one page to print or to tick on a phone; it ends in .html",
    )


def _add_start(add: _AddParser) -> None:
    parser = _add(
        add,
        "start",
        "list the layouts to start from, or write a starting file for one",
        ("start", 'start single-receiver --name "Tarn Swift" -o aircraft.yaml'),
    )
    parser.add_argument("layout", nargs="?", metavar="LAYOUT", help="the layout to start from")
    parser.add_argument("-o", "--output", metavar="FILE", help="write to this file")
    parser.add_argument("--name", metavar="NAME", help="the name of the aircraft")
    parser.add_argument(
        "--replace", action="store_true", help="replace the file if there is one already"
    )


def _add_schema(add: _AddParser) -> None:
    parser = _add(
        add,
        "schema",
        "print the JSON Schema of setup files, files of parts or hangar files",
        ("schema > setup.schema.json", "schema hangar > hangar.schema.json"),
    )
    parser.add_argument(
        "what", nargs="?", choices=("setup", "parts", "hangar"), default="setup",
        metavar="WHAT", help="setup, parts or hangar (setup)",
    )  # fmt: skip
