"""An aircraft that was judged is gone at once, without waiting for the collector of garbage."""

import gc
import weakref
from pathlib import Path

from holdshort.analysis import Aircraft
from holdshort.cli.files import Files
from holdshort.document import read_file
from holdshort.rulebook import load_rulebook
from holdshort.rulebook.judge import judge
from holdshort.setup import load

EXAMPLE = str(Path(__file__).resolve().parents[2] / "examples" / "tarn-swift.yaml")


def example() -> Aircraft:
    """Return the complete example, nothing computed yet."""
    return Aircraft(load(read_file(EXAMPLE), Files().catalogue_reader(EXAMPLE)).setup)


def test_a_judged_aircraft_goes_when_it_is_let_go() -> None:
    aircraft = example()
    judgement = judge(aircraft, load_rulebook())
    kept = [weakref.ref(found) for found in (aircraft, aircraft.failures, aircraft.power)]
    gc.disable()
    try:
        aircraft.forget()
        del aircraft
        assert [one() for one in kept] == [None, None, None]
    finally:
        gc.enable()
    assert judgement.ran


def test_without_letting_go_studies_hold_the_aircraft() -> None:
    """Else the test above would show nothing."""
    aircraft = example()
    judge(aircraft, load_rulebook())
    kept = weakref.ref(aircraft)
    gc.disable()
    try:
        del aircraft
        assert kept() is not None
    finally:
        gc.enable()


def test_what_was_forgotten_is_computed_anew_and_the_same() -> None:
    aircraft = example()
    first = judge(aircraft, load_rulebook())
    aircraft.forget()
    again = judge(aircraft, load_rulebook())
    assert again.found == first.found
    assert again.unjudged == first.unjudged
    assert again.clean == first.clean
