"""Files as they stood in a revision that git keeps.

Git is run with fixed arguments, without a shell, and asked for the bytes of one file only: it runs
no filter, hook or pager for that.
"""

import os
from typing import Final, NamedTuple

from holdshort.cli.files import Catalogues, Files
from holdshort.document import Document, DocumentError, Fault, Limits, read_document
from holdshort.setup.catalogue import ReadCatalogue

_SECONDS: Final = 30.0
_LONGEST: Final = 200
_LIMITS: Final = Limits()


class RevisionError(Exception):
    """A file cannot be had as it stood in a revision; the message is a sentence that says why."""


class Revision(NamedTuple):
    """One revision, as git knows it from the folder of ``file``."""

    name: str
    file: str

    def document(self) -> Document:
        """Return the file as it stood. Raises RevisionError and DocumentError."""
        data = self._bytes(os.path.basename(self.file))  # noqa: PTH119  - a path as given
        if data is None:
            raise RevisionError(f"{self.file} is not in the revision `{self.name}`.")
        return read_document(data, self.title)

    @property
    def title(self) -> str:
        """How the file as it stood is called."""
        return f"{self.file} at {self.name}"

    def reader(self, old: set[str], now: set[str]) -> ReadCatalogue:
        """Return what reads catalogues: as they stood, or as they are now where they did not.

        ``old`` and ``now`` are filled with the names of those that were read in either way.
        """
        folder = self._folder
        present = Catalogues(Files(), folder)

        def read(name: str) -> Document:
            path = os.path.normpath(os.path.join(folder, name))  # noqa: PTH118  - as elsewhere
            inside = not os.path.isabs(name)  # noqa: PTH117  - as elsewhere
            try:
                data = self._bytes(os.path.normpath(name)) if inside else None
            except RevisionError as error:
                raise DocumentError(Fault("file-unreadable", str(error), path, None)) from error
            if data is None:
                now.add(name)
                return present(name)
            old.add(name)
            return read_document(data, path)

        return read

    @property
    def _folder(self) -> str:
        return os.path.dirname(self.file)  # noqa: PTH120  - a path as given

    def _bytes(self, path: str) -> bytes | None:
        """Return a file of the revision by its path from the folder; None where it has none."""
        shown = path.replace(os.sep, "/")
        size = self._run("cat-file", "-s", f"{self.name}^{{commit}}:./{shown}")
        if size is None:
            if self._run("rev-parse", "--verify", "--quiet", f"{self.name}^{{commit}}") is None:
                raise RevisionError(f"Git knows no revision `{self.name}` where {self.file} lies.")
            return None
        if int(size or b"0") > _LIMITS.size:
            raise RevisionError(f"{path} is too large in the revision `{self.name}`.")
        return self._run("cat-file", "blob", f"{self.name}^{{commit}}:./{shown}")

    def _run(self, *words: str) -> bytes | None:
        """Run git; None where it says no. Raises RevisionError where it cannot be run."""
        import subprocess  # noqa: PLC0415  - only a revision pays for it

        command = ["git", "-C", self._folder or os.curdir, "-c", "core.fsmonitor=false", *words]
        try:
            done = subprocess.run(  # noqa: S603  - fixed arguments, no shell
                command,
                stdin=subprocess.DEVNULL,
                capture_output=True,
                timeout=_SECONDS,
                check=False,
                env={**os.environ, "GIT_TERMINAL_PROMPT": "0", "GIT_NO_LAZY_FETCH": "1"},
            )
        except FileNotFoundError as error:
            raise RevisionError("Git is not installed here, and a revision needs it.") from error
        except (OSError, ValueError, subprocess.TimeoutExpired) as error:
            raise RevisionError(f"Git could not be run: {error}.") from error
        return done.stdout if done.returncode == 0 else None


def revision_problem(name: str) -> str:
    """Say why a revision cannot be called so, or nothing."""
    if not name.strip() or len(name) > _LONGEST:
        return "A revision is named in a few letters, such as `HEAD~1`."
    if name.startswith("-") or ":" in name or not name.isprintable() or " " in name:
        return f"`{name[:60]}` is no name of a revision: it may not begin with `-`, nor hold `:`."
    return ""
