"""``holdshort rules new``: start a rule, with the case that it fails."""

import argparse
from pathlib import Path

from holdshort.cli import output
from holdshort.rulebook.declare import RULE_ID
from holdshort.testkit.scaffold import (
    DATA_PACK,
    data_scaffold,
    data_to_add,
    scaffold,
    what_to_add,
)


def run(arguments: argparse.Namespace) -> int:
    """Write the files that start a rule; nothing that is there already is replaced."""
    rule_id: str = arguments.rule
    if not RULE_ID.fullmatch(rule_id):
        output.say(
            f"`{rule_id}` names no rule: an id is two or more lower-case words joined by hyphens, "
            "such as `tail-light-missing`."
        )
        return 2
    folder = Path(arguments.output)
    pack = folder / (DATA_PACK if arguments.yaml else "__init__.py")
    was_there = pack.exists()
    files = data_scaffold(rule_id, folder) if arguments.yaml else scaffold(rule_id, folder)
    if not _written(files):
        return 2
    lines = [str(file) for file in files]
    if was_there:
        lines += [
            f"Add to {pack}:",
            data_to_add(rule_id) if arguments.yaml else what_to_add(rule_id),
        ]
    named = _named(pack if arguments.yaml else folder)
    lines.append(f"Its cases fail until it is written: `holdshort rules test {named}`.")
    output.write("".join(f"{line}\n" for line in lines))
    return 0


def _written(files: dict[Path, str]) -> bool:
    """Write new files, none of which may be there already; say what is in the way."""
    there = [file for file in files if file.exists() or file.is_symlink()]
    if there:
        output.say(f"{there[0]} exists already; nothing was written.")
        return False
    for file, text in files.items():
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
            with file.open("x", encoding="utf-8") as stream:
                stream.write(text)
        except (OSError, ValueError) as error:
            reason = error.strerror if isinstance(error, OSError) else str(error)
            output.say(f"{file} could not be written: {reason}.")
            return False
    return True


def _named(folder: Path) -> str:
    return str(folder) if folder.is_absolute() else f"./{folder}"
