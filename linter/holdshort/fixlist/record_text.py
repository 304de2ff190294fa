"""A release record in words, for a terminal or to print.

All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from holdshort.fixlist.paragraphs import paragraph


def render_text(record: Mapping[str, Any]) -> str:
    """Return a record, as :func:`holdshort.fixlist.record.record_value` makes it, as text."""
    blocks = [
        [*paragraph(record["says"]), *paragraph(record["note"])],
        _marks(record),
        _results(record),
        *(_block(title, lines) for title, lines in _lists(record)),
        [line for caution in record["cautions"] for line in paragraph(caution)],
        paragraph(f"Digest of this record: {record['digest']}"),
    ]
    return "\n".join("".join(f"{line}\n" for line in block) for block in blocks if block)


def _marks(record: Mapping[str, Any]) -> list[str]:
    lines = paragraph(f"Aircraft: {record['aircraft'] or 'without a name'}")
    lines += paragraph(f"Judged as of {record['made']}")
    lines += paragraph(f"Tool: {record['tool']['name']} {record['tool']['version']}")
    lines += paragraph(f"Codes followed: {', '.join(record['codes']) or 'none'}")
    lines.append("Fingerprints (SHA-256):")
    lines += _mark("setup file", record["file"])
    for one in record["catalogues"]:
        lines += _mark("file of parts", one)
    if record["hangar"]:
        lines += _mark("hangar file", record["hangar"])
    for pack in record["packs"]:
        version = f" {pack['version']}" if pack["version"] else ""
        name = f"{pack['name']}{version}, {pack['files']} files"
        lines += _mark("rule pack", {"name": name, "sha256": pack["sha256"]})
    return lines


def _mark(kind: str, mark: Mapping[str, Any]) -> list[str]:
    return [*paragraph(f"{kind}: {mark['name']}", "  ", "    "), *paragraph(mark["sha256"], "    ")]


def _results(record: Mapping[str, Any]) -> list[str]:
    held = record["nothing_held_up_to"]
    words = (
        f"Up to and with {held} nothing that was judged is held, and no question is open."
        if held
        else "There is no hold point up to which nothing is held and no question is open."
    )
    counts = [
        f"{point}: {one['held']} held, {one['not_checked']} not checked"
        for point, one in record["hold_points"].items()
    ]
    rules = record["rules"]
    told = (
        f"Rules: {len(rules['clean'])} judged and had nothing to say, "
        f"{len(rules['nothing_to_judge'])} had nothing to judge, {len(rules['spoke'])} found "
        "something or could not judge."
    )
    return [*paragraph(words), *_listed(counts), *paragraph(told)]


def _lists(record: Mapping[str, Any]) -> Iterator[tuple[str, list[str]]]:
    yield (
        "Mistakes of form",
        _listed(f"{one['message']} ({_where(one)})" for one in record["mistakes"]),
    )
    yield (
        "Rules that failed",
        _listed(f"{one['rule']}, of pack {one['pack']}" for one in record["failed_rules"]),
    )
    yield "Found", _listed(map(_finding, record["found"]))
    yield (
        "Deferred: found, and accepted for now",
        _listed(_deferred(one) for one in record["deferred"]),
    )
    yield (
        "Not checked",
        _listed(
            f"needs {one['needs']} ({_where(one)}, {one['rule']})" for one in record["not_checked"]
        ),
    )
    yield "Tests", _listed(map(_test, record["signed"]))
    yield (
        "Tests not asked of this aircraft",
        _listed(f"{name}: {why}" for name, why in record["not_asked"].items()),
    )
    yield "Signed for, and no test that is known", _listed(record["unknown_tests"])


def _finding(one: Mapping[str, Any]) -> str:
    return (
        f"{one['severity']} before {one['hold']}: {one['message']} ({_where(one)}, {one['rule']})"
    )


def _deferred(one: Mapping[str, Any]) -> str:
    who = f"{one['by']} and {one['second']}" if one["second"] else one["by"]
    return f"{_finding(one['finding'])}. Accepted by {who} until {one['until']}: {one['reason']}"


def _where(one: Mapping[str, Any]) -> str:
    return f"{one['file']}:{one['line']}" if one["line"] else str(one["file"])


def _test(one: Mapping[str, Any]) -> str:
    second = f", with {one['second']}" if one["second"] else ""
    mark = f"; fingerprint {one['fingerprint']}" if one["fingerprint"] else ""
    figures = "".join(f"; {name} {value}" for name, value in one["figures"].items())
    return f"{one['test']}: {one['why']}{second}{figures}{mark}"


def _block(title: str, lines: list[str]) -> list[str]:
    return [f"{title} ({_entries(lines)})", *lines] if lines else []


def _entries(lines: list[str]) -> int:
    return sum(line.startswith("  ") and not line.startswith("    ") for line in lines)


def _listed(texts: Iterable[str]) -> list[str]:
    return [line for text in texts for line in paragraph(text, "  ", "    ")]
