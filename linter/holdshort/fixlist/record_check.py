"""A release record held against the aircraft as it is: what is no more as it was recorded."""

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any, Final, NamedTuple, cast

from holdshort.fixlist.record import FORMAT, VERSION, digest, render_record

LONGEST: Final = 64_000_000
"""Characters of a record: far more than one of an aircraft has."""


class NoRecordError(Exception):
    """What was given is no record that can be judged; the message says why."""


class ReadRecord(NamedTuple):
    """A record as it was read; ``tampered`` says how it is not as it was written, if it is not."""

    value: Mapping[str, Any]
    tampered: tuple[str, ...]

    @property
    def made(self) -> date:
        """The day as of which it is judged. Raises NoRecordError."""
        try:
            return date.fromisoformat(self.value["made"])
        except (KeyError, TypeError, ValueError) as error:
            raise NoRecordError("The record does not say of which day it is.") from error

    @property
    def file(self) -> str:
        """The name of the setup file, as seen from its own folder. Raises NoRecordError."""
        mark = self.value.get("file")
        name: object = cast("dict[str, object]", mark).get("name") if isinstance(mark, dict) else 0
        if not isinstance(name, str) or not name:
            raise NoRecordError("The record does not say of which file it is.")
        return name


class Check(NamedTuple):
    """What a verification found: ``changed`` is empty where everything is as it was recorded."""

    changed: tuple[str, ...]

    @property
    def verified(self) -> bool:
        """True where nothing has changed."""
        return not self.changed


def read_record(data: bytes) -> ReadRecord:
    """Read a record. Raises NoRecordError for what is none, or of a version not known here."""
    try:
        text = data.decode("utf-8")
        value = cast("object", json.loads(text))
    except (ValueError, RecursionError) as error:
        raise NoRecordError("This is no record: it cannot be read as JSON.") from error
    if not isinstance(value, dict):
        raise NoRecordError("This is no record of holdshort.")
    record = cast("dict[str, Any]", value)
    if record.get("format") != FORMAT:
        raise NoRecordError("This is no record of holdshort.")
    if record.get("version") != VERSION:
        raise NoRecordError(f"The record is of another version than {VERSION}.")
    return ReadRecord(record, tuple(_tampered(text, record)))


def _tampered(text: str, record: Mapping[str, Any]) -> Iterator[str]:
    try:
        if record.get("digest") != digest(record):
            yield "The record was changed after it was written: its digest does not fit."
        elif render_record(record) != text:
            yield "The record was changed after it was written: it is not laid out as it was."
    except (ValueError, RecursionError, TypeError):
        yield "The record was changed after it was written: no such record is ever made."


def check(record: ReadRecord, now: Mapping[str, Any]) -> Check:
    """Compare a record with ``now``, the one that would be made of the files as they are."""
    was = record.value
    found = [*record.tampered, *_files(was, now), *_programs(was, now), *_signed(was, now)]
    found += _listed_changes(was, now)
    if not found and dict(was) != dict(now):
        keys = [key for key in {**was, **now} if was.get(key) != now.get(key)]
        found.append(f"What is recorded is no more so: {', '.join(sorted(keys))}.")
    return Check(tuple(found))


def _files(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    yield from _marks("The setup file", [was.get("file")], [now["file"]])
    yield from _marks("The file of parts", was.get("catalogues"), now["catalogues"])
    one = [was["hangar"]] if was.get("hangar") else []
    other = [now["hangar"]] if now["hangar"] else []
    yield from _marks("The hangar file", one, other)


def _marks(kind: str, was: object, now: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    before, after = _by(was, "name"), _by(now, "name")
    for name, mark in before.items():
        if name not in after:
            yield f"{kind} `{name}` is no longer there, or no longer named."
        elif mark != after[name]:
            yield f"{kind} `{name}` has changed."
    for name in after:
        if name not in before:
            yield f"{kind} `{name}` is new."


def _programs(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    if was.get("tool") != now["tool"]:
        tool = was.get("tool")
        version = cast("dict[str, Any]", tool).get("version") if isinstance(tool, dict) else "?"
        yield f"It was made by version {version} of the tool, and this is {now['tool']['version']}."
    before, after = _by(was.get("packs"), "name"), _by(now["packs"], "name")
    for name in {**before, **after}:
        if name not in after:
            yield f"The rule pack `{name}` is not used any more."
        elif name not in before:
            yield f"The rule pack `{name}` is new."
        elif before[name] != after[name]:
            yield f"The rule pack `{name}` has changed."


def _signed(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    before, after = _by(was.get("signed"), "test"), _by(now["signed"], "test")
    for name, test in before.items():
        if name not in after:
            yield f"The test `{name}` is no longer asked."
        elif test.get("standing") != after[name]["standing"]:
            then = test.get("standing")
            yield f"The sign-off of `{name}` was {then}, and is now {after[name]['why']}."
        elif _but_proof(test) == _but_proof(after[name]) and test != after[name]:
            yield f"What the test `{name}` proves has changed."
        elif test != after[name]:
            yield f"The sign-off of `{name}` is not the one that was recorded."
    for name in after:
        if name not in before:
            yield f"The test `{name}` is newly asked."


def _but_proof(test: Mapping[str, Any]) -> dict[str, Any]:
    return {key: item for key, item in test.items() if key != "proves_now"}


_LISTS: Final = (
    ("found", "Found"),
    ("deferred", "Deferred"),
    ("not_checked", "Not checked"),
    ("mistakes", "Mistake of form"),
    ("failed_rules", "Failed rule"),
)


def _listed_changes(was: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for key, title in _LISTS:
        before, after = _entries(was.get(key)), _entries(now[key])
        for one in before:
            if one not in after:
                yield f"{title} then, and not now: {_words(one)}."
        for one in after:
            if one not in before:
                yield f"{title} now, and not then: {_words(one)}."
    if was.get("codes") != now["codes"]:
        yield f"The codes followed are now {', '.join(now['codes']) or 'none'}."


def _words(one: Mapping[str, Any]) -> str:
    inner = one.get("finding")
    told = cast("Mapping[str, Any]", inner) if isinstance(inner, dict) else one
    words = (told.get("rule"), told.get("message") or told.get("needs"), told.get("path"))
    return ", ".join(str(word).rstrip(".") for word in words if word)


def _entries(value: object) -> list[Mapping[str, Any]]:
    """Return the mappings in a list; anything else a record was made to hold is left out."""
    items = cast("list[object]", value) if isinstance(value, list) else []
    return [cast("dict[str, Any]", item) for item in items if isinstance(item, dict)]


def _by(value: object, key: str) -> dict[str, Mapping[str, Any]]:
    return {str(one.get(key)): one for one in _entries(value)}
