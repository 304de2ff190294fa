"""What may be said on the command line, with an example for every command."""

import argparse
import importlib
import sys
from collections.abc import Callable, Sequence
from typing import Final, Never

from holdshort import __version__
from holdshort.cli import output
from holdshort.cli.views import VIEWS
from holdshort.fixlist.formats import FORMATS

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
    words = _joined(sys.argv[1:] if argv is None else argv)
    parser = _parser(words[0] if words else "")
    try:
        arguments = parser.parse_args(words)
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


def _parser(word: str) -> _Parser:
    """Return a parser of all commands, or, for it is less to do, of the one that ``word`` names."""
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
    for add in [_COMMANDS[word]] if word in _COMMANDS else _COMMANDS.values():
        add(commands.add_parser)
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
            "lint hangar/ --output sarif=fix-list.sarif --output junit=fix-list.xml",
        ),
    )
    parser.add_argument(
        "paths",
        nargs="+",
        metavar="PATH",
        help="a setup file, a file of parts, a folder of them, or - for standard input",
    )
    parser.add_argument(
        "--format",
        choices=tuple(FORMATS),
        default="text",
        metavar="KIND",
        help=f"how to print it: {', '.join(FORMATS)} (text)",
    )
    parser.add_argument(
        "--output",
        action="append",
        metavar="KIND=FILE",
        help="also write it to a file, in a format as above; may be given several times",
    )
    _add_hangar(parser)
    parser.add_argument(
        "--until",
        choices=HOLD_POINTS,
        default="flight",
        metavar="POINT",
        help="hold only what holds this point or an earlier one: "
        "power-up, engine-run or flight (flight)",
    )
    parser.add_argument(
        "--only-ours",
        action="store_true",
        help="pass by named files that are no setup file, file of parts or hangar file",
    )


def _add_until(parser: _Parser, does: str) -> None:
    parser.add_argument(
        "--until",
        choices=HOLD_POINTS,
        default="flight",
        metavar="POINT",
        help=f"{does} only what holds this point or an earlier one: "
        "power-up, engine-run or flight (flight)",
    )


def _add_fix(add: _AddParser) -> None:
    parser = _add(
        add,
        "fix",
        "show the exact changes to a setup file that rules propose, or write them",
        (
            "fix aircraft.yaml",
            "fix aircraft.yaml --write --rule regulator-above-servo-rating",
            "fix - --write < aircraft.yaml > fixed.yaml",
        ),
    )
    parser.epilog = (
        f"{parser.epilog}\n\n"
        "Each change is proved first by judging the changed file: its finding must go, and\n"
        "nothing as bad may come. Comments and layout stay. Only the setup file is changed, never\n"
        "a catalogue, and never the aircraft: set the box itself to the same. What only tidies\n"
        "(the fix of a note) waits until `--rule` asks for it.\n\n"
        "exit codes:\n  0  there is nothing to fix, or all of it was written\n"
        "  1  there are fixes that were not written\n"
        "  2  the job, or part of it, could not be done"
    )
    parser.add_argument(
        "file",
        metavar="FILE",
        help="a setup file, or - for standard input; with --write that one goes fixed to standard "
        "output",
    )
    parser.add_argument("--write", action="store_true", help="write them to the file")
    parser.add_argument(
        "--rule",
        action="append",
        metavar="RULE",
        help="only the fixes of this rule; may be given several times",
    )
    _add_until(parser, "fix")
    _add_hangar(parser)


