"""One text of the editor, read and judged with everything that it rests on."""

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal, cast

from holdshort.analysis import Aircraft
from holdshort.document import Document, DocumentError, Fault
from holdshort.editor.buffers import Buffer
from holdshort.editor.homes import Home, Homes, catalogue_reader
from holdshort.editor.texts import Texts
from holdshort.editor.uris import same_file
from holdshort.fixlist.report import FileReport, make_report, plain_file_report
from holdshort.rulebook import Judgement, judge
from holdshort.rulebook.deferrals import UNUSED
from holdshort.rulebook.fixes import Look
from holdshort.rulebook.hangar_search import HANGAR_KEY
from holdshort.setup import FORMAT_KEY, Loaded, Shared, check_catalogue, load
from holdshort.setup.catalogue import CATALOGUE_KEY
from holdshort.setup.model import Place

_OURS: Final = re.compile(r"^\ufeff?[\"']?holdshort(-parts|-hangar)?[\"']?[ \t]*:", re.MULTILINE)

Kind = Literal["aircraft", "parts", "hangar", "other"]
"""What a text is; ``other`` is none of ours, and nothing is said about it."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What came of one text. ``document`` is None where it cannot be read.

    ``look`` is there for an aircraft alone. ``files`` are all the files that it rests on.
    """

    kind: Kind
    path: str
    text: str
    document: Document | None = None
    report: FileReport | None = None
    look: Look | None = None
    aircraft: Aircraft | None = None
    home: Home | None = None
    files: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Bench:
    """What texts are judged with."""

    texts: Texts
    homes: Homes
    today: date | None = None

    def judge(self, buffer: Buffer) -> Judged:
        """Read and judge one open text."""
        try:
            document = buffer.document()
        except DocumentError as error:
            return _unread(buffer, error.fault)
        kind = kind_of(document)
        if kind == "aircraft":
            return self._aircraft(buffer, document)
        if kind == "parts":
            report = plain_file_report(buffer.path, "parts", check_catalogue(document))
            return Judged(kind, buffer.path, buffer.text, document, report)
        if kind == "hangar":
            home = self.homes.read(buffer.path)
            report = plain_file_report(buffer.path, "hangar", home.settings.faults)
            return Judged(
                kind, buffer.path, buffer.text, document, report, home=home, files=home.files
            )
        return Judged("other", buffer.path, buffer.text, document)

    def _aircraft(self, buffer: Buffer, document: Document) -> Judged:
        home = self.homes.home(buffer.path)
        aircraft, look = self._judged(document, home)
        report = make_report(look.loaded, look.judgement, hangar=home.name)
        return Judged(
            kind="aircraft",
            path=buffer.path,
            text=buffer.text,
            document=document,
            report=report,
            look=look,
            aircraft=aircraft,
            home=home,
            files=home.files | _files(document, home.shared),
        )

    def look_at(self, document: Document, home: Home) -> Look:
        """Judge a document that stands in no editor: what a fix would make of one that does."""
        return self._judged(document, home)[1]

    def _judged(self, document: Document, home: Home) -> tuple[Aircraft, Look]:
        loaded = load(document, catalogue_reader(self.texts, document.name), home.shared)
        settings = home.settings
        today = self.today or date.today()  # noqa: DTZ011  - the day where the owner is
        aircraft = Aircraft(loaded.setup, settings.quantities, today, settings.tests)
        judgement = judge(aircraft, settings.rulebook, severities=settings.severities, today=today)
        if home.skipped:
            _forget_unknown(judgement, loaded)
        return aircraft, Look(loaded, judgement)


def kind_of(document: Document) -> Kind:
    """Tell what a document is by its first key."""
    if FORMAT_KEY in document.root:
        return "aircraft"
    if CATALOGUE_KEY in document.root:
        return "parts"
    return "hangar" if HANGAR_KEY in document.root else "other"


def kind_of_text(text: str) -> Kind:
    """Tell what a text that may not be read is meant to be."""
    found = _OURS.search(text)
    if found is None:
        return "other"
    kinds: dict[str, Kind] = {"-parts": "parts", "-hangar": "hangar"}
    return kinds.get(found[1] or "", "aircraft")


def _unread(buffer: Buffer, fault: Fault) -> Judged:
    kind = kind_of_text(buffer.text)
    if kind == "other":
        return Judged(kind, buffer.path, buffer.text)
    report = plain_file_report(buffer.path, "not-read", [fault])
    return Judged(kind, buffer.path, buffer.text, report=report)


def _forget_unknown(judgement: Judgement, loaded: Loaded) -> None:
    """Drop what is said about deferrals of rules that may be those of a pack that is not run."""
    foreign = {
        place for place, deferral in loaded.setup.deferrals if deferral.rule not in judgement.rules
    }

    def about(place: Place) -> bool:
        return any(one.path == place.path[: len(one.path)] for one in foreign)

    judgement.found[:] = [
        found
        for found in judgement.found
        if not (found.rule.id == UNUSED.id and about(found.finding.at))
    ]


def _files(document: Document, shared: Shared | None) -> frozenset[str]:
    """Return the catalogues that an aircraft names, and those that its hangar file names."""
    found = set(_named(document.name, document.root.get("catalogues")))
    if shared is not None:
        found.update(_named(shared.document.name, list(shared.catalogues.values())))
    return frozenset(found)


def _named(file: str, names: object) -> Iterator[str]:
    folder = os.path.dirname(file) if os.path.isabs(file) else ""  # noqa: PTH117, PTH120
    for name in cast("list[object]", names) if isinstance(names, list) else ():
        if isinstance(name, str):
            yield same_file(os.path.normpath(os.path.join(folder, name)))  # noqa: PTH118
