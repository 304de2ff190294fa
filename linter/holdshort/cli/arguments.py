"""What may be said on the command line, with an example for every command."""

import argparse
import importlib
from collections.abc import Callable, Sequence
from typing import Final, Never

from holdshort import __version__
from holdshort.cli import output
from holdshort.cli.views import VIEWS

HOLD_POINTS: Final = ("power-up", "engine-run", "flight")
_HELP_WIDTH: Final = 88


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
        arguments = parser.parse_args(argv)
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
        f"holdshort.cli.{arguments.command}"
    ).run
    return lambda: run(arguments)


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
    if VIEWS:
        _add_show(add)
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
        ("rules", "rules regulator-above-servo-rating"),
    )
    parser.add_argument("rule", nargs="?", metavar="RULE", help="the rule whose page to show")
    _add_format(parser)


def _add_show(add: _AddParser) -> None:
    first = next(iter(VIEWS))
    parser = _add(
        add,
        "show",
        "show what was computed for one aircraft",
        (f"show {first} aircraft.yaml",),
    )
    views = "; ".join(f"{name}: {view.title}" for name, view in VIEWS.items())
    parser.add_argument("view", choices=tuple(VIEWS), metavar="WHAT", help=views)
    parser.add_argument("file", metavar="FILE", help="a setup file, or - for standard input")


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
        "print the JSON Schema of setup files, or of files of parts",
        ("schema > setup.schema.json", "schema parts > parts.schema.json"),
    )
    parser.add_argument(
        "what", nargs="?", choices=("setup", "parts"), default="setup", metavar="WHAT",
        help="setup or parts (setup)",
    )  # fmt: skip