def _add_watch(add: _AddParser) -> None:
    parser = _add(
        add,
        "watch",
        "print the fix list now and after each save, until Ctrl-C",
        ("watch aircraft.yaml", "watch hangar/ --until power-up"),
    )
    parser.add_argument(
        "paths", nargs="+", metavar="PATH", help="a setup file, a file of parts, or a folder"
    )
    _add_hangar(parser)
    _add_until(parser, "hold")
    parser.add_argument(
        "--no-clear", action="store_true", help="leave what was printed before on the screen"
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
            "show diagram aircraft.yaml -o wiring.svg",
            f"show {first} --format json - < aircraft.yaml",
        ),
    )
    views = "; ".join(f"{name}: {view.title}" for name, view in VIEWS.items())
    parser.add_argument("view", choices=tuple(VIEWS), metavar="WHAT", help=views)
    parser.add_argument("file", metavar="FILE", help="a setup file, or - for standard input")
    _add_format(parser)
    _add_hangar(parser)
    parser.add_argument(
        "-o",
        "--output",
        "--plot",
        dest="plot",
        metavar="FILE",
        help="also draw a picture into this file, which ends in .svg or .png (power and diagram; "
        "all but diagram.svg need matplotlib: `pip install 'holdshort[plot]'`)",
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


def _add_sheet(add: _AddParser) -> None:
    parser = _add(
        add,
        "sheet",
        "write the sheet of one aircraft: one page to hand over or to print on A4",
        (
            "sheet aircraft.yaml -o sheet.html",
            "sheet aircraft.yaml --hangar club/hangar.yaml -o sheet.html",
        ),
    )
    parser.epilog = (
        f"{parser.epilog}\n\n"
        "The sheet is written whatever is found. The exit code is that of `lint` all the same:\n"
        "1 where something is held, 2 where part of the job could not be done."
    )
    parser.add_argument("file", metavar="FILE", help="a setup file, or - for standard input")
    _add_hangar(parser)
    parser.add_argument(
        "-o", "--output", metavar="FILE", required=True, help="the page; it ends in .html"
    )


def _add_log(add: _AddParser) -> None:
    parser = _add(
        add,
        "log",
        "read a measured log: dips, currents, source resistance, lost frames, beside the network",
        (
            "log aircraft.yaml bench-run.csv",
            "log aircraft.yaml bench-run.csv --plot bench-run.svg",
            'log aircraft.yaml --sign "each supply alone"',
        ),
    )
    parser.add_argument("file", metavar="FILE", help="a setup file with a section `log`")
    parser.add_argument(
        "log", nargs="?", metavar="LOG", help="a log in CSV (the last under `log: files:`)"
    )
    _add_format(parser)
    _add_hangar(parser)
    parser.add_argument(
        "--plot",
        metavar="PICTURE",
        help="also draw a picture into this file, which ends in .svg or .png (needs matplotlib: "
        "`pip install 'holdshort[plot]'`)",
    )
    parser.add_argument(
        "--sign",
        metavar="TEST",
        default="voltage under load",
        help="the test that the figures are to be signed off for (voltage under load)",
    )


def _add_sign(add: _AddParser) -> None:
    parser = _add(
        add,
        "sign",
        "sign for a test that was done, or list the tests and what their sign-offs are worth",
        (
            "sign aircraft.yaml",
            'sign aircraft.yaml directions --passed --by "A. Builder" --second "B. Helper"',
            'sign aircraft.yaml range check engine off --passed --figure distance="40 paces"',
        ),
    )
    parser.epilog = (
        f"{parser.epilog}\n\n"
        "What is not given is asked for where standard input is a terminal. The sign-off goes to\n"
        "the end of `sign-offs:` in the file, with what the test proved; comments and layout stay."
    )
    parser.add_argument("file", metavar="FILE", help="a setup file")
    parser.add_argument("test", nargs="*", metavar="TEST", help="the test that was done")
    parser.add_argument(
        "--on", metavar="DATE", help="the day it was done, such as 2026-05-31 (today)"
    )
    parser.add_argument("--by", metavar="NAME", help="who did it")
    parser.add_argument("--second", metavar="NAME", help="who watched")
    ended = parser.add_mutually_exclusive_group()
    ended.add_argument(
        "--passed", dest="outcome", action="store_const", const="passed", help="it was passed"
    )
    ended.add_argument(
        "--failed", dest="outcome", action="store_const", const="failed", help="it was not passed"
    )
    parser.add_argument(
        "--figure",
        action="append",
        metavar="NAME=VALUE",
        help="what was measured, with its unit; may be given several times",
    )
    parser.add_argument("--note", metavar="TEXT", help="anything worth saying")
    _add_hangar(parser)


def _add_next(add: _AddParser) -> None:
    parser = _add(
        add,
        "next",
        "say what to do now, in order, with the reason and what it unlocks",
        ("next aircraft.yaml", "next aircraft.yaml --all"),
    )
    parser.add_argument("file", metavar="FILE", help="a setup file, or - for standard input")
    _add_format(parser)
    _add_hangar(parser)
    parser.add_argument(
        "--all", action="store_true", help="tell everything that follows in full as well"
    )


def _add_record(add: _AddParser) -> None:
    parser = _add(
        add,
        "record",
        "write the release record: what was checked, found and signed, with fingerprints",
        ("record aircraft.yaml -o record.json", "record aircraft.yaml --format text"),
    )
    parser.epilog = (
        f"{parser.epilog}\n\n"
        "A record is possible whatever is found, and its first line says so. It is a fingerprint,\n"
        "not a signature: it shows that nothing changed since, not who wrote it. The exit code is\n"
        "that of `lint`."
    )
    parser.add_argument("file", metavar="FILE", help="a setup file, or - for standard input")
    parser.add_argument(
        "--format", choices=("json", "text"), default="json", help="how to print it (json)"
    )
    _add_hangar(parser)
    parser.add_argument(
        "-o", "--output", metavar="FILE", help="write it to this file, which ends in .json"
    )


def _add_verify(add: _AddParser) -> None:
    parser = _add(
        add,
        "verify",
        "compare a release record with the files as they are, and say what changed",
        ("verify record.json", "verify record.json --file aircraft.yaml"),
    )
    parser.epilog = (
        f"{parser.epilog}\n\n"
        "exit codes:\n  0  verified: everything is as it was recorded\n"
        "  1  not verified: the list says what changed\n  2  it could not be judged"
    )
    parser.add_argument("record", metavar="RECORD", help="a record that `holdshort record` wrote")
    parser.add_argument(
        "--file", metavar="FILE", help="the setup file (by default that beside the record)"
    )
    _add_format(parser)
    _add_hangar(parser)


def _add_compare(add: _AddParser) -> None:
    parser = _add(
        add,
        "compare",
        "compare two setup files: what changed, which sign-offs fall, what to do again",
        ("compare before.yaml after.yaml", "compare aircraft.yaml --revision HEAD~1"),
    )
    parser.epilog = (
        f"{parser.epilog}\n\n"
        "exit codes:\n  0  nothing came that holds, and no sign-off falls\n"
        "  1  something came that holds, or a sign-off falls\n  2  nothing could be compared"
    )
    parser.add_argument("old", metavar="OLD", help="a setup file, or - for standard input")
    parser.add_argument("new", nargs="?", metavar="NEW", help="another one, or a later state of it")
    parser.add_argument(
        "--revision", metavar="REV", help="compare OLD as git keeps it in this revision with it now"
    )
    parser.add_argument(
        "--same-aircraft",
        action="store_true",
        help="it is one aircraft, though its name changed: its sign-offs are judged",
    )
    _add_format(parser)
    _add_hangar(parser)


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


def _add_serve(add: _AddParser) -> None:
    _add(
        add,
        "serve",
        "serve an editor: findings, hover text, completion and fixes as you type",
        ("serve",),
    )


_COMMANDS: Final[dict[str, Callable[[_AddParser], None]]] = {
    "lint": _add_lint,
    "fix": _add_fix,
    "watch": _add_watch,
    "rules": _add_rules,
    "rules test": _add_rules_test,
    "rules new": _add_rules_new,
    "show": _add_show,
    "cards": _add_cards,
    "sheet": _add_sheet,
    "log": _add_log,
    "sign": _add_sign,
    "next": _add_next,
    "record": _add_record,
    "verify": _add_verify,
    "compare": _add_compare,
    "start": _add_start,
    "schema": _add_schema,
    "serve": _add_serve,
}
"""What adds each command, by the word or words that name it."""
