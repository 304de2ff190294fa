"""Who decides what is sent in each loss, how soon the engine acts, and where surfaces stand."""

import json
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.facts import Need
from holdshort.analysis.failsafe_values import understood
from holdshort.analysis.link_loss import LinkLoss
from holdshort.document import Document, read_document
from holdshort.setup import load
from holdshort.testkit import merge_patch

PARTS: dict[str, Any] = {
    "rx": {
        "kind": "receiver",
        "ports": {"1..9": "servo", "out-1..6": "bus-out", "in-1..6": "bus-in"},
    },
    "hub": {"kind": "hub", "ports": {"1..9": "servo", "out-1..6": "bus-out", "in-1..6": "bus-in"}},
    "ecu": {"kind": "engine-controller", "delay": "0.5 s", "on-signal-loss": "stop"},
    "servo": {"kind": "servo"},
}
BENCH: dict[str, Any] = {
    "holdshort": 1,
    "parts": PARTS,
    "devices": {
        "front": {"part": "rx"},
        "rear": {"part": "rx"},
        "gyro": {"part": "hub"},
        "engine": {
            "part": "ecu",
            "learned": {"stop": "1100 us", "idle": "1200 us", "full": "1900 us"},
        },
        "elev": {"part": "servo"},
    },
    "leads": [
        {"from": "rear.out-1", "to": "front.in-1"},
        {"from": "front.out-1", "to": "gyro.in-1"},
        {"from": "gyro.2", "to": "elev"},
        {"from": "gyro.3", "to": "engine.throttle"},
    ],
    "radio": {
        "links": {"main": {"heard-by": "front"}, "second": {"heard-by": "rear"}},
        "pulse": {"centre": "1500 us", "full": "500 us"},
        "sense": {"throttle": "longer"},
        "channels": {
            "2": {"drives": "elevator", "travel": "80 %"},
            "3": {"drives": "throttle", "travel": "80 %"},
        },
    },
    "failsafe": {
        "front": {"after": "1.0 s", "channels": {"2": "20 %", "3": "stop"}},
        "rear": {"after": "0.8 s", "channels": {"2": "20 %", "3": "stop"}},
        "gyro": {"passes-on": True},
    },
    "surfaces": {"elevator": {"servo": "elev", "longer-pulse": "up"}},
}


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def loss_of(change: dict[str, Any] | None = None) -> LinkLoss:
    tree = merge_patch(BENCH, change or {})
    loaded = load(read_document(json.dumps(tree).encode(), "bench.yaml"), _no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup).link_loss


def test_the_cases_of_two_links_and_a_box_between() -> None:
    found = [case.id for case in loss_of().cases]
    assert found == ["link main", "link second", "all links", "silent gyro"]


def test_one_link_is_all_links() -> None:
    found = loss_of({"radio": {"links": {"second": None}}}).cases
    assert [case.id for case in found] == ["all links", "silent gyro"]
    assert found[0].deaf == {"front", "rear"}


def test_joined_receivers_work_while_one_link_does() -> None:
    loss = loss_of()
    main, second, everything, _ = loss.cases
    assert loss.deciders("front", main) == ()
    assert loss.deciders("gyro", main) == ()
    assert loss.deciders("gyro", second) == ()
    assert loss.deciders("rear", second) == ("rear",)  # nothing comes to the rear one by bus
    assert loss.deciders("gyro", everything) == ("front",)


def test_a_receiver_of_its_own_goes_by_itself() -> None:
    loss = loss_of({"leads": BENCH["leads"][1:]})
    main = loss.cases[0]
    assert loss.deciders("front", main) == ("front",)
    assert loss.deciders("gyro", main) == ("front",)
    assert loss.deciders("rear", main) == ()


def test_a_hub_with_values_of_its_own_decides() -> None:
    change = {"failsafe": {"gyro": {"passes-on": False, "channels": {"3": "1900 us"}}}}
    loss = loss_of(change)
    assert loss.deciders("gyro", loss.all_lost) == ("gyro",)
    end = loss.throttle_ends(3)[0]
    output = loss.outputs(end, loss.all_lost)[0]
    assert output.pulse == pytest.approx(1900e-6)
    assert not isinstance(output.engine, Need)
    assert output.engine is not None
    assert output.engine.words == "100 % power"


def test_two_receivers_on_a_hub_that_passes_on_may_either_decide() -> None:
    leads = [{"from": "rear.out-1", "to": "gyro.in-2"}, *BENCH["leads"][1:]]
    loss = loss_of({"leads": leads})
    assert set(loss.deciders("gyro", loss.all_lost)) == {"front", "rear"}
    assert loss.deciders("gyro", loss.cases[0]) == ()


