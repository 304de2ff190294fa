"""The shipped examples: the clean ones have nothing held, each faulty one exactly its fault."""

from pathlib import Path

import pytest

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_file, show_path
from holdshort.rulebook import Judgement, judge, load_rulebook
from holdshort.setup import load

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LAYOUTS = Path(__file__).resolve().parents[2] / "linter" / "holdshort" / "cli" / "layouts"
CLEAN = sorted(EXAMPLES.glob("*.yaml"))
FAULTY = sorted((EXAMPLES / "faults").glob("*.yaml"))

PLACES = {
    "regulator-above-servo-rating": "devices.regulator.output",
    "backup-receiver-without-power-only-feed": "leads[5]",
    "gyro-mounting-mismatch": "devices.gyro.told",
    "channel-without-failsafe": "failsafe.rear-rx",
}


def judged(path: Path) -> Judgement:
    def read(name: str) -> Document:
        return read_file(path.parent / name, name)

    loaded = load(read_file(path), read)
    assert loaded.faults == ()
    return judge(Aircraft(loaded.setup), load_rulebook())


@pytest.mark.parametrize("path", CLEAN, ids=lambda path: path.stem)
def test_clean_examples_have_nothing_found_and_nothing_unjudged(path: Path) -> None:
    judgement = judged(path)
    assert judgement.found == []
    assert judgement.unjudged == []
    assert judgement.crashes == []
    assert judgement.clean


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_each_faulty_example_has_exactly_its_fault(path: Path) -> None:
    judgement = judged(path)
    found = [(item.rule.id, show_path(item.finding.at.path)) for item in judgement.found]
    assert found == [(path.stem, PLACES[path.stem])]


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_a_faulty_example_is_the_clean_aircraft_but_for_one_change(path: Path) -> None:
    clean = read_file(EXAMPLES / "tarn-swift.yaml").root
    faulty = read_file(path).root
    changed = [key for key in clean if clean[key] != faulty[key] and key != "catalogues"]
    assert len(changed) == 1


def test_there_is_a_faulty_example_for_each_of_the_first_checks() -> None:
    assert {path.stem for path in FAULTY} >= set(PLACES)


@pytest.mark.parametrize("path", sorted(LAYOUTS.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_layout_to_start_from_has_nothing_found(path: Path) -> None:
    judgement = judged(path)
    assert judgement.found == []
    assert judgement.crashes == []
