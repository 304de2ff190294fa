"""Finding rule packs and refusing broken ones by name.

The built-in pack is loaded wherever it is installed. Any other pack is loaded only where it is
named, and nothing of a pack that is not named runs: an installed one by the name of its entry
point, one in a folder or a YAML file by its path.
"""

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NamedTuple, TypeAlias

from holdshort.rulebook.declare import Pack, Rule
from holdshort.rulebook.pack_form import FormMistake, form_mistake
from holdshort.rulebook.time_limit import SECONDS, OutOfTimeError, TimeLimit

GROUP: Final = "holdshort.packs"
"""The entry-point group in which a distribution names its pack."""

BUILT_IN: Final = "built-in"
"""The entry point of the pack that is loaded without being named."""

ATTRIBUTE: Final = "pack"
"""What the pack of a folder is called in its `__init__.py`."""

PackName: TypeAlias = str
"""How settings name a pack: an entry point (``club-rules``) or a path (``./our-rules``,
``./our-rules.yaml``)."""


class PackError(Exception):
    """A pack that cannot be used; the message names the pack and what is wrong with it.

    ``pack`` is the name by which it was asked for.
    """

    def __init__(self, message: str, pack: PackName) -> None:
        """Carry the message and the name."""
        super().__init__(message)
        self.pack = pack


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


def load_rulebook(
    named: Iterable[PackName] = (), folder: Path | None = None, seconds: float = SECONDS
) -> Rulebook:
    """Load the built-in pack, if one is installed, and the ``named`` ones, each once.

    Paths are relative to ``folder``. Each pack has ``seconds`` to load (see
    :class:`~holdshort.rulebook.time_limit.TimeLimit`). Raises PackError naming the first pack
    that cannot be used.
    """
    offered = dict(entry_points())
    wanted = {BUILT_IN: BUILT_IN} if BUILT_IN in offered else {}
    for name in named:
        wanted.setdefault(_key(name, folder), name)
    with TimeLimit(seconds) as limit:
        packs = [_load(name, folder, offered, limit) for name in wanted.values()]
    return checked_rulebook(packs)


def load_pack(name: PackName, folder: Path | None = None, seconds: float = SECONDS) -> Pack:
    """Load one pack by name, alone. Raises PackError."""
    with TimeLimit(seconds) as limit:
        return _load(name, folder, dict(entry_points()), limit)


def is_path(name: PackName) -> bool:
    """Tell whether a pack is named by its path; else by its entry point."""
    return "/" in name or os.sep in name or name.startswith(".") or name.endswith(_YAML)


_YAML: Final = (".yaml", ".yml")


def _key(name: PackName, folder: Path | None) -> str:
    return os.path.realpath(_path(name, folder)) if is_path(name) else name


def _path(name: PackName, folder: Path | None) -> Path:
    return (folder or Path()) / name


def checked_rulebook(packs: list[Pack]) -> Rulebook:
    """Return the packs as one rulebook. Raises PackError where two rules share an id."""
    owners: dict[str, tuple[Pack, Rule]] = {}
    for pack in packs:
        for rule in pack.rules:
            if rule.id in owners:
                raise _same_id(owners[rule.id], (pack, rule))
            owners[rule.id] = pack, rule
    return Rulebook(tuple(packs))


def _same_id(first: tuple[Pack, Rule], second: tuple[Pack, Rule]) -> PackError:
    from holdshort.rulebook.blame import rule_place  # noqa: PLC0415  - only a mistake pays

    pack, rule = second
    places = [place for place in (rule_place(first[1]), rule_place(rule)) if place]
    where = f" ({'; '.join(places)})" if places else ""
    return PackError(
        f"rule `{rule.id}` is in pack `{first[0].name}` and in pack `{pack.name}`{where}",
        pack.name,
    )


class _Origin(NamedTuple):
    """Where a pack comes from.

    ``name`` is how it was asked for, ``title`` names it in messages, ``root`` is its folder or
    file where that is known, ``module`` and ``attribute`` are what holds it.
    """

    name: PackName
    title: str
    module: str
    attribute: str
    root: str = ""


def _load(name: PackName, folder: Path | None, offered: dict[str, str], limit: TimeLimit) -> Pack:
    if is_path(name):
        return _load_path(name, _path(name, folder), limit)
    if name not in offered:
        raise _not_offered(name, offered)
    target = offered[name]
    module, _, attribute = target.partition(":")
    origin = _Origin(name, f"pack `{name}` ({target})", module, attribute)
    return _run(origin, _importer(module), limit)


def _importer(module: str) -> Callable[[], object]:
    def load() -> object:
        return __import__(module, fromlist=["*"])

    return load