def test_a_bus_through_a_y_lead_joins_two_hubs() -> None:
    change = {
        "parts": {"y": {"kind": "splitter"}},
        "devices": {"y": {"part": "y"}, "second": {"part": "hub"}},
        "leads": [
            {"from": "front.out-1", "to": "y.in"},
            {"from": "y.out-1", "to": "gyro.in-1"},
            {"from": "y.out-2", "to": "second.in-1"},
            *BENCH["leads"][2:],
        ],
        "failsafe": {"second": {"passes-on": True}},
    }
    loss = loss_of(change)
    assert loss.heard("gyro") == loss.heard("second") == {"front"}
    assert loss.deciders("second", loss.all_lost) == ("front",)


def test_a_receiver_that_passes_on_and_hears_nothing_sends_nothing() -> None:
    loss = loss_of({"failsafe": {"front": {"passes-on": True, "channels": None}}, "leads": [
        {"from": "front.3", "to": "engine.throttle"}]})  # fmt: skip
    output = loss.outputs(loss.throttle_ends(3)[0], loss.all_lost)[0]
    assert (output.decider, output.action) == ("front", "no-pulse")


def test_a_box_whose_input_is_silent_sends_nothing_where_it_passes_on() -> None:
    loss = loss_of()
    silent = loss.cases[-1]
    end = loss.throttle_ends(3)[0]
    output = loss.outputs(end, silent)[0]
    assert (output.decider, output.action, output.pulse) == ("gyro", "no-pulse", None)
    assert not isinstance(output.engine, Need)
    assert output.engine is not None
    assert output.engine.words == "stop"
    assert loss.deciders("front", silent) == ()


def test_what_comes_out_by_hand() -> None:
    # stop: 1500 - 500 x 0.8 = 1100 us; elevator 20 %: 1500 + 500 x 0.8 x 0.2 = 1580 us
    loss = loss_of()
    outputs = {
        end.device.name: loss.outputs(end, loss.all_lost)[0]
        for end in loss.ends
        if end.channel is not None
    }
    assert outputs["engine"].pulse == pytest.approx(1100e-6)
    assert outputs["elev"].pulse == pytest.approx(1580e-6)
    (stand,) = outputs["elev"].deflections
    assert (stand.surface, stand.toward) == ("elevator", "up")
    assert stand.share == pytest.approx(0.2)


def test_a_reversed_output_turns_the_surface_round() -> None:
    loss = loss_of({"devices": {"gyro": {"ports": {"2": {"reversed": True}}}}})
    end = next(end for end in loss.ends if end.device.name == "elev")
    output = loss.outputs(end, loss.all_lost)[0]
    assert output.pulse == pytest.approx(1420e-6)  # 2 x 1500 - 1580
    assert output.deflections[0].toward == "down"
    assert output.deflections[0].share == pytest.approx(0.2)


def test_a_surface_whose_sense_is_not_declared_has_no_way() -> None:
    loss = loss_of({"surfaces": {"elevator": {"longer-pulse": None}}})
    end = next(end for end in loss.ends if end.device.name == "elev")
    assert loss.outputs(end, loss.all_lost)[0].deflections[0].toward == ""


def test_the_waits_by_hand() -> None:
    loss = loss_of()
    time = loss.time(loss.throttle_ends(3)[0], loss.all_lost)
    assert [part.device for part in time.parts] == ["front", "engine"]
    assert time.since_loss == pytest.approx(1.5)
    assert time.since_failsafe == pytest.approx(0.5)
    silent = loss.time(loss.throttle_ends(3)[0], loss.cases[-1])
    assert silent.since_loss == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("microseconds", "words"),
    [
        (900, "stop"),
        (1100, "stop"),
        (1119, "stop"),
        (1150, "idle"),
        (1219, "idle"),
        (1550, "50 % power"),
        (1900, "100 % power"),
        (2100, "100 % power"),
    ],
)
def test_what_an_engine_makes_of_a_pulse(microseconds: float, words: str) -> None:
    engine = loss_of().setup.devices["engine"]
    found = understood(engine, microseconds * 1e-6)
    assert not isinstance(found, Need)
    assert found.words == words


@given(st.floats(800e-6, 2200e-6))
def test_an_engine_taught_the_other_way_round_makes_the_same_of_mirrored_pulses(
    pulse: float,
) -> None:
    learned = {"stop": "1900 us", "idle": "1800 us", "full": "1100 us"}
    turned = loss_of({"devices": {"engine": {"learned": learned}}}).setup.devices["engine"]
    straight = loss_of().setup.devices["engine"]
    one, other = understood(straight, pulse), understood(turned, 3000e-6 - pulse)
    assert not isinstance(one, Need)
    assert not isinstance(other, Need)
    assert one.kind == other.kind
    assert (one.share or 0.0) == pytest.approx(other.share or 0.0, abs=1e-6)


