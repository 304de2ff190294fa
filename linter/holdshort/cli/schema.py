"""``holdshort schema``: print the JSON Schema that editors use."""

import argparse

from holdshort.cli import output
from holdshort.fixlist.json_format import dump
from holdshort.setup.schema import catalogue_schema, setup_schema


def run(arguments: argparse.Namespace) -> int:
    """Print the schema that was asked for, return the exit code."""
    schema = catalogue_schema() if arguments.what == "parts" else setup_schema()
    output.write(dump(schema))
    return 0