def _not_offered(name: str, offered: dict[str, str]) -> PackError:
    from holdshort.setup.mistakes import did_you_mean  # noqa: PLC0415  - only a mistake pays

    near = did_you_mean(name, offered)
    hint = "a pack in a folder or a file is named by its path, such as `./our-rules`"
    return PackError(f"no pack `{name}` is installed ({hint}). {near}".rstrip(" ."), name)


def _load_path(name: PackName, path: Path, limit: TimeLimit) -> Pack:
    title = f"pack `{name}`"
    if path.is_dir():
        if not (path / "__init__.py").is_file():
            raise PackError(f"{title}: the folder {path} has no `__init__.py`", name)
        root = os.path.realpath(path)
        origin = _Origin(name, title, _module_name(root), ATTRIBUTE, root)
        return _run(origin, _folder_importer(origin), limit)
    if not path.is_file():
        raise PackError(f"{title}: there is no file or folder {path}", name)
    if not path.name.endswith(_YAML):
        raise PackError(
            f"{title}: {path} is neither a folder with an `__init__.py` nor a YAML file", name
        )
    return _read_yaml(name, path, limit)


def _read_yaml(name: PackName, path: Path, limit: TimeLimit) -> Pack:
    from holdshort.rulebook.data_rules import read_pack  # noqa: PLC0415  - only where it is named

    limit.start()
    try:
        return read_pack(path)
    except PackError as error:
        error.pack = name
        raise
    except OutOfTimeError as error:
        raise PackError(f"pack `{name}` did not load within {error.seconds:g} s", name) from error
    finally:
        limit.stop()


def _module_name(root: str) -> str:
    """Return a name for the module of a folder that no other module has."""
    return f"_holdshort_pack_{root.encode(errors='surrogateescape').hex()}"


def _folder_importer(origin: _Origin) -> Callable[[], object]:
    """Return what runs the `__init__.py` of a folder, under a name of its own, off `sys.path`."""

    def load() -> object:
        from importlib.util import (  # noqa: PLC0415  - only a pack in a folder pays for it
            module_from_spec,
            spec_from_file_location,
        )

        spec = spec_from_file_location(
            origin.module,
            os.path.join(origin.root, "__init__.py"),  # noqa: PTH118
            submodule_search_locations=[origin.root],
        )
        if spec is None or spec.loader is None:
            raise ImportError(f"{origin.root} cannot be loaded")
        _forget(origin.module, set())  # an earlier state of the same folder
        module = module_from_spec(spec)
        sys.modules[origin.module] = module
        writes, sys.dont_write_bytecode = sys.dont_write_bytecode, True
        try:
            spec.loader.exec_module(module)
        finally:
            sys.dont_write_bytecode = writes
        return module

    return load


def _run(origin: _Origin, load: Callable[[], Any], limit: TimeLimit) -> Pack:
    """Run the code of a pack and return the pack, its form checked. Raises PackError."""
    before = set(sys.modules)
    try:
        limit.start()
        try:
            found = load()
            for name in origin.attribute.split("."):
                found = getattr(found, name)
            mistake = form_mistake(found)
        finally:
            limit.stop()
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        _forget(origin.module, before)
        raise _does_not_load(origin, error) from error
    if mistake is None and isinstance(found, Pack):
        return found
    refused = _refused(origin, mistake or FormMistake("is no pack"))
    _forget(origin.module, before)
    raise refused


def _forget(module: str, keep: set[str]) -> None:
    """Drop the modules of a pack that were not there before."""
    top = module.partition(".")[0]
    for name in [name for name in sys.modules if name == top or name.startswith(f"{top}.")]:
        if name not in keep:
            del sys.modules[name]


def _does_not_load(origin: _Origin, error: BaseException) -> PackError:
    from holdshort.rulebook import blame  # noqa: PLC0415  - only a broken pack pays for it

    place = blame.error_place(error, origin.root or blame.root_of(origin.module))
    if not place and origin.root:
        place = os.path.join(origin.root, "__init__.py")  # noqa: PTH118
    if isinstance(error, OutOfTimeError):
        what = f"did not load within {error.seconds:g} s"
    elif isinstance(error, SystemExit):
        what = f"tried to end the program (exit {error.code})"
    else:
        text = error.msg if isinstance(error, SyntaxError) else str(error)
        what = f"does not load: {type(error).__name__}: {text}"
    return _error(origin, what, place)


def _refused(origin: _Origin, mistake: FormMistake) -> PackError:
    from holdshort.rulebook import blame  # noqa: PLC0415  - only a broken pack pays for it

    place = blame.rule_place(mistake.rule) if mistake.rule is not None else ""
    file = getattr(sys.modules.get(origin.module), "__file__", None)
    if not place and isinstance(file, str):
        place = blame.assignment_place(file, origin.attribute)
    return _error(origin, mistake.text, place)


def _error(origin: _Origin, text: str, place: str) -> PackError:
    return PackError(f"{origin.title} {text}{f' ({place})' if place else ''}", origin.name)
