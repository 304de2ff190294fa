"""The files that make up a rule pack, and one fingerprint of them all. Loaded only for a record."""

import json
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from holdshort.rulebook.blame import declared_at
from holdshort.rulebook.declare import Pack
from holdshort.rulebook.packs import GROUP

_LEFT_OUT = ("__pycache__",)


class PackIdentity(NamedTuple):
    """One pack: its name, the version of its distribution (empty: none), and what its files are.

    ``digest`` is SHA-256 over the canonical JSON of the SHA-256 of each file by its path within the
    pack; ``files`` counts them. Canonical: keys sorted, no spaces, ASCII with escapes.
    """

    name: str
    version: str
    digest: str
    files: int


def pack_identity(pack: Pack) -> PackIdentity:
    """Return what identifies a pack. Raises OSError where a file of it cannot be read."""
    files = pack_files(pack)
    found = {label: sha256(file.read_bytes()).hexdigest() for label, file in files.items()}
    text = json.dumps(found, sort_keys=True, separators=(",", ":"))
    digest = sha256(text.encode("ascii")).hexdigest()
    return PackIdentity(pack.name, _version(pack), digest, len(found))


def pack_files(pack: Pack) -> dict[str, Path]:
    """Return the files of a pack by their path within it: all of the package of its rules.

    Of a rule that stands in a file alone it is that file; its page and its case belong to it.
    """
    declared = dict.fromkeys(place[0] for rule in pack.rules if (place := declared_at(rule)))
    roots = dict.fromkeys(_package(Path(name)) or Path(name) for name in declared)
    found = dict(pair for root in roots for pair in _below(root))
    known = set(found.values())
    for rule in pack.rules:
        own = {f"pages/{rule.id}.md": pack.pages, f"cases/{rule.id}.yaml": pack.cases}
        for label, folder in own.items():
            file = (folder / label.partition("/")[2]).resolve()
            if file.is_file() and file not in known:
                found[label] = file
    return found


def _below(root: Path) -> Iterator[tuple[str, Path]]:
    """Yield the files of a package, or a file alone."""
    if root.is_file():
        yield _plain(root.name), root.resolve()
        return
    for inner in root.rglob("*"):
        path = inner.relative_to(root)
        if inner.is_file() and not _is_left_out(path):
            yield _plain(path.as_posix()), inner.resolve()


def _plain(label: str) -> str:
    return label.encode("ascii", "backslashreplace").decode("ascii")


def _package(file: Path) -> Path | None:
    folders = [folder for folder in file.resolve().parents if (folder / "__init__.py").is_file()]
    inner = file.resolve().parent
    found: Path | None = None
    while inner in folders:
        found, inner = inner, inner.parent
    return found


def _is_left_out(path: Path) -> bool:
    return any(part in _LEFT_OUT or part.startswith(".") for part in path.parts) or (
        path.suffix == ".pyc"
    )


def _version(pack: Pack) -> str:
    """Return the version of the distribution that offers a pack, or nothing."""
    from importlib.metadata import entry_points  # noqa: PLC0415  - slow, and only a record pays

    places = [declared_at(rule) for rule in pack.rules[:1]]
    package = _package(Path(places[0][0])) if places and places[0] else None
    for entry in entry_points(group=GROUP):
        top = entry.value.partition(":")[0].partition(".")[0]
        if package is not None and top == package.name and entry.dist is not None:
            return entry.dist.version
    return ""
