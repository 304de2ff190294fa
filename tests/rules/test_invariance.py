"""What may not change a finding: order of keys, comments, things that nothing depends on."""

import json
import random
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.wiring import nodes_of
from holdshort.document import Document, read_document, read_file, show_path
from holdshort.rulebook import judge, load_rulebook
from holdshort.setup import load

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
FAULTY = sorted((EXAMPLES / "faults").glob("*.yaml"))
RULEBOOK = load_rulebook()

Said = tuple[str, str, tuple[str, ...]]


def _catalogue(name: str) -> Document:
    return read_file(EXAMPLES / "faults" / name, name)


def said(text: bytes) -> list[Said]:
    """Return each finding as rule, place and the words of its message, whatever their order."""
    loaded = load(read_document(text, "drawn.yaml"), _catalogue)
    assert loaded.faults == ()
    judgement = judge(Aircraft(loaded.setup), RULEBOOK)
    assert judgement.crashes == []
    said_of_loose_things = {"unfitted-part"}
    return sorted(
        (
            found.rule.id,
            show_path(found.finding.at.path),
            tuple(sorted(found.finding.message.replace(",", "").replace(" and", "").split())),
        )
        for found in judgement.found
        if found.rule.id not in said_of_loose_things
    )


def shuffled(value: Any, source: random.Random) -> Any:
    if isinstance(value, Mapping):
        keys = list(value)
        source.shuffle(keys)
        return {key: shuffled(value[key], source) for key in keys}
    if isinstance(value, list):
        return [shuffled(item, source) for item in value]
    return value


@settings(max_examples=25)
@given(st.sampled_from(FAULTY), st.integers())
def test_the_order_of_keys_changes_no_finding(path: Path, seed: int) -> None:
    tree = read_file(path).root
    mixed = shuffled(tree, random.Random(seed))  # noqa: S311  - a shuffle for a test
    assert said(json.dumps(mixed).encode()) == said(path.read_bytes())


@settings(max_examples=25)
@given(st.sampled_from(FAULTY), st.data())
def test_comments_and_blank_lines_change_no_finding(path: Path, data: st.DataObject) -> None:
    lines = path.read_text().splitlines()
    where = data.draw(st.lists(st.integers(0, len(lines)), max_size=5))
    for index in sorted(where, reverse=True):
        lines.insert(index, data.draw(st.sampled_from(["", "# note: {", "   # - x: 1"])))
    assert said("\n".join(lines).encode()) == said(path.read_bytes())


@settings(max_examples=25)
@given(st.sampled_from(FAULTY), st.integers(1, 5))
def test_devices_that_are_wired_to_nothing_else_change_no_finding(path: Path, count: int) -> None:
    tree: dict[str, Any] = json.loads(json.dumps(read_file(path).root))
    for number in range(count):
        tree["devices"][f"lamp {number}"] = {"part": "landing-lights"}
    assert said(json.dumps(tree).encode()) == said(path.read_bytes())


def lowest_voltages(tree: Any) -> dict[str, list[float | None]]:
    """Return the voltage at each servo in each load case, to six decimals."""
    aircraft = Aircraft(load(read_document(json.dumps(tree).encode(), "x.yaml"), _catalogue).setup)
    found: dict[str, list[float | None]] = {}
    for servo in aircraft.setup.of_kind("servo"):
        volts = [one.voltage(next(nodes_of(servo))) for one in aircraft.power.results]
        found[servo.name] = [None if one is None else round(one, 6) for one in volts]
    return found


@settings(max_examples=10)
@given(st.integers())
def test_which_of_several_like_servos_stall_does_not_hang_on_the_order_of_the_file(
    seed: int,
) -> None:
    tree = read_file(FAULTY[0]).root
    mixed = shuffled(tree, random.Random(seed))  # noqa: S311  - a shuffle for a test
    assert lowest_voltages(mixed) == lowest_voltages(tree)
