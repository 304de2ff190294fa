"""Reading a setup file and its catalogues from text."""

from collections.abc import Callable

import pytest

from holdshort.document import DocumentError, Fault, read_document
from holdshort.setup import Loaded, load

Reading = Callable[..., Loaded]


@pytest.fixture(scope="session")
def reading() -> Reading:
    """Return a function from the text of a setup file, and of catalogues by name, to a setup."""

    def read(text: str, catalogues: dict[str, str] | None = None) -> Loaded:
        shelf = catalogues or {}

        def read_catalogue(name: str) -> object:
            if name not in shelf:
                raise DocumentError(Fault("file-missing", f"There is no file {name}.", name, None))
            return read_document(shelf[name].encode(), name)

        return load(read_document(text.encode(), "plane.yaml"), read_catalogue)  # type: ignore[arg-type]

    return read


@pytest.fixture(scope="session")
def only_fault(reading: Reading) -> Callable[..., Fault]:
    """Return a function from a text with one mistake to that mistake."""

    def read(text: str, catalogues: dict[str, str] | None = None) -> Fault:
        faults = reading(text, catalogues).faults
        assert len(faults) == 1, [fault.message for fault in faults]
        return faults[0]

    return read
