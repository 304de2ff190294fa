"""Run the command line: ``python -m holdshort``."""

import sys

from holdshort.cli import main

if __name__ == "__main__":
    sys.exit(main())