@given(st.lists(st.floats(900e-6, 2100e-6), min_size=2, max_size=8))
def test_a_longer_pulse_never_means_less_power(pulses: list[float]) -> None:
    engine = loss_of().setup.devices["engine"]
    order = {"stop": -2.0, "idle": -1.0}
    ranks: list[float] = []
    for pulse in sorted(pulses):
        found = understood(engine, pulse)
        assert not isinstance(found, Need)
        ranks.append(order.get(found.kind, found.share or 0.0))
    assert ranks == sorted(ranks)


holds = st.integers(0, 50).map(lambda tenths: tenths / 10)


@settings(max_examples=60)
@given(
    st.fixed_dictionaries({"front": holds, "rear": holds, "gyro": holds, "engine": holds}),
    st.sampled_from(("front", "rear", "gyro", "engine")),
    holds,
    st.booleans(),
)
def test_a_longer_hold_never_makes_the_engine_act_sooner(
    waits: dict[str, float], longer: str, more: float, decides: bool
) -> None:
    def times(seconds: dict[str, float]) -> tuple[float, float]:
        own = {"passes-on": False, "channels": {"3": "stop"}} if decides else {}
        after = {box: {"after": f"{value:.1f} s"} for box, value in seconds.items()}
        loss = loss_of({"failsafe": {**after, "gyro": {**after["gyro"], **own}}})
        time = loss.time(loss.throttle_ends(3)[0], loss.all_lost)
        assert time.needs == ()
        return time.since_loss, time.since_failsafe

    before = times(waits)
    after = times({**waits, longer: waits[longer] + more})
    assert after[0] >= before[0] - 1e-9
    assert after[1] >= before[1] - 1e-9
    # by hand: the longest hold of the two receivers, the hub's where it decides, the engine's
    hub = waits["gyro"] if decides else 0.0
    assert before[1] == pytest.approx(hub + waits["engine"])
    assert before[0] == pytest.approx(max(waits["front"], waits["rear"]) + hub + waits["engine"])


BOXES = ("rx1", "rx2", "rx3", "hub1", "hub2")


@st.composite
def buses(draw: st.DrawFn) -> list[tuple[str, str]]:
    """Draw buses between boxes, none back to an earlier one of the order drawn."""
    order = draw(st.permutations(BOXES))
    pairs = [(one, other) for at, one in enumerate(order) for other in order[at + 1 :]]
    return draw(st.lists(st.sampled_from(pairs), max_size=6, unique=True))


@settings(max_examples=80)
@given(buses(), st.lists(st.lists(st.sampled_from(BOXES[:3]), max_size=3, unique=True), min_size=2,
                         max_size=3))  # fmt: skip
def test_who_still_hears_the_transmitter_against_networkx(
    joined: list[tuple[str, str]], heard: list[list[str]]
) -> None:
    used = dict.fromkeys(BOXES, 0)
    leads: list[dict[str, str]] = []
    for start, end in joined:
        used[start] += 1
        used[end] += 1
        leads.append({"from": f"{start}.out-{used[start]}", "to": f"{end}.in-{used[end]}"})
    tree = {
        "holdshort": 1,
        "parts": PARTS,
        "devices": {box: {"part": "rx" if box.startswith("rx") else "hub"} for box in BOXES},
        "leads": leads,
        "radio": {"links": {f"link {at}": {"heard-by": names or ["rx1"]}
                            for at, names in enumerate(heard)}},
    }  # fmt: skip
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == ()
    loss = Aircraft(loaded.setup).link_loss
    graph = nx.DiGraph(joined)
    graph.add_nodes_from(BOXES)
    links = {f"link {at}": set(names or ["rx1"]) for at, names in enumerate(heard)}
    for case in loss.cases:
        if case.silent:
            continue
        lost = {case.id.removeprefix("link ")} if case.id != "all links" else set(links)
        live = set().union(*(names for name, names in links.items() if name not in lost))
        if case.id != "all links":
            live |= set(BOXES[:3]) - set().union(*links.values())  # on no declared link
        for box in BOXES:
            upstream = {name for name in {box, *nx.ancestors(graph, box)} if name.startswith("rx")}
            deciders = loss.deciders(box, case)
            if upstream & live or not upstream:
                assert not deciders or not upstream
            else:
                assert deciders == (box,)
