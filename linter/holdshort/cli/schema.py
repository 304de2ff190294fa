"""``holdshort schema``: print the JSON Schema that editors use."""

import argparse

from holdshort.cli import output
from holdshort.cli.packs import installed_rulebook
from holdshort.fixlist.json_format import dump
from holdshort.rulebook.hangar_schema import hangar_schema
from holdshort.setup.schema import catalogue_schema, setup_schema


def run(arguments: argparse.Namespace) -> int:
    """Print the schema that was asked for, return the exit code."""
    if arguments.what == "hangar":
        return _hangar()
    schema = catalogue_schema() if arguments.what == "parts" else setup_schema()
    output.write(dump(schema))
    return 0


def _hangar() -> int:
    rulebook = installed_rulebook()
    if rulebook is None:
        return 2
    output.write(dump(hangar_schema(rulebook)))
    return 0
