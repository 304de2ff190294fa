"""The command line. Each command is a module of its own, imported when it is run."""

import atexit
import gc
import os

from holdshort.cli import output

INTERRUPTED = 130
"""The exit code after an interrupt from the keyboard, as shells give it."""


def main(argv: list[str] | None = None) -> int:
    """Run one command and return its exit code.

    0: nothing is held. 1: something is held. 2: the job could not be done, or not all of it.
    """
    _start_fast()
    try:
        return _run(argv)
    except KeyboardInterrupt:
        return INTERRUPTED
    except output.OutputError as error:
        output.say(f"The output could not be written: {error}.")
    except SystemExit as ending:
        output.say(f"A rule pack tried to end the program (exit {ending.code}).")
    except Exception as error:  # noqa: BLE001  - whatever happens, it ends in one sentence
        _last_resort(error)
    return 2


def _start_fast() -> None:
    """Put the first collection of garbage off: loading modules makes none, and looking costs.

    The same goes for the end, where the interpreter would look through everything that is still
    there before the system takes it all back: longer than reading a file and judging it.
    """
    gc.set_threshold(250_000, 20, 20)
    atexit.unregister(gc.freeze)
    atexit.register(gc.freeze)


def _run(argv: list[str] | None) -> int:
    from holdshort.cli.arguments import run_of  # noqa: PLC0415  - an interrupt may come here

    return run_of(argv)()


def _last_resort(error: Exception) -> None:
    output.say(
        f"The program failed, which is a mistake in it: {type(error).__name__}: {error}. "
        "Set HOLDSHORT_TRACEBACK=1 to see where."
    )
    if os.environ.get("HOLDSHORT_TRACEBACK") == "1":
        import traceback  # noqa: PLC0415  - only a failure pays for it

        for line in "".join(traceback.format_exception(error)).splitlines():
            output.say(line)
