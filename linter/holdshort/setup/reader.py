"""Reading entries one by one, gathering located mistakes of form."""

from collections.abc import Iterable, Mapping
from typing import TypeVar

from pydantic import ValidationError

from holdshort.document import Document, Fault, Node, Path, TreeList, TreeMap
from holdshort.setup.base import CHANNEL_RUN, NAME, TEXT, Section
from holdshort.setup.mistakes import (
    did_you_mean,
    duplicate_run_fault,
    faults_of,
    reference_fault,
    seen,
    shape_fault,
)
from holdshort.setup.runs import expand_run, run_problem

M = TypeVar("M", bound=Section)
V = TypeVar("V")


class EntryReader:
    """Reads the sections of one document, gathering mistakes."""

    def __init__(self, document: Document) -> None:
        """Start with no mistakes known."""
        self.document = document
        self.faults: list[Fault] = []
        self.broken: set[Path] = set()

    def fault(
        self, kind: str, message: str, path: Path, do: str = "", *, at_key: bool = False
    ) -> None:
        """Note a mistake at ``path`` (at its key where asked), which is then broken."""
        self.faults.append(reference_fault(kind, message, self.document, path, do, at_key=at_key))
        self.broken.add(path)

    def misshapen(self, found: Node, wanted: str, path: Path, do: str) -> None:
        """Note a value of the wrong shape at ``path``, which is then broken."""
        self.faults.append(shape_fault(found, wanted, self.document, path, do))
        self.broken.add(path)

    def entry(
        self, model: type[M], value: object, path: Path, *, broken: Path | None = None
    ) -> M | None:
        """Read one entry, or note its mistakes and return None.

        ``broken`` is the path that is then broken, where that is not the entry's own.
        """
        try:
            return model.read(value)
        except ValidationError as error:
            self.faults += faults_of(error, model, lambda steps: (self.document, (*path, *steps)))
            self.broken.add(path if broken is None else broken)
            return None

    def mapping(self, value: Node, path: Path) -> Mapping[str, Node]:
        """Return a mapping, or note that it should be one and return an empty one."""
        if isinstance(value, TreeMap):
            return value
        if value is not None:
            self.misshapen(value, "a mapping", path, "Write `name: ...` lines under it.")
        return {}

    def entries(
        self, model: type[M], value: Node, path: Path, *, numbered: bool = False
    ) -> dict[str, M]:
        """Read a mapping of names (or, where ``numbered``, channels and runs) to entries."""
        is_key = self.is_run if numbered else self.is_name
        found: dict[str, M] = {}
        for name, item in self.mapping(value, path).items():
            if not is_key(name, (*path, name)):
                continue
            entry = self.entry(model, item, (*path, name))
            if entry is not None:
                found[name] = entry
        return found

    def is_name(self, name: str, path: Path) -> bool:
        """Tell whether a key can be a name, or note that it cannot."""
        if NAME.fits(name):
            return True
        self.fault("bad-name", f"{seen(name)} cannot be a name.", path, NAME.form, at_key=True)
        return False

    def is_run(self, key: str, path: Path) -> bool:
        """Tell whether a key is a channel or a run of channels, or note that it is not."""
        if CHANNEL_RUN.fits(key):
            return True
        message = run_problem(key) or f"{seen(key)} is not {CHANNEL_RUN.what}."
        self.fault("wrong-value", message, path, CHANNEL_RUN.form, at_key=True)
        return False

    def text(self, value: Node, path: Path) -> str | None:
        """Return text, or None where it is absent or not text, which is then noted."""
        if value is None or (isinstance(value, str) and 0 < len(value) <= TEXT.longest):
            return value
        if isinstance(value, str):
            do = f"Write from 1 to {TEXT.longest} characters."
            self.misshapen(value, "some text" if not value else "shorter text", path, do)
        else:
            self.misshapen(value, "text", path, "Put it in quotes.")
        return None

    def words(self, value: Node, path: Path, known: Iterable[str]) -> tuple[str, ...]:
        """Read a list of words, each one of ``known``; others are noted and left out."""
        return tuple(self.chosen(value, path, known).values())

    def chosen(self, value: Node, path: Path, known: Iterable[str]) -> dict[int, str]:
        """Read the same list to each word by its position."""
        names = tuple(known)
        found = self.listed(value, path)
        for index, word in found.items():
            if word not in names:
                message = f"{seen(word)} is not known in `{path[-1]}`."
                self.fault("unknown-word", message, (*path, index), did_you_mean(word, names))
        return {index: word for index, word in found.items() if word in names}

    def listed(self, value: Node, path: Path) -> dict[int, str]:
        """Read a list of words to each word by its position; what is no text is noted."""
        if value is None:
            return {}
        if not isinstance(value, TreeList):
            self.misshapen(value, "a list", path, "Write it as `[..., ...]`.")
            return {}
        found: dict[int, str] = {}
        for index, word in enumerate(value):
            if isinstance(word, str) and word:
                found[index] = word
            else:
                self.misshapen(word, "a list of words", (*path, index), "Put each in quotes.")
        return found

    def runs(self, value: Mapping[str, V], path: Path) -> dict[int, tuple[str, V]]:
        """Spread ``1..6`` keys over their numbers: number to the key it came from and its value."""
        found: dict[int, tuple[str, V]] = {}
        for key, item in value.items():
            for number in self.numbers(key, path):
                if number in found:
                    self.faults.append(
                        duplicate_run_fault(self.document, path, key, found[number][0])
                    )
                    break
                found[number] = (key, item)
        return found

    def numbers(self, key: str, path: Path) -> tuple[int, ...]:
        """Return the numbers of a run such as ``1..6``, or note what is wrong with it."""
        try:
            return tuple(int(step) for step in expand_run(key))
        except ValueError as error:
            do = "Write a number such as `3`, or a run such as `1..6`."
            self.fault("bad-run", f"{error}", (*path, key), do, at_key=True)
            return ()
