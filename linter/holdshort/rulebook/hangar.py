"""The hangar file: catalogues, codes, packs, limits and severities that aircraft share.

::

    holdshort-hangar: 1
    catalogues: [parts/shelf.yaml]          # added to those of every aircraft
    packs: [./our-rules, ./our-rules.yaml]  # rules of one's own
    follows: [uk]                           # added to what every aircraft follows
    limits:
      aerials-parallel: {least-angle: 75 deg}
    severities:
      aerials-parallel: warning             # for all that the rule finds
    skip: [archive]                         # folders that a lint of a folder passes by
    tests:                                  # to be signed for beside those of the trade
      wing bolts: {title: Wing bolts tight, proves: [place of *], before: flight}

Paths are seen from the hangar file. It is read in two steps: its form alone
(:func:`read_hangar`), then, with the rules that it asks for, what it says about them
(:func:`settle`).
"""

import os
from collections.abc import Iterator, Mapping
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Final, NamedTuple

from pydantic_core import PydanticCustomError

from holdshort.document import Document, Fault, Node, read_file
from holdshort.document.place import Path
from holdshort.rulebook.declare import Option, Rule, Severity
from holdshort.rulebook.deferrals import PACK
from holdshort.rulebook.hangar_search import HANGAR_KEY, find_hangar
from holdshort.rulebook.packs import PackError, Rulebook, load_rulebook
from holdshort.rulebook.settings import Grade, Limit, Settings
from holdshort.rulebook.wording import sentence
from holdshort.setup.catalogue import root_faults
from holdshort.setup.mistakes import did_you_mean, reference_fault, seen, seen_first
from holdshort.setup.model import Place
from holdshort.setup.quantities import Quantity
from holdshort.setup.reader import EntryReader
from holdshort.setup.sections import CODES

if TYPE_CHECKING:
    from holdshort.analysis.known_tests import KnownTest

__all__ = [
    "HANGAR_SECTIONS",
    "Hangar",
    "find_hangar",
    "hangar_of",
    "read_hangar",
    "rules_of",
    "settle",
]

HANGAR_SECTIONS: Final = (
    HANGAR_KEY,
    "catalogues",
    "packs",
    "follows",
    "limits",
    "severities",
    "skip",
    "tests",
)
_WORDS: Final = {severity.word: severity for severity in Severity}


class Hangar(NamedTuple):
    """A hangar file, as far as it could be read, and the mistakes in its form.

    Lists are kept by position, so that each entry has its place. ``limits`` are as written, by
    rule and option, for only the rules know what they should be.
    """

    document: Document
    catalogues: Mapping[int, str]
    packs: Mapping[int, str]
    follows: Mapping[int, str]
    limits: Mapping[str, Mapping[str, Node]]
    severities: Mapping[str, Node]
    skip: Mapping[int, str]
    faults: tuple[Fault, ...]
    tests: "tuple[KnownTest, ...]" = ()


def read_hangar(path: FilePath) -> Hangar:
    """Read the hangar file at ``path``. Raises DocumentError where it is no document."""
    return hangar_of(read_file(path))


def hangar_of(document: Document) -> Hangar:
    """Return the hangar file that ``document`` holds, with every mistake of form in it."""
    reader = EntryReader(document)
    root = document.root
    reader.faults += root_faults(document, HANGAR_KEY, HANGAR_SECTIONS)
    limits = reader.mapping(root.get("limits"), ("limits",))
    tests = _tests(reader)
    return Hangar(
        document=document,
        catalogues=_once(reader, "catalogues"),
        packs=_once(reader, "packs"),
        follows=reader.chosen(root.get("follows"), ("follows",), CODES),
        limits={rule: reader.mapping(value, ("limits", rule)) for rule, value in limits.items()},
        severities=dict(reader.mapping(root.get("severities"), ("severities",))),
        skip=_folders(reader),
        faults=tuple(reader.faults),
        tests=tests,
    )


def _tests(reader: EntryReader) -> "tuple[KnownTest, ...]":
    if reader.document.root.get("tests") is None:
        return ()
    from holdshort.rulebook.club_tests import (  # noqa: PLC0415  - only where there are any
        read_club_tests,
    )

    return read_club_tests(reader, "tests")


def _once(reader: EntryReader, section: str) -> dict[int, str]:
    """Read a list of words, each of which may stand in it once."""
    found: dict[int, str] = {}
    for index, word in reader.listed(reader.document.root.get(section), (section,)).items():
        if word in found.values():
            message = f"{seen_first(word)} is named twice."
            reader.fault("given-twice", message, (section, index), "Name it once.")
        else:
            found[index] = word
    return found


def _folders(reader: EntryReader) -> dict[int, str]:
    """Read the folders to pass by, as normal paths below the hangar file's own."""
    found: dict[int, str] = {}
    for index, name in _once(reader, "skip").items():
        path = os.path.normpath(name)
        if FilePath(path).is_absolute() or FilePath(path).parts[:1] in {(), (os.pardir,)}:
            message = f"{seen_first(name)} is not a folder below this file."
            do = "Name a folder by its path as seen from this file, such as `archive`."
            reader.fault("wrong-value", message, ("skip", index), do)
        else:
            found[index] = path
    return found


