"""Finding rule packs by entry point, and refusing broken ones by name."""

import os
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, cast

from holdshort.rulebook.declare import API_VERSION, Pack, Rule

GROUP: Final = "holdshort.packs"
"""The entry-point group in which a distribution names its pack."""


class PackError(Exception):
    """A pack that cannot be used; the message names the pack and what is wrong with it."""


@dataclass(frozen=True, slots=True)
class Rulebook:
    """All rules of all packs, with the pack each came from."""

    packs: tuple[Pack, ...]

    def __iter__(self) -> Iterator[tuple[Pack, Rule]]:
        """Yield every rule with its pack."""
        return ((pack, rule) for pack in self.packs for rule in pack.rules)

    def find(self, rule_id: str) -> tuple[Pack, Rule] | None:
        """Return the rule called ``rule_id`` with its pack, or None."""
        return next((pair for pair in self if pair[1].id == rule_id), None)


def entry_points() -> list[tuple[str, str]]:
    """Return (name, ``module:attribute``) of every pack that an installed distribution offers.

    Reads ``entry_points.txt`` of each ``*.dist-info`` folder on the path, as the entry points
    specification lays down (https://packaging.python.org/specifications/entry-points/). The
    standard library's reader does the same at ten times the start-up cost.
    """
    found: dict[str, str] = {}
    for folder in dict.fromkeys(sys.path):
        for name, target in _offers(folder or "."):
            found.setdefault(name, target)
    return sorted(found.items())


def _offers(folder: str) -> Iterator[tuple[str, str]]:
    try:
        names = os.listdir(folder)  # noqa: PTH208  - start-up cost
    except OSError:
        return
    for name in sorted(names):
        if name.endswith((".dist-info", ".egg-info")):
            file = os.path.join(folder, name, "entry_points.txt")  # noqa: PTH118  - start-up cost
            yield from _section(file)


def _section(file: str) -> Iterator[tuple[str, str]]:
    """Yield the entries of our group in one ``entry_points.txt``."""
    try:
        with open(file, encoding="utf-8") as stream:  # noqa: PTH123  - start-up cost
            text = stream.read()
    except (OSError, UnicodeDecodeError):
        return
    if GROUP not in text:
        return
    inside = False
    for line in (line.strip() for line in text.splitlines()):
        if line.startswith("["):
            inside = line == f"[{GROUP}]"
        elif inside and "=" in line and not line.startswith(("#", ";")):
            name, _, target = line.partition("=")
            yield name.strip(), target.split("[")[0].strip()


def load_rulebook() -> Rulebook:
    """Load every offered pack. Raises PackError naming the first that cannot be used."""
    return checked_rulebook([_load(name, target) for name, target in entry_points()])


def checked_rulebook(packs: list[Pack]) -> Rulebook:
    """Return the packs as one rulebook. Raises PackError where two rules share an id."""
    owners: dict[str, str] = {}
    for pack in packs:
        for rule in pack.rules:
            if rule.id in owners:
                raise PackError(
                    f"rule `{rule.id}` is in pack `{owners[rule.id]}` and in pack `{pack.name}`"
                )
            owners[rule.id] = pack.name
    return Rulebook(tuple(packs))


def _load(name: str, target: str) -> Pack:
    module_name, _, attribute = target.partition(":")
    try:
        module = __import__(module_name, fromlist=["*"])
        pack = getattr(module, attribute)
    except Exception as error:
        raise PackError(f"pack `{name}` ({target}) does not load: {_where(error)}") from error
    if not isinstance(pack, Pack):
        raise PackError(f"pack `{name}` ({target}) is a {type(pack).__name__}, not a Pack")
    _check(pack, name, target)
    return pack


def _check(pack: Pack, name: str, target: str) -> None:
    if pack.api != API_VERSION:
        raise PackError(
            f"pack `{name}` ({target}) is written for version {pack.api} of the pack face; "
            f"this program offers version {API_VERSION}"
        )
    listed = cast("tuple[object, ...]", pack.rules)  # a pack is somebody else's code
    for entry in listed:
        if not isinstance(entry, Rule):
            raise PackError(f"pack `{name}` ({target}) lists a {type(entry).__name__} as a rule")
    for rule in pack.rules:
        cited = [*rule.sources, *(option.source for option in rule.options)]
        missing = [source for source in cited if source not in pack.sources]
        if missing:
            raise PackError(f"pack `{name}`: rule `{rule.id}` cites unknown source {missing[0]}")


def _where(error: Exception) -> str:
    """Return the error with the last file and line it passed through."""
    import traceback  # noqa: PLC0415  - only a broken pack pays for it

    frames = traceback.extract_tb(error.__traceback__)
    place = f" ({frames[-1].filename}, line {frames[-1].lineno})" if frames else ""
    return f"{type(error).__name__}: {error}{place}"
