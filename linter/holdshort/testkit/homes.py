"""Which pack a case file belongs to."""

import os
from pathlib import Path

from holdshort.document import DocumentError, read_file
from holdshort.rulebook.blame import root_of
from holdshort.rulebook.data_rules import RULES_KEY
from holdshort.rulebook.packs import entry_points


def pack_of_cases(case_file: Path) -> str | None:
    """Return the name by which to load the pack that ``<pack>/cases/<rule id>.yaml`` lies in.

    An installed pack is named by its entry point, so that it is loaded as it is when it is used.
    None where the file lies in no pack. Nothing of the pack is run.
    """
    home = case_file.resolve().parent.parent
    if not (home / "__init__.py").is_file():
        return _data_pack(home, case_file.stem)
    for name, target in entry_points():
        root = root_of(target.partition(":")[0])
        if root and os.path.realpath(root) == str(home):
            return name
    return str(home)


def _data_pack(folder: Path, rule_id: str) -> str | None:
    """Return the YAML pack in a folder that has the rule, or None."""
    for file in sorted(folder.glob("*.yaml")):
        try:
            root = read_file(file).root
        except DocumentError:
            continue
        rules = root.get("rules")
        if RULES_KEY not in root or not isinstance(rules, list):
            continue
        if any(isinstance(rule, dict) and rule.get("id") == rule_id for rule in rules):
            return str(file)
    return None
