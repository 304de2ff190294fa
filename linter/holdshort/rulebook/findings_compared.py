"""What the rules say of two setups side by side: what went, what stayed, what came."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import NamedTuple

from holdshort.analysis.renamed import Renames
from holdshort.document import Path, show_path
from holdshort.rulebook.judge import Found, Judgement, Unjudged
from holdshort.setup import Setup


class Stayed(NamedTuple):
    """A finding on both sides; its words may differ, for numbers may have changed."""

    was: Found
    now: Found


class FindingsCompared(NamedTuple):
    """What went, stayed and came, each in the order of its own judgement.

    Findings that are deferred on either side count as found, for they are. ``answered`` and
    ``asked`` are the questions that are open on the first or on the second side alone.
    """

    went: tuple[Found, ...]
    stayed: tuple[Stayed, ...]
    came: tuple[Found, ...]
    answered: tuple[Unjudged, ...]
    asked: tuple[Unjudged, ...]


def findings_compared(
    old: tuple[Setup, Judgement], new: tuple[Setup, Judgement], names: Renames
) -> FindingsCompared:
    """Match findings by rule and place; ``names`` are what the second side calls the first's.

    Entries of lists are known by what they say: a lead by its ends, a sign-off by its test.
    """
    before, after = _Places(old[0], names), _Places(new[0], Renames({}, {}))
    was, now = _all(old[1]), _all(new[1])
    pairs = _matched([before.of(one) for one in was], [after.of(one) for one in now])
    there = {later: was[earlier] for earlier, later in pairs.items()}
    asked, answered = _questions(old[1], new[1], before, after)
    return FindingsCompared(
        went=tuple(one for index, one in enumerate(was) if index not in pairs),
        stayed=tuple(Stayed(there[index], one) for index, one in enumerate(now) if index in there),
        came=tuple(one for index, one in enumerate(now) if index not in there),
        answered=answered,
        asked=asked,
    )


def _all(judgement: Judgement) -> list[Found]:
    return [*judgement.found, *(item.found for item in judgement.deferred)]


def _questions(
    old: Judgement, new: Judgement, before: "_Places", after: "_Places"
) -> tuple[tuple[Unjudged, ...], tuple[Unjudged, ...]]:
    was = [before.question(one) for one in old.unjudged]
    now = [after.question(one) for one in new.unjudged]
    pairs = _matched(was, now)
    later = set(pairs.values())
    return (
        tuple(one for index, one in enumerate(new.unjudged) if index not in later),
        tuple(one for index, one in enumerate(old.unjudged) if index not in pairs),
    )


_Mark = tuple[str, str, str, str]
"""A rule, the file, the place, and the words."""


def _matched(was: list[_Mark], now: list[_Mark]) -> dict[int, int]:
    """Return which of ``was`` are which of ``now``: equal in all first, then but for the words."""
    pairs: dict[int, int] = {}
    for length in (4, 3):
        waiting: dict[_Mark | tuple[str, ...], list[int]] = {}
        later = set(pairs.values())
        for index, mark in enumerate(now):
            if index not in later:
                waiting.setdefault(mark[:length], []).append(index)
        for index, mark in enumerate(was):
            if index not in pairs and waiting.get(mark[:length]):
                pairs[index] = waiting[mark[:length]].pop(0)
    return pairs


class _Places:
    """Says places of one setup in words that do not change with lines, order or names."""

    def __init__(self, setup: Setup, names: Renames) -> None:
        self._setup = setup
        self._names = names

    def of(self, found: Found) -> _Mark:
        place, finding = self._place(found.finding.at.path), found.finding
        own = "" if finding.at.file == self._setup.file else "other"
        return found.rule.id, own, place, finding.message

    def question(self, one: Unjudged) -> _Mark:
        at = one.not_checked.at
        own = "" if at.file == self._setup.file else "other"
        return one.rule.id, own, self._place(at.path), one.not_checked.needs

    def _place(self, path: Path) -> str:
        if len(path) > 1 and path[0] in _LISTED and isinstance(path[1], int):
            entry = next(iter(_LISTED[str(path[0])](self, path[1])), str(path[1]))
            return f"{path[0]}[{entry}]{show_path(path[2:])}"
        if len(path) > 1 and path[0] in {"devices", "failsafe"}:
            name = str(path[1])
            return show_path((path[0], self._names.devices.get(name, name), *path[2:]))
        if len(path) > 1 and path[0] == "parts":
            name = str(path[1])
            return show_path((path[0], self._names.parts.get(name, name), *path[2:]))
        return show_path(path)

    def lead(self, index: int) -> Iterator[str]:
        for cable in self._setup.cables:
            if cable.index == index:
                ends: list[str] = []
                for end in (cable.start, cable.end):
                    name = self._names.devices.get(end.device, end.device)
                    ends.append(f"{name}.{end.port.name}" if end.port else end.written)
                yield " to ".join(sorted(ends))

    def sign_off(self, index: int) -> Iterator[str]:
        for at, sign_off in self._setup.sign_offs:
            if at.path[1:2] == (index,):
                yield sign_off.test

    def observation(self, index: int) -> Iterator[str]:
        for at, observation in self._setup.observations:
            if at.path[1:2] == (index,):
                yield observation.card

    def deferral(self, index: int) -> Iterator[str]:
        for at, deferral in self._setup.deferrals:
            if at.path[1:2] == (index,):
                yield f"{deferral.rule} {deferral.at}"


_LISTED: Mapping[str, Callable[[_Places, int], Iterable[str]]] = {
    "leads": _Places.lead,
    "sign-offs": _Places.sign_off,
    "observations": _Places.observation,
    "deferrals": _Places.deferral,
}
