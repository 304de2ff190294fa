"""``holdshort serve``: a language server over standard input and output."""

import argparse
import os
import sys
from typing import Final

from holdshort.cli import output
from holdshort.cli.packs import installed_rulebook

_EXTRA: Final = frozenset({"attrs", "cattrs", "lsprotocol", "pygls"})


def run(arguments: argparse.Namespace) -> int:
    """Serve the client at the other end of the pipes until it ends; return the exit code."""
    del arguments
    # Started by `python -m`, the folder that is being edited would be a place to import from.
    sys.path[:] = [path for path in sys.path if path not in {"", os.getcwd()}]  # noqa: PTH109
    if sys.stdin.isatty():
        output.say(
            "`serve` is started by an editor, which speaks the language server protocol to it: "
            "by hand there is nothing to type. `holdshort watch` tells what changes at each save."
        )
        return 2
    try:
        from holdshort.editor.answers import serve  # noqa: PLC0415  - only the server pays for it
    except ModuleNotFoundError as error:
        if (error.name or str(error)).partition(".")[0] not in _EXTRA:
            raise
        output.say(
            "The language server needs the extra `editor`: install it with "
            "`pip install 'holdshort[editor]'`."
        )
        return 2
    rulebook = installed_rulebook()
    if rulebook is None:
        return 2
    import logging  # noqa: PLC0415  - as above

    if os.environ.get("HOLDSHORT_TRACEBACK") != "1":
        logging.getLogger("pygls").setLevel(logging.CRITICAL + 1)
    # Whatever prints must not stand between the messages of the protocol.
    incoming, outgoing = sys.stdin.buffer, os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    sys.stdout = sys.stderr
    return serve(rulebook, incoming, outgoing)
