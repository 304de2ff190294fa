"""The rule packs that are installed, or a sentence about why they cannot be used."""

from holdshort.cli import output
from holdshort.rulebook import PackError, Rulebook, load_rulebook


def installed_rulebook() -> Rulebook | None:
    """Return the rules of all installed packs, or None after saying what is wrong."""
    try:
        rulebook = load_rulebook()
    except PackError as error:
        output.say(f"Rules cannot be loaded: {error}.")
        return None
    if not any(True for _ in rulebook):
        output.say("No rule pack is installed: nothing can be judged.")
        return None
    return rulebook
