"""The wiring diagram as text and as JSON, and where findings stand in it."""

import json
from pathlib import Path
from typing import Any, cast

import jsonschema
import pytest

import holdshort.fixlist
from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document
from holdshort.fixlist.diagram_json import json_text
from holdshort.fixlist.diagram_marks import marks_of
from holdshort.fixlist.diagram_view import WIDTH, lines
from holdshort.fixlist.power_json import json_text as power_json_text
from holdshort.fixlist.report import FileReport, OpenQuestion, PlacedFinding, Reason, Spot
from holdshort.rulebook import Hold, Severity
from holdshort.setup import Setup, load

SCHEMA_FILE = Path(holdshort.fixlist.__path__[0]) / "diagram.schema.json"
SCHEMA_TEXT = SCHEMA_FILE.read_text(encoding="utf-8")

AIRCRAFT = """
holdshort: 1
aircraft: {name: Grey Heron}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, resistance: 50 mΩ}
  reg: {kind: regulator, output: {min: 5 V, max: 7.4 V}, dropout: 0.3 V, efficiency: 90 %}
  rx: {kind: receiver, draws: {rest: 0 A, cruise: 1 A, peak: 1 A},
       ports: {1..4: servo, bus: bus-out, supply: supply}}
  hub: {kind: hub, draws: {rest: 0 A, cruise: 0 A, peak: 0 A}, ports: {bus: bus-in, 1..4: servo}}
  servo: {kind: servo, idle-current: 0 A, cruise-current: 0 A,
          ratings: [{at: 6 V, stall-current: 1 A}]}
devices:
  pack: {part: pack}
  "front rx": {part: rx}
  hub: {part: hub}
  tail: {part: servo}
  flap: {part: servo}
  spare: {part: servo}
  broken: {part: nix}
leads:
  - {from: pack, to: "front rx.supply"}
  - {from: "front rx.bus", to: hub.bus, carries: signal}
  - {from: tail, to: hub.2}
  - {from: "front rx.4", to: hub.3, carries: power}
  - {from: "front rx.1", to: flap, carries: signal-alone}
  - {from: "front rx.9", to: broken}
radio:
  channels: {2: {drives: rudder}, 4: {drives: [left flap, right flap]}}
surfaces:
  rudder: {servo: tail}
"""


def setup_of(text: str = AIRCRAFT) -> Setup:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(text.encode(), "heron.yaml"), nothing)
    assert [fault.path for fault in loaded.faults] == [("devices", "broken", "part")]
    return loaded.setup


def at(path: str, file: str = "heron.yaml") -> Spot:
    return Spot(file, 1, 1, 1, 2, path)


def finding(
    path: str, severity: Severity = Severity.WARNING, because: tuple[str, ...] = ()
) -> PlacedFinding:
    reasons = tuple(Reason(at(each), "why") for each in because)
    return PlacedFinding(
        rule="a-rule", title=f"Wrong at {path}", pack="bench", severity=severity, hold=Hold.FLIGHT,
        message="Wrong.", at=at(path), because=reasons, do="Put right.", sources=(),
    )  # fmt: skip


def report(*findings: PlacedFinding, questions: tuple[OpenQuestion, ...] = ()) -> FileReport:
    return FileReport("heron.yaml", "aircraft", findings=findings, not_checked=questions)


def data_of(found: FileReport) -> dict[str, Any]:
    text = json_text(Aircraft(setup_of()), found)
    assert text.isascii()
    data: dict[str, Any] = json.loads(text)
    return data


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """Let no other key stand in an object, so that an undocumented key shows."""
    return {**schema, "additionalProperties": False} if "properties" in schema else schema


@pytest.mark.parametrize("hook", [None, close], ids=["as it is", "closed"])
def test_json_is_as_its_schema_says(hook: Any) -> None:
    schema = json.loads(SCHEMA_TEXT, object_hook=hook)
    validator = cast("Any", jsonschema.Draft202012Validator)
    validator.check_schema(json.loads(SCHEMA_TEXT))
    validator(schema).validate(data_of(report(finding("devices.hub"), finding("leads[2]"))))
    validator(schema).validate(data_of(report()))


def test_what_each_lead_carries_and_which_end_gives() -> None:
    data = data_of(report())
    names = {device["id"]: device["name"] for device in data["devices"]}
    found = [
        (names[lead["from"]["device"]], names[lead["to"]["device"]], lead["carries"])
        for lead in data["leads"]
    ]
    assert found == [
        ("pack", "front rx", "power"),
        ("front rx", "hub", "signal only"),
        ("hub", "tail", "power and signal"),  # written from the servo, given by the hub
        ("front rx", "hub", "power only"),
        ("front rx", "flap", "signal alone"),
        ("front rx", "broken", "power and signal"),
    ]


def test_at_rest_a_lead_has_the_voltage_of_a_full_pack() -> None:
    """Two lipo cells of 4.2 V (common practice, no source); at rest nothing is drawn."""
    data = data_of(report())
    (volts,) = [lead["to"]["volts"] for lead in data["leads"] if lead["carries"] == "power"]
    assert volts["rest"] == {"value": pytest.approx(8.4, abs=0.001), "state": "incomplete"}
    assert volts["lowest"]["value"] < 8.4
    assert data["leads"][1]["to"]["volts"] is None
    assert data["leads"][4]["to"]["volts"] is None


