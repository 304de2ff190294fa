"""Starting a rule: its failing case first, then the rule, its page and its source to write."""

import re
from pathlib import Path
from typing import Final

TO_WRITE: Final = "TO WRITE"
"""What stands in a scaffold where words are missing; the sweep finds what is left of it."""

DATA_PACK: Final = "rules.yaml"
"""The YAML pack that is started in a folder."""

_CASE: Final = """\
# The case first: what the rule must say of a small aircraft, worked out from the trade and not
# from what the rule prints.
rule: {id}
base:
  holdshort: 1
  parts:
    box: {{kind: receiver, ports: {{1..6: servo, supply: supply}}}}
  devices:
    front: {{part: box}}
cases:
  - name: "TO WRITE: what must be found"
    finds:
      - {{at: devices.front, says: ["TO WRITE: the number or name that the message must hold"]}}
  - name: "TO WRITE: what must pass"
    change: {{}}   # JSON Merge Patch (RFC 7396) on the base
    passes: true
  - name: "TO WRITE: what cannot be judged"
    cannot-judge:
      - {{needs: "TO WRITE: the missing fact"}}
  - name: nothing to judge
    change: {{devices: {{front: null}}}}
    nothing-to-judge: true
"""

_PAGE: Final = """\
# TO WRITE: the condition, in words

**What it looks at.** TO WRITE

**Why it matters.** TO WRITE

**What to do.** TO WRITE

**What it cannot see.** TO WRITE

**Not checked** when TO WRITE
"""

_RULE: Final = '''\
"""TO WRITE: the subject of these rules."""

from collections.abc import Iterator

from holdshort.api import Aircraft, Clean, Hold, Outcome, Severity, Source, rule

SOURCES = {{
    "{id}-source": Source(
        "{id}-source",
        "TO WRITE: where this comes from",
        "common practice",  # or: read, read second-hand, from memory, derived
    ),
}}


@rule(
    "{id}",
    title="TO WRITE: the condition, in words",
    severity=Severity.CAUTION,  # WARNING: may injure or lose the aircraft; NOTE: worth knowing
    hold=Hold.FLIGHT,  # what may not happen until it is dealt with: POWER_UP, ENGINE_RUN, FLIGHT
    subject="club",
    sources=("{id}-source",),
)
def {name}(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether TO WRITE."""
    for receiver in aircraft.setup.of_kind("receiver"):
        # Yield Finding(at, message, do), NotChecked(at, needs) or Clean(at) for each.
        yield Clean(receiver.at())


RULES = ({name},)
'''

_PACK: Final = '''\
"""The rules of {folder}."""

import re
from pathlib import Path

from holdshort.api import API_VERSION, Pack

from . import {name}

_HERE = Path(__file__).parent

pack = Pack(
    name="{folder}",
    api=API_VERSION,
    rules=(*{name}.RULES,),
    sources={{**{name}.SOURCES}},
    pages=_HERE / "pages",
    cases=_HERE / "cases",
)
'''


_DATA_PACK: Final = """\
# The rules of {folder}: each picks facts (`holdshort show facts` prints them) and says what must
# hold of every one of them.
holdshort-rules: 1
name: "{folder}"

sources:
{source}
rules:
{rule}"""

_DATA_SOURCE: Final = """\
  # confidence: read, read second-hand, from memory, derived or common practice
  {id}-source: {{text: "TO WRITE: where this comes from", confidence: common practice}}
"""

_DATA_RULE: Final = """\
  - id: {id}
    title: "TO WRITE: the condition, in words"
    severity: caution    # warning: may injure or lose the aircraft; note: worth knowing
    hold: flight         # what may not happen until it is dealt with: power-up, engine-run, flight
    subject: club
    pick: $.computed.devices.front.kind   # JSONPath (RFC 9535)
    must: {{type: string}}                  # JSON Schema (2020-12)
    message: "TO WRITE: what is wrong with `{{name}}`, with its numbers: {{value}}"
    reason: "TO WRITE: why it matters"
    do: "TO WRITE: what to do"
    sources: [{id}-source]
"""


def data_scaffold(rule_id: str, folder: Path) -> dict[Path, str]:
    """Return the files that start a rule in the YAML pack of ``folder``, by path, case first.

    Where the pack is there already, only the case: :func:`data_to_add` is what to add to it.
    """
    files = {folder / "cases" / f"{rule_id}.yaml": _CASE.format(id=rule_id)}
    pack = folder / DATA_PACK
    if not pack.exists():
        source, rule = _DATA_SOURCE.format(id=rule_id), _DATA_RULE.format(id=rule_id)
        title = _title(folder)
        files[pack] = _DATA_PACK.format(folder=title, source=source, rule=rule)
    return files


def data_to_add(rule_id: str) -> str:
    """Return what to add to the YAML pack that is there already, as lines of it."""
    source, rule = _DATA_SOURCE.format(id=rule_id), _DATA_RULE.format(id=rule_id)
    return f"sources:\n{source}rules:\n{rule}"


def scaffold(rule_id: str, folder: Path) -> dict[Path, str]:
    """Return the files that start a rule in the Python pack of ``folder``, by path, case first.

    Where the folder is no pack yet, that of the pack is among them.
    """
    name = rule_id.replace("-", "_")
    title = _title(folder)
    files = {
        folder / "cases" / f"{rule_id}.yaml": _CASE.format(id=rule_id),
        folder / f"{name}.py": _RULE.format(id=rule_id, name=name),
        folder / "pages" / f"{rule_id}.md": _PAGE,
    }
    if not (folder / "__init__.py").exists():
        files[folder / "__init__.py"] = _PACK.format(folder=title, name=name)
    return files


def _title(folder: Path) -> str:
    """Return what a pack in ``folder`` is called: words that need no quoting anywhere."""
    return re.sub(r"[^A-Za-z0-9_-]+", "-", folder.resolve().name).strip("-") or "our-rules"


def what_to_add(rule_id: str) -> str:
    """Return what to add to the ``__init__.py`` of a pack that is there already."""
    name = rule_id.replace("-", "_")
    return (
        f"`from . import {name}`, `*{name}.RULES` among its rules "
        f"and `**{name}.SOURCES` among its sources"
    )
