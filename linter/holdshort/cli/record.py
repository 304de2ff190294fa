"""``holdshort record``: write the release record of one aircraft."""

import argparse
from pathlib import Path

from holdshort.cli import output
from holdshort.cli.judged import exit_code, this_day
from holdshort.cli.record_facts import CannotRecordError, record_facts, say
from holdshort.cli.targets import cannot_write, write_file
from holdshort.document import DocumentError
from holdshort.fixlist.record import record_value, render_record

ENDING = ".json"
"""How the name of a record ends."""


def run(arguments: argparse.Namespace) -> int:
    """Write or print the record; the exit code is that of ``lint``."""
    trouble = _cannot(arguments)
    if trouble:
        output.say(trouble)
        return 2
    try:
        facts, judged = record_facts(arguments.file, arguments.hangar, this_day())
    except (CannotRecordError, DocumentError, OSError) as error:
        say(error)
        return 2
    output.complain(judged.faults)
    value = record_value(facts)
    if arguments.output is not None:
        if not write_file(Path(arguments.output), render_record(value)):
            return 2
        output.write(f"{value['says']}\n")
    elif arguments.format == "text":
        from holdshort.fixlist.record_text import render_text  # noqa: PLC0415  - only when asked

        output.write(render_text(value))
    else:
        output.write(render_record(value))
    return exit_code(judged.report)


def _cannot(arguments: argparse.Namespace) -> str:
    """Say why the record cannot be written as asked, or nothing."""
    if arguments.output is None:
        return ""
    if arguments.format != "json":
        return "A record is written as JSON; leave `--format` out."
    target = Path(arguments.output)
    if target.suffix.lower() != ENDING:
        return f"A record ends in {ENDING}, and {target} does not."
    inputs = [arguments.file, *([arguments.hangar] if arguments.hangar else [])]
    return cannot_write(target, "the record", inputs)