def test_the_voltages_of_loads_are_those_of_the_power_table() -> None:
    example = Path(__file__).resolve().parents[2] / "examples" / "brisk-heron.yaml"
    document = read_document(example.read_bytes(), "brisk-heron.yaml")
    aircraft = Aircraft(load(document, pytest.fail).setup)
    drawn = json.loads(json_text(aircraft, report()))
    table = json.loads(power_json_text(aircraft))
    rows = {row["device"]: row for rail in table["rails"] for row in rail["devices"]}
    names = {device["id"]: device["name"] for device in drawn["devices"]}
    fed = [lead for lead in drawn["leads"] if lead["to"]["volts"]]
    seen = [names[lead["to"]["device"]] for lead in fed]
    assert {"rx", "motor", "ail-left", "elevator", "rudder", "ail-right"} <= set(seen)
    for lead, name in zip(fed, seen, strict=True):
        if name in rows:
            low = rows[name]["lowest_volts"]
            volts = lead["to"]["volts"]
            assert (volts["lowest"]["value"], volts["case"]) == (low["value"], low["case"])
            assert volts["rest"] == rows[name]["volts"]["rest"]


def test_devices_say_what_they_are_for() -> None:
    told = {device["name"]: device["told"] for device in data_of(report())["devices"]}
    assert told == {
        "pack": "2-cell lipo", "front rx": "rx", "hub": "hub", "tail": "rudder", "flap": "servo",
        "spare": "servo", "broken": "has mistakes of form",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("devices.hub", [("device", "hub")]),
        ("devices.hub.ports.2.channel", [("device", "hub")]),
        ('devices."front rx".failsafe', [("device", "front rx")]),
        ("leads[2]", [("lead", 2)]),
        ("leads[2].from", [("lead", 2)]),
        ("failsafe.hub.channels.1", [("device", "hub")]),
        ("surfaces.rudder.longer-pulse", [("device", "tail")]),
        ("parts.servo.ratings[0]", [("device", "tail"), ("device", "flap"), ("device", "spare")]),
        ("aircraft.mass", []),
        ("radio.channels.2", []),
        ("devices.hubris", []),
        ("leads[20]", []),
        ("the whole file", []),
    ],
)
def test_a_finding_stands_at_what_its_place_is_about(
    path: str, expected: list[tuple[str, object]]
) -> None:
    marks = marks_of(setup_of(), report(finding(path)))
    assert [(mark.kind, mark.device) for mark in marks] == expected
    assert {mark.target for mark in marks} <= {"finding-1"}


def test_a_finding_elsewhere_stands_at_the_first_device_or_lead_it_rests_on() -> None:
    found = finding("radio.channels.2", because=("aircraft.name", "leads[1].to", "devices.hub"))
    (mark,) = marks_of(setup_of(), report(finding("aircraft"), found))
    assert (mark.kind, mark.device, mark.number, mark.target) == ("lead", 1, "2", "finding-2")


def test_a_place_in_another_file_is_not_mistaken_for_one_here() -> None:
    other = finding("devices.hub")._replace(at=at("devices.hub", "shelf.yaml"))
    assert marks_of(setup_of(), report(other)) == ()


def test_open_questions_are_one_mark_for_each_device_or_lead() -> None:
    asked = tuple(
        OpenQuestion("a-rule", "A rule", "bench", needs, at(path))
        for path, needs in [
            ("leads[1]", "the length"), ("leads[1].wire", "the wire"), ("leads[1]", "the length"),
            ("devices.hub", "the delay"), ("aircraft", "the mass"),
        ]
    )  # fmt: skip
    found = report(questions=asked)
    assert marks_of(setup_of(), found) == ()
    marks = marks_of(setup_of(), found, questions=True)
    assert [(mark.device, mark.severity, mark.title) for mark in marks] == [
        (1, "not checked", "needs the length; needs the wire"),
        ("hub", "not checked", "needs the delay"),
    ]


def test_text_goes_from_the_packs_to_the_servos() -> None:
    text = "\n".join(lines(Aircraft(setup_of()), report(finding("devices.hub"))))
    assert text.startswith("Wiring of Grey Heron\nheron.yaml\n\nPacks\n  pack: 2-cell lipo\n")
    order = [text.index(f"\n  {name}:") for name in ("pack", "front rx", "hub", "tail", "spare")]
    assert order == sorted(order)
    assert "    2 to tail" in text
    assert "  hub: hub  [see 1]" in text
    assert "   1  WARNING: Wrong at devices.hub; devices.hub" in text
    assert "9? to broken?" in text
    assert "No lead declared\n  spare: servo" in text
    assert "Left out, as they have mistakes of form: devices.broken" in text


def test_text_counts_what_is_not_marked_and_never_reads_as_approval() -> None:
    asked = (OpenQuestion("a-rule", "A rule", "bench", "the mass", at("aircraft")),)
    found = report(finding("aircraft", Severity.NOTE), questions=asked)
    text = " ".join("\n".join(lines(Aircraft(setup_of()), found)).split())
    assert "NOTE: Wrong at aircraft (at no device and no lead)" in text
    assert "Not checked, and not marked: 1" in text
    assert "no word on whether it may fly" in text


def test_ordinary_text_keeps_to_its_width() -> None:
    assert max(map(len, lines(Aircraft(setup_of()), report(finding("leads[0]"))))) <= WIDTH


def test_a_lead_for_power_alone_between_servo_plugs_is_told_apart_and_has_its_voltage() -> None:
    setup = setup_of()
    data = json.loads(json_text(Aircraft(setup), report()))
    lead = next(each for each in data["leads"] if each["index"] == 3)
    assert lead["carries"] == "power only"
    # Two full cells of 4.2 V, and nothing drawn at rest: the whole of 8.4 V arrives.
    assert lead["to"]["volts"]["rest"]["value"] == pytest.approx(8.4, abs=0.005)
    assert lead["texts"][0]["text"] == "power only, at most 8.40 V"
