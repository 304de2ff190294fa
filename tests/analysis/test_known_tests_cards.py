"""Known tests and bench cards fit together: every card belongs to one test, every test is whole."""

from pathlib import Path

from holdshort.analysis import Aircraft
from holdshort.analysis.cards import card_sheet
from holdshort.analysis.known_test_conditions import CONDITIONS
from holdshort.analysis.known_tests import KNOWN_TESTS
from holdshort.document import read_file
from holdshort.setup import load
from holdshort.setup.evidence import TEST
from holdshort_rules.sources import SOURCES

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def test_every_bench_card_is_taken_by_exactly_one_test() -> None:
    setup = load(
        read_file(EXAMPLES / "tarn-swift.yaml"), lambda name: read_file(EXAMPLES / name, name)
    ).setup
    sheet = card_sheet(Aircraft(setup))
    cards = [card.name for group in sheet.groups for card in group.cards]
    taken = {card: [test.name for test in KNOWN_TESTS if test.takes_card(card)] for card in cards}
    assert {card: names for card, names in taken.items() if len(names) != 1} == {}
    assert {name for names in taken.values() for name in names} == {
        test.name for test in KNOWN_TESTS if test.cards
    }


def test_names_can_be_written_in_a_file_and_are_told_apart() -> None:
    names = [test.name for test in KNOWN_TESTS]
    assert all(TEST.fits(name) for name in names)
    assert len(set(names)) == len(names)


def test_what_a_test_names_is_there() -> None:
    names = {test.name for test in KNOWN_TESTS}
    for test in KNOWN_TESTS:
        assert set(test.after) <= names
        assert test.applies in CONDITIONS
        assert test.source in SOURCES
    assert {test.applies for test in KNOWN_TESTS} == set(CONDITIONS)


def test_every_figure_has_an_example_that_it_may_be() -> None:
    for test in KNOWN_TESTS:
        for figure in test.figures:
            example = figure.kind.read(figure.kind.dimension.example)
            assert figure.low <= example <= figure.high