def rules_of(
    hangar: Hangar, packs: Mapping[int, str], rulebook: Rulebook
) -> tuple[Rulebook, list[Fault]]:
    """Load packs that a hangar file names, given by their places in its list.

    One that cannot be used is a fault, and left out; ``rulebook`` is what counts without any.
    """
    names, faults = dict(packs), list[Fault]()
    folder = FilePath(os.path.dirname(os.path.abspath(hangar.document.name)))  # noqa: PTH100, PTH120
    while names:
        try:
            return load_rulebook(names.values(), folder), faults
        except PackError as error:
            bad = next((index for index, name in names.items() if name == error.pack), None)
            path: Path = ("packs",) if bad is None else ("packs", bad)
            message = f"Rules cannot be loaded: {sentence(str(error))}"
            do = "Put the pack right, or take its name out."
            faults.append(reference_fault("unusable-pack", message, hangar.document, path, do))
            if bad is None:
                break
            del names[bad]
    return rulebook, faults


def settle(hangar: Hangar, rulebook: Rulebook, *, whole: bool = True) -> Settings:
    """Return what applies under ``hangar`` with these rules, and all mistakes of form in it.

    Where the rulebook is not ``whole``, for a pack could not be loaded, a rule that is not in it is
    no mistake: it may be one of that pack.
    """
    reader = EntryReader(hangar.document)
    _check_own(reader, rulebook)
    known = {rule.id: rule for rule in (*(rule for _, rule in rulebook), *PACK.rules)}
    rules = _Rules(known, whole)
    limits = {(limit.rule.id, limit.option.name): limit for limit in _limits(reader, hangar, rules)}
    severities = {grade.rule.id: grade for grade in _severities(reader, hangar, rules)}
    return Settings(
        rulebook=rulebook,
        hangar=hangar.document,
        limits=limits,
        severities=severities,
        tests=hangar.tests,
        faults=_in_order([*hangar.faults, *reader.faults]),
    )


class _Rules(NamedTuple):
    """The rules by id, and whether these are all that the hangar file asks for."""

    known: Mapping[str, Rule]
    whole: bool


def _check_own(reader: EntryReader, rulebook: Rulebook) -> None:
    """Note every rule that takes the id of one of the engine's own."""
    own = {rule.id for rule in PACK.rules}
    for pack, rule in rulebook:
        if rule.id in own:
            message = f"Pack `{pack.name}` has a rule `{rule.id}`, which the program has itself."
            reader.fault("same-id", message, ("packs",), "Give that rule another id.")


def _limits(reader: EntryReader, hangar: Hangar, rules: _Rules) -> Iterator[Limit]:
    for rule_id, values in hangar.limits.items():
        rule = _rule(reader, rules, ("limits", rule_id))
        if rule is None:
            continue
        options = {option.name: option for option in rule.options}
        if not options:
            message = f"Rule `{rule_id}` has no limits to set."
            do = "Take it out; its severity can be set under `severities`."
            reader.fault("unknown-limit", message, ("limits", rule_id), do, at_key=True)
            continue
        for name, value in values.items():
            path = ("limits", rule_id, name)
            if name not in options:
                message = f"{seen_first(name)} is not a limit of rule `{rule_id}`."
                do = did_you_mean(name, options)
                reader.fault("unknown-limit", message, path, do, at_key=True)
                continue
            quantity = _quantity(reader, options[name], value, path)
            if quantity is not None:
                place = Place(hangar.document.name, path)
                yield Limit(rule, options[name], quantity, place)


def _quantity(reader: EntryReader, option: Option, value: Node, path: Path) -> Quantity | None:
    try:
        return option.kind.read(value)
    except PydanticCustomError as error:
        context = error.context or {}
        message = f"`{option.name}` is {seen(value)}, {context.get('problem', 'not right')}."
        reader.fault("wrong-quantity", message, path, str(context.get("advice", "")))
        return None


def _severities(reader: EntryReader, hangar: Hangar, rules: _Rules) -> Iterator[Grade]:
    for rule_id, word in hangar.severities.items():
        path = ("severities", rule_id)
        rule = _rule(reader, rules, path)
        if rule is None:
            continue
        severity = _WORDS.get(word) if isinstance(word, str) else None
        if severity is None:
            message = f"{seen_first(word)} is not a severity."
            reader.fault("unknown-word", message, path, did_you_mean(str(word), _WORDS))
        elif rule.fixed:
            message = f"The severity of rule `{rule_id}` is fixed by its pack."
            reader.fault("fixed-severity", message, path, "Take the line out.", at_key=True)
        else:
            yield Grade(rule, severity, Place(hangar.document.name, path))


def _rule(reader: EntryReader, rules: _Rules, path: Path) -> Rule | None:
    """Return the rule that the last step of ``path`` names, or note that there is none."""
    rule_id = str(path[-1])
    if rule_id not in rules.known and rules.whole:
        message = f"{seen_first(rule_id)} is not a rule."
        do = did_you_mean(rule_id, rules.known) or "`holdshort rules` lists the rules."
        reader.fault("unknown-rule", message, path, do, at_key=True)
    return rules.known.get(rule_id)


def _in_order(faults: list[Fault]) -> tuple[Fault, ...]:
    def place(fault: Fault) -> tuple[int, int]:
        return (fault.span.line, fault.span.column) if fault.span else (0, 0)

    return tuple(sorted(dict.fromkeys(faults), key=place))
