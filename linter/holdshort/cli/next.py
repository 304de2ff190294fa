"""``holdshort next``: what to do now with one aircraft, and what follows."""

import argparse

from holdshort.cli import output
from holdshort.cli.judged import judge_document, open_aircraft, this_day
from holdshort.cli.packs import installed_rulebook
from holdshort.fixlist.next_text import NextReport
from holdshort.rulebook.next_steps import next_steps


def run(arguments: argparse.Namespace) -> int:
    """Print what to do; 0 where nothing is left, 1 where something is, 2 for mistakes of form."""
    document = open_aircraft(arguments.file)
    rulebook = None if document is None else installed_rulebook()
    if document is None or rulebook is None:
        return 2
    judged = judge_document(document, rulebook, arguments.hangar, this_day())
    steps = next_steps(judged.aircraft, judged.judgement, judged.faults, judged.settings.packs)
    report = NextReport(judged.setup, steps)
    if arguments.format == "json":
        from holdshort.fixlist.next_json import render_json  # noqa: PLC0415  - only when asked

        output.write(render_json(report))
    else:
        from holdshort.fixlist.next_text import render_text  # noqa: PLC0415  - as above

        output.write(render_text(report, everything=arguments.all))
    if judged.report.mistakes or judged.report.crashes:
        return 2
    return 1 if steps.now or steps.then else 0
