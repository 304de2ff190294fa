"""The rule packs that are to be used, or a sentence about why they cannot be."""

from collections.abc import Iterable

from holdshort.cli import output
from holdshort.rulebook import PackError, Rulebook, load_rulebook
from holdshort.rulebook.packs import PackName
from holdshort.rulebook.wording import sentence


def installed_rulebook(named: Iterable[PackName] = ()) -> Rulebook | None:
    """Return the built-in rules and those of ``named`` packs, or None after saying what is wrong.

    Paths of packs are seen from the current folder.
    """
    try:
        rulebook = load_rulebook(named)
    except PackError as error:
        output.say(f"Rules cannot be loaded: {sentence(str(error))}")
        return None
    if not any(True for _ in rulebook):
        output.say("No rule pack is installed: nothing can be judged.")
        return None
    return rulebook
