"""What is wrong with the form of a file, and where."""

from __future__ import annotations

from typing import NamedTuple

from holdshort.document.place import Path, Span


class Fault(NamedTuple):
    """One thing wrong with a file's form.

    `kind` is a stable id, `message` a sentence that says what was seen, `do` a sentence that
    says what to do, `related` other places that matter, each with a few words about it.
    """

    kind: str
    message: str
    file: str
    span: Span | None
    do: str = ""
    related: tuple[tuple[str, Span], ...] = ()
    path: Path = ()


class DocumentError(Exception):
    """A file that is no document; `fault` says why and where."""

    def __init__(self, fault: Fault) -> None:
        """Carry the fault."""
        super().__init__(fault)
        self.fault = fault

    def __str__(self) -> str:
        fault = self.fault
        if fault.span is None:
            return f"{fault.file}: {fault.message}"
        return f"{fault.file}:{fault.span.line}:{fault.span.column}: {fault.message}"
