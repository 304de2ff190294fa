"""Rules of a club as data: a YAML file in which each rule picks facts and says what must hold.

::

    holdshort-rules: 1
    name: north-field
    sources:
      field-rules: {text: "Rules of the field, section 4.", confidence: read}
    rules:
      - id: flight-pack-too-small
        title: A receiver pack below the size the field asks for
        severity: caution
        hold: flight
        subject: power
        pick: $.computed.packs.*.capacity_ampere_hours
        must: {minimum: 2.5}
        message: "`{name}` has {value} Ah, and the field asks for 2.5 Ah."
        reason: A pack that is half as large empties in half the time.
        do: Fit a larger pack.
        sources: [field-rules]

``pick`` is JSONPath (RFC 9535) over the facts that ``holdshort show facts`` prints; every fact that
it picks must satisfy ``must``, a JSON Schema (2020-12). One that does not is a finding at the
declaration it came from. Where nothing is picked there is nothing to judge; ``needs`` names facts
that must be there for the rule to judge at all. A fact that is not known is *not checked*.

Nothing in such a file is run. ``message`` and ``do`` may hold ``{name}``, ``{value}`` and
``{path}``, which are replaced by the name of what the fact is about, the fact itself, and the
document path of the declaration.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal, NamedTuple, cast
from weakref import WeakKeyDictionary

from pydantic import Field

from holdshort.analysis import Aircraft
from holdshort.document import Document, DocumentError, Fault, Path, TreeMap, read_file, show_path
from holdshort.rulebook.declare import (
    API_VERSION,
    RULE_ID,
    Clean,
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Rule,
    Severity,
    Source,
    rule,
)
from holdshort.rulebook.open_facts import OpenFacts, Unknown, open_facts
from holdshort.rulebook.packs import PackError
from holdshort.rulebook.wording import counted
from holdshort.rulebook.work_meter import Meter, TooMuchWorkError
from holdshort.setup import Place
from holdshort.setup.base import NAME, Items, Section, Text, short_for
from holdshort.setup.catalogue import root_faults
from holdshort.setup.mistakes import did_you_mean, seen
from holdshort.setup.reader import EntryReader

if TYPE_CHECKING:
    from holdshort.rulebook.json_paths import Paths
    from holdshort.rulebook.json_schemas import Requirement

RULES_KEY: Final = "holdshort-rules"
SECTIONS: Final = (RULES_KEY, "name", "sources", "rules")
PLACEHOLDERS: Final = ("name", "value", "path")

_PLACEHOLDER: Final = re.compile(r"\{([a-z][a-z_-]*)\}")
_LONGEST_VALUE: Final = 120
_EXTRA: Final = frozenset(
    {"jsonpath_rfc9535", "iregexp_check", "regex", "re2", "jsonschema", "referencing"}
)
_MOST_NAMED: Final = 3


class SourceEntry(Section):
    """Where a rule comes from."""

    text: Text
    """What the source is, in words."""
    confidence: Literal["read", "read second-hand", "from memory", "derived", "common practice"]
    """How it was read."""


class NeedEntry(Section):
    """Facts that must be there for a rule to judge."""

    path: Text
    """A JSONPath (RFC 9535) that must pick a fact."""
    text: Text | None = None
    """What is missing where it picks none; goes on from "not checked: needs"."""


class RuleEntry(Section):
    """One rule."""

    id: Text
    """Its name for good: lower-case words joined by hyphens."""
    title: Text
    """The condition that it finds, in a few words."""
    severity: Literal["warning", "caution", "note"]
    """How bad it is."""
    hold: Literal["power-up", "engine-run", "flight"]
    """What may not happen until it is dealt with."""
    subject: Text
    """The subject that it is listed under."""
    pick: Text
    """A JSONPath (RFC 9535): the facts that it judges."""
    needs: Items[Annotated[NeedEntry, short_for(Text | NeedEntry, "path")]] = ()
    """Facts that must be there for it to judge."""
    must: Any
    """A JSON Schema (2020-12) that every fact it picks must satisfy."""
    message: Text
    """What is wrong."""
    do: Text
    """What to do about it."""
    reason: Text | None = None
    """Why it matters."""
    sources: Annotated[Items[Text], Field(min_length=1)]
    """The sources that it comes from."""
    page: Text | None = None
    """What more there is to say about it, in Markdown."""


class DataPackError(PackError):
    """A YAML pack with mistakes; ``faults`` are all of them, each with its file and line."""

    def __init__(self, pack: str, faults: tuple[Fault, ...]) -> None:
        """Carry the name of the pack and its mistakes."""
        shown = [_show_fault(fault) for fault in faults[:_MOST_NAMED]]
        more = len(faults) - len(shown)
        if more:
            shown.append(f"and {counted(more, 'more mistake')}")
        super().__init__(" ".join(shown), pack)
        self.faults = faults


class DataRuleError(Exception):
    """A rule in data that failed on an aircraft; the message names the rule."""


class DataPack(Pack):
    """A pack read from a YAML file. The page of a rule stands in the file, or is made from it."""

    __slots__ = ()

    def page(self, rule_id: str) -> str:
        """Return the page of a rule, in Markdown. Raises OSError where there is no such rule."""
        for declared in self.rules:
            if declared.id == rule_id and isinstance(declared.check, DataCheck):
                return declared.check.page
        raise FileNotFoundError(rule_id)


def read_pack(path: FilePath) -> Pack:
    """Read the pack in a YAML file. Raises PackError naming every mistake with file and line."""
    try:
        document = read_file(path)
    except DocumentError as error:
        raise DataPackError(str(path), (error.fault,)) from None
    try:
        tools = _tools()
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in _EXTRA:
            raise
        raise PackError(
            f"{path}: rules in YAML need the extra `club`, which is not installed "
            f"(`{error.name}` is missing): `pip install 'holdshort[club]'` installs it",
            str(path),
        ) from None
    return _Reader(document, path, tools).pack()


class _Tools(NamedTuple):
    """What comes with the optional extra: imported only where a YAML pack is named."""

    paths: "Callable[[Meter], Paths]"
    requirement: "Callable[[Any, Meter], Requirement]"
    schema_mistakes: Callable[[Any], list[Any]]
    query_error: type[Exception]


def _tools() -> _Tools:
    from holdshort.rulebook import json_paths, json_schemas  # noqa: PLC0415  - an optional extra

    return _Tools(
        json_paths.Paths,
        json_schemas.Requirement,
        json_schemas.schema_mistakes,
        json_paths.QueryError,
    )


class _Reader:
    """Reads one YAML pack, gathering every mistake."""

    def __init__(self, document: Document, path: FilePath, tools: _Tools) -> None:
        self.document = document
        self.path = path
        self.tools = tools
        self.reader = EntryReader(document)

    def pack(self) -> Pack:
        """Return the pack. Raises DataPackError with every mistake there is."""
        root = self.document.root
        self.reader.faults += root_faults(self.document, RULES_KEY, SECTIONS)
        name = self._name(root)
        sources = self._sources(root)
        rules = tuple(self._rules(root, sources))
        if self.reader.faults:
            found = dict.fromkeys(self.reader.faults)
            raise DataPackError(str(self.path), tuple(sorted(found, key=_line)))
        folder = self.path.parent
        return DataPack(
            name=name,
            api=API_VERSION,
            rules=rules,
            sources=sources,
            pages=folder / "pages",
            cases=folder / "cases",
        )

    def _name(self, root: TreeMap) -> str:
        if "name" not in root:
            do = "Write `name:` and what the pack is called."
            self.reader.fault("missing-key", "`name` is missing.", (), do)
            return ""
        name = root["name"]
        if not isinstance(name, str) or not NAME.fits(name):
            message = f"{seen(name)} cannot be the name of a pack."
            self.reader.fault("bad-name", message, ("name",), NAME.form)
            return ""
        return name

    def _sources(self, root: TreeMap) -> dict[str, Source]:
        read = self.reader.entries(SourceEntry, root.get("sources"), ("sources",))
        return {name: Source(name, entry.text, entry.confidence) for name, entry in read.items()}

    def _rules(self, root: TreeMap, sources: Mapping[str, Source]) -> Iterator[Rule]:
        found = root.get("rules")
        if not isinstance(found, list) or not found:
            do = "Begin each rule with `- id:`."
            self.reader.misshapen(found, "a list of rules", ("rules",), do)
            return
        declared = root.get("sources")
        known = tuple(declared) if isinstance(declared, TreeMap) else ()
        seen_ids: dict[str, int] = {}
        for index, item in enumerate(found):
            path: Path = ("rules", index)
            entry = self.reader.entry(RuleEntry, item, path)
            if entry is None:
                continue
            before = len(self.reader.faults)
            self._check_id(entry.id, path, seen_ids)
            self._check_sources(entry, path, known)
            self._check_texts(entry, path)
            self._check_schema(entry.must, (*path, "must"))
            self._check_queries(entry, path)
            if len(self.reader.faults) == before and set(entry.sources) <= set(sources):
                yield self._rule(entry, path)

    def _check_id(self, name: str, path: Path, seen_ids: dict[str, int]) -> None:
        at = (*path, "id")
        if not RULE_ID.fullmatch(name):
            do = "Name the condition in lower-case words joined by hyphens, two at least."
            self.reader.fault("bad-rule-id", f"{seen(name)} cannot be the id of a rule.", at, do)
        elif name in seen_ids:
            first = self.document.span_at(("rules", seen_ids[name], "id"))
            message = f"Rule {seen(name)} is given twice: also on line {first.line}."
            self.reader.fault("given-twice", message, at, "Give each rule an id of its own.")
        seen_ids.setdefault(name, cast("int", path[1]))

    def _check_sources(self, entry: RuleEntry, path: Path, known: tuple[str, ...]) -> None:
        for index, name in enumerate(entry.sources):
            if name not in known:
                message = f"{seen(name)} is not a source of this pack."
                do = did_you_mean(name, known) or "Declare it under `sources:`."
                self.reader.fault("unknown-source", message, (*path, "sources", index), do)

    def _check_texts(self, entry: RuleEntry, path: Path) -> None:
        texts = {"message": entry.message, "do": entry.do, "reason": entry.reason or ""}
        for key, text in texts.items():
            for word in _PLACEHOLDER.findall(text):
                if word not in PLACEHOLDERS:
                    message = f"{seen('{' + word + '}')} is not a word that is filled in."
                    do = did_you_mean(word, PLACEHOLDERS)
                    self.reader.fault("unknown-placeholder", message, (*path, key), do)

    def _check_schema(self, schema: Any, path: Path) -> None:
        if not isinstance(schema, dict | bool):
            do = "Write a JSON Schema, such as `{minimum: 2.5}`."
            self.reader.misshapen(schema, "a JSON Schema", path, do)
            return
        for found in self.tools.schema_mistakes(schema):
            at = (*path, *found.path)
            self.reader.fault("bad-schema", found.text, at, found.do, at_key=found.at_key)

    def _check_queries(self, entry: RuleEntry, path: Path) -> None:
        written: list[tuple[Path, str]] = [(("pick",), entry.pick)]
        for index, need in enumerate(entry.needs):
            written.append((("needs", index), need.path))
        paths = self.tools.paths(Meter())
        for steps, text in written:
            try:
                paths.read(text)
            except self.tools.query_error as error:
                message = f"{seen(text)} cannot be read as JSONPath: {_one_line(str(error))}."
                do = "Write it as RFC 9535 has it, such as `$.computed.packs.*.cells`."
                self.reader.fault("bad-query", message, (*path, *steps), do)

    def _rule(self, entry: RuleEntry, path: Path) -> Rule:
        line = self.document.span_at(path).line
        check = DataCheck(entry, f"{self.document.name}, line {line}", self.tools)
        declare = rule(
            entry.id,
            title=entry.title,
            severity=Severity[entry.severity.upper()],
            hold=Hold[entry.hold.upper().replace("-", "_")],
            subject=entry.subject,
            sources=entry.sources,
        )
        return declare(check)


class DataCheck:
    """The check of one rule in data: judges an aircraft as any other check does."""

    __slots__ = ("_entry", "_tools", "_where", "page")

    def __init__(self, entry: RuleEntry, where: str, tools: _Tools) -> None:
        """Take a rule without mistakes, and where it stands."""
        self._entry = entry
        self._where = where
        self._tools = tools
        self.page = entry_page(entry)

    @property
    def where(self) -> str:
        """Where the rule stands: ``file, line 7``."""
        return self._where

    def __call__(self, aircraft: Aircraft) -> Iterator[Outcome]:
        """Judge one aircraft. Raises DataRuleError where the rule cannot be run."""
        known = _facts_of(aircraft)
        known.meter.reset()
        try:
            return iter(list(dict.fromkeys(self._outcomes(known))))
        except RecursionError:
            raise self._failed("stands too deep in itself") from None
        except TooMuchWorkError as error:
            raise self._failed(str(error)) from None

    def _failed(self, why: str) -> DataRuleError:
        return DataRuleError(f"rule `{self._entry.id}` {why}")

    def _outcomes(self, known: OpenFacts) -> Iterator[Outcome]:
        paths = self._tools.paths(known.meter)
        gaps = list(self._gaps(paths, known))
        if gaps:
            yield from gaps
            return
        requirement = self._tools.requirement(self._entry.must, known.meter)
        for node in paths.pick(paths.read(self._entry.pick), known.tree):
            yield self._outcome(requirement, node.value, tuple(node.location), known)

    def _gaps(self, paths: "Paths", known: OpenFacts) -> Iterator[NotChecked]:
        """Yield what is missing of the facts that the rule needs to judge at all."""
        for need in self._entry.needs:
            picked = paths.pick(paths.read(need.path), known.tree)
            if any(not isinstance(node.value, Unknown) for node in picked):
                continue
            if not picked:
                text = need.text or f"a fact at `{need.path}`"
                yield NotChecked(known.place(()), plain_words(text))
            unknown = [node.value for node in picked if isinstance(node.value, Unknown)]
            yield from (_not_checked(fact, known, need.text) for fact in unknown)

    def _outcome(
        self, requirement: "Requirement", value: Any, location: Path, known: OpenFacts
    ) -> Outcome:
        if isinstance(value, Unknown):
            return _not_checked(value, known)
        from holdshort.rulebook.json_schemas import (  # noqa: PLC0415  - an optional extra
            EmptyJudgementError,
        )

        try:
            verdict = requirement.judge(value)
        except EmptyJudgementError as error:
            why = f"{error}, which `pick` picks at `{show_path(location)}`"
            raise self._failed(f"would never find anything: {why}") from None
        if verdict.holds is None:
            return _not_checked(verdict.unknown[0], known)
        at = known.place(location)
        return Clean(at) if verdict.holds else self._finding(at, value, location, known)

    def _finding(self, at: Place, value: Any, location: Path, known: OpenFacts) -> Finding:
        words = {
            "name": _name_at(location, known),
            "value": _value_words(value),
            "path": show_path(at.path),
        }
        message = _filled(self._entry.message, words)
        if self._entry.reason:
            message = f"{message} {_filled(self._entry.reason, words)}"
        return Finding(at=at, message=message, do=_filled(self._entry.do, words))


_FACTS: Final[WeakKeyDictionary[Aircraft, OpenFacts]] = WeakKeyDictionary()


def _facts_of(aircraft: Aircraft) -> OpenFacts:
    """Return the facts of an aircraft, gathered once for all rules in data."""
    found = _FACTS.get(aircraft)
    if found is None:
        found = open_facts(aircraft)
        _FACTS[aircraft] = found
    return found


def _not_checked(unknown: Unknown, known: OpenFacts, text: str | None = None) -> NotChecked:
    return NotChecked(known.origins[unknown.path], plain_words(text or "; ".join(unknown.needs)))


def _filled(text: str, words: Mapping[str, str]) -> str:
    """Put words in the place of placeholders, in one pass: what is put in is never looked at."""
    return plain_words(_PLACEHOLDER.sub(lambda found: words.get(found[1], found[0]), text))


def plain_words(text: str) -> str:
    """Return text on one line, with what cannot be seen left out."""
    return "".join(character for character in _one_line(text) if character.isprintable())


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _value_words(value: Any) -> str:
    """Return a fact in words, cut to what a message can hold."""
    text = _short_words(value)
    return text if len(text) <= _LONGEST_VALUE else f"{text[: _LONGEST_VALUE - 3]}..."


def _short_words(value: Any) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"  # noqa: PLR2004  - 1520 us
    if isinstance(value, dict):
        return _map_words(cast("dict[str, Any]", value))
    if isinstance(value, list):
        return f"[{', '.join(_short_words(item) for item in cast('list[object]', value))}]"
    return "not known" if isinstance(value, Unknown) else str(value)


def _map_words(fields: dict[str, Any]) -> str:
    """Return a quantity as it was written, a figure as its number, anything else as a mapping."""
    for key in ("text", "value"):
        if key in fields and not isinstance(fields[key], dict | list):
            return _short_words(fields[key])
    pairs = ", ".join(f"{key}: {_short_words(item)}" for key, item in fields.items())
    return f"{{{pairs}}}"


def _name_at(location: Path, known: OpenFacts) -> str:
    """Return the name of what a fact is about: the device, the channel, the two ends of a lead."""
    at = 3 if location[:2] == ("setup", "radio") else 2
    if len(location) <= at:
        return str(known.tree.get("aircraft", known.tree["file"]))
    name = location[at]
    if isinstance(name, str):
        return name
    entry: Any = known.tree
    for step in location[: at + 1]:
        entry = entry[step]
    if isinstance(entry, dict):
        fields = cast("dict[str, Any]", entry)
        if "from" in fields and "to" in fields:
            return f"{fields['from']} to {fields['to']}"
        return str(fields.get("name", name + 1))
    return str(name + 1)


def entry_page(entry: RuleEntry) -> str:
    """Return the page of a rule, in Markdown: its own words under its title, or what it states."""
    parts = [f"# {entry.title}"]
    if entry.page:
        own = entry.page.strip()
        return f"{own}\n" if own.startswith("# ") else f"{parts[0]}\n\n{own}\n"
    parts.append(f"**What it looks at.** Every fact at `{entry.pick}`.")
    if entry.reason:
        parts.append(f"**Why it matters.** {_one_line(entry.reason)}")
    parts.append(f"**What to do.** {_one_line(entry.do)}")
    if entry.needs:
        needs = "; ".join(need.text or f"a fact at `{need.path}`" for need in entry.needs)
        parts.append(f"**Not checked** without {needs}.")
    return "\n\n".join(parts) + "\n"


def _line(fault: Fault) -> tuple[int, int]:
    return (fault.span.line, fault.span.column) if fault.span else (0, 0)


def _show_fault(fault: Fault) -> str:
    place = f"{fault.file}, line {fault.span.line}: " if fault.span else ""
    return plain_words(f"{place}{fault.message} {fault.do}".rstrip())
