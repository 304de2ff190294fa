"""The shipped examples: the clean ones have nothing held, each faulty one exactly its fault."""

from pathlib import Path

import pytest

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_file, show_path
from holdshort.rulebook import Judgement, Severity, judge, load_rulebook
from holdshort.setup import load

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LAYOUTS = Path(__file__).resolve().parents[2] / "linter" / "holdshort" / "cli" / "layouts"
COMPLETE = [EXAMPLES / "tarn-swift.yaml", EXAMPLES / "brisk-heron.yaml"]
FAULTY = sorted((EXAMPLES / "faults").glob("*.yaml"))

PLACES = {
    "regulator-above-servo-rating": "devices.regulator-1.output",
    "backup-receiver-without-power-only-feed": "leads[5]",
    "gyro-mounting-mismatch": "devices.gyro-left.told",
    "channel-without-failsafe": "failsafe.rear-rx",
}


def judged(path: Path) -> Judgement:
    def read(name: str) -> Document:
        return read_file(path.parent / name, name)

    loaded = load(read_file(path), read)
    assert loaded.faults == ()
    return judge(Aircraft(loaded.setup), load_rulebook())


def held(judgement: Judgement) -> list[str]:
    """Return the rules that hold something; a note holds nothing."""
    return [item.rule.id for item in judgement.found if item.severity is not Severity.NOTE]


def told(judgement: Judgement) -> list[tuple[str, str]]:
    """Return every rule that found something, with how grave it is."""
    return [(item.rule.id, item.severity.word) for item in judgement.found]


# One receiver is a single point by nature: a note up to 15 kg without a turbine. With two of
# everything there is nothing to tell.
_ONE_RECEIVER = [("single-failure-loses-control", "note")]
NOTES: dict[str, list[tuple[str, str]]] = {
    "tarn-swift": [],
    "brisk-heron": _ONE_RECEIVER,
    "electric-fan": _ONE_RECEIVER,
    "glider": _ONE_RECEIVER,
    "single-receiver": _ONE_RECEIVER,
    "two-supplies": _ONE_RECEIVER,
    "two-receivers": [],
    "two-receivers-gyro": [],
}


# The tests that were done and the logs of them are kept elsewhere: an example that was signed for
# would be out of date on the next day of flying.
UNJUDGED = {
    "tarn-swift": ["sign-off-missing", "log-shows-dip"],
    "brisk-heron": ["sign-off-missing"],
}

# What each study is there to show, and why it must be found:
STUDIES = {
    "one-pack-jet": {
        "engine-shares-receiver-battery",  # one pack behind the controller and the regulator
        "single-failure-loses-control",  # one pack, regulator, receiver at the hub, gyro
        "backup-shares-supply",  # the rear receiver has no supply but the lead from the front one
        "battery-too-small",  # 5 Ah x 0.8 at 6.1 A is under the hour that P2 recommends
    },
    "one-lead-six-surfaces": {
        "backup-receiver-without-power-only-feed",  # the gyro hangs on its bus lead alone
        "single-failure-loses-control",
        "plug-feeds-too-much",  # eight servos through one servo plug
        "wire-overloaded",
    },
    "throttle-reversed-later": {
        "throttle-trim-not-stop",  # reversed after the controller learned its pulses
        "throttle-failsafe-not-closed",  # -100 % of a reversed channel is the long pulse
        "failsafe-older-than-travel",  # set on 3 May, reversed on 6 May
        "single-failure-loses-control",
    },
    "petrol-two-packs": {"single-failure-loses-control"},  # the box, and the one receiver
    "electric-fan": set[str](),  # below 15 kg with one receiver: a note
}


@pytest.mark.parametrize("name", STUDIES)
def test_each_study_shows_what_it_is_there_to_show(name: str) -> None:
    judgement = judged(EXAMPLES / "studies" / f"{name}.yaml")
    assert set(held(judgement)) == STUDIES[name]
    assert judgement.crashes == []


def test_one_lead_of_the_study_takes_every_flight_surface() -> None:
    path = EXAMPLES / "studies" / "one-lead-six-surfaces.yaml"
    found = {item.rule.id: item.finding for item in judged(path).found}
    finding = found["backup-receiver-without-power-only-feed"]
    assert "`front-rx.9` to `gyro.bus`" in finding.message
    assert "All 8 servos" in finding.message


@pytest.mark.parametrize("path", COMPLETE, ids=lambda path: path.stem)
def test_complete_examples_have_nothing_found_and_only_evidence_unjudged(path: Path) -> None:
    judgement = judged(path)
    assert told(judgement) == NOTES[path.stem]
    assert [item.rule.id for item in judgement.unjudged] == UNJUDGED[path.stem]
    assert judgement.crashes == []
    assert judgement.clean


def test_the_smallest_file_gives_the_first_checks_and_says_what_else_is_missing() -> None:
    judgement = judged(EXAMPLES / "minimal.yaml")
    assert judgement.crashes == []
    # Two receivers on one pack and one gyro: what the first checks are not there to judge.
    assert set(held(judgement)) == {"single-failure-loses-control"}
    assert judgement.unjudged
    assert {rule.id for rule in judgement.clean} >= set(PLACES)


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
    assert told(judgement) == NOTES[path.stem]
    assert judgement.crashes == []
