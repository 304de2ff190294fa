"""What is known of one thing of an aircraft, in lines for a card: declared and computed."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, cast

from pydantic import BaseModel

from holdshort.analysis import Aircraft
from holdshort.analysis.power_rows import ByCase, DeviceRow, PowerTable, Reading, lowest
from holdshort.analysis.power_table import power_table
from holdshort.document import show_path
from holdshort.editor.cards import Card, Line
from holdshort.editor.section_facts import load_lines
from holdshort.fixlist.report import FileReport
from holdshort.setup import Cable, Fitted, Quantity, Setup
from holdshort.setup.base import hyphenated

_UNSHOWN: Final = frozenset({"kind", "title", "source", "ports"})
_SETTINGS: Final = ("output", "measured", "mounting", "told", "frame_rate")
_REST: Final = "rest"
_MOST: Final = 8
_SMALL: Final = 0.1  # A: below it a current is told in mA


def device_card(aircraft: Aircraft, report: FileReport, device: Fitted) -> Card:
    """Return what a fitted device is, what is computed of it and what is found on it."""
    lines = [
        Line("part", _titled(device)),
        *_settings(device),
        *_declared(device.part),
        *_power(aircraft, device),
        *_channels(aircraft, device),
        *_loss(aircraft, device),
        *findings(report, f"devices.{device.name}"),
    ]
    return Card(Line(device.kind, device.name), tuple(lines))


def _settings(device: Fitted) -> Iterator[Line]:
    for field in _SETTINGS:
        value = getattr(device.device, field)
        if value is not None:
            yield Line(f"its own {hyphenated(field)}", shown(value))


def _titled(device: Fitted) -> str:
    title = getattr(device.part, "title", None)
    return f"{device.part_name}: {title}" if title else device.part_name


def part_card(name: str, part: BaseModel, file: str) -> Card:
    """Return the ratings of a part and where they come from."""
    source = getattr(part, "source", None)
    title = getattr(part, "title", None)
    lines = [
        *([Line("title", title)] if title else []),
        *_declared(part),
        Line("source", source) if source else Line("its source is not stated"),
        Line("declared in", file),
    ]
    return Card(Line(getattr(part, "kind", "part"), name), tuple(lines))


def _declared(model: BaseModel) -> Iterator[Line]:
    for field in sorted(model.model_fields_set - _UNSHOWN):
        value = getattr(model, field)
        if value is not None:
            yield Line(hyphenated(field), shown(value))


def shown(value: Any) -> str:
    """Return a declared value as the file would write it."""
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, BaseModel):
        fields = {field: getattr(value, field) for field in type(value).model_fields}
        value = {hyphenated(key): one for key, one in fields.items() if one not in {None, False}}
    if isinstance(value, Mapping):
        said = cast("Mapping[str, object]", value)
        return ", ".join(f"{key} {shown(one)}" for key, one in said.items())
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "; ".join(shown(one) for one in cast("Sequence[object]", value))
    return str(value)


def _power(aircraft: Aircraft, device: Fitted) -> Iterator[Line]:
    table = _table(aircraft)
    row = next(
        (row for rail in table.rails for row in rail.devices if row.device == device.name), None
    )
    if row is not None:
        yield from _volts(row)
        yield Line("computed to draw", _by_case(row.amperes, "A"))
    for pack in table.packs:
        if pack.device == device.name:
            yield Line("voltage", _by_case(pack.volts, "V"))
            yield Line("computed to give", _by_case(pack.amperes, "A"))
    for regulator in table.regulators:
        if regulator.device == device.name:
            gives = {
                case: Reading(point.output_current if point else None, regulator.states[case])
                for case, point in regulator.points.items()
            }
            yield Line("computed to give", _by_case(gives, "A"))


def _volts(row: DeviceRow) -> Iterator[Line]:
    rest = row.volts.get(_REST)
    if rest is not None:
        yield Line("rail at rest", _reading(rest, "V"))
    extreme = lowest(row.volts)
    if extreme is not None:
        yield Line("rail at its lowest", f"{_reading(extreme.reading, 'V')} ({extreme.case})")


def _by_case(readings: ByCase, unit: str) -> str:
    return ", ".join(f"{case} {_reading(one, unit)}" for case, one in readings.items())


def _reading(reading: Reading, unit: str) -> str:
    if reading.value is None:
        return reading.state
    mark = "" if reading.state == "known" else f" ({reading.state})"
    if unit == "A" and 0.0 < abs(reading.value) < _SMALL:
        return f"{reading.value * 1e3:.0f} mA{mark}"
    return f"{reading.value:.2f} {unit}{mark}"


def _table(aircraft: Aircraft) -> PowerTable:
    """Return the power table of an aircraft, gathered once."""
    known: PowerTable | None = aircraft.__dict__.get("_editor_table")
    if known is None:
        known = aircraft.__dict__["_editor_table"] = power_table(aircraft)
    return known


def _channels(aircraft: Aircraft, device: Fitted) -> Iterator[Line]:
    for end in aircraft.channel_ends:
        if end.device.name == device.name and end.channel is not None:
            yield Line(f"channel {end.channel} by", end.shown)


def _loss(aircraft: Aircraft, device: Fitted) -> Iterator[Line]:
    """Yield what no longer follows the pilot in full when the device fails."""
    study = aircraft.failures
    failure = next((one for one in study.failures if one.devices == (device.name,)), None)
    if failure is None:
        return
    intact, after = study.intact, study.after((failure,))
    hurt = [
        f"{name}: {state.words}"
        for name, state in after.functions.items()
        if state.state != intact.functions[name].state
    ]
    if hurt:
        yield Line("if it fails", "; ".join(hurt))
    else:
        yield Line("if it fails: every function that is declared still follows, as computed")


def findings(report: FileReport, path: str) -> Iterator[Line]:
    """Yield what is found at a place of the document, or within it."""
    found = [
        one
        for one in report.findings
        if one.at.path == path or one.at.path.startswith((f"{path}.", f"{path}["))
    ]
    for one in found[:_MOST]:
        yield Line(f"{one.severity.word} ({one.rule}):", one.message.replace("`", "'"))
    if len(found) > _MOST:
        yield Line(f"and {len(found) - _MOST} more findings")


def port_card(setup: Setup, aircraft: Aircraft, device: Fitted, name: str) -> Card | None:
    """Return what a port does, what it gives and what is plugged into it."""
    port = device.ports.get(name)
    if port is None:
        return None
    lines = [Line("does", port.does) if port.does else Line("what it does is not declared")]
    if len(port.can_be) > 1:
        lines.append(Line("can be", ", ".join(port.can_be)))
    if port.isolated:
        lines.append(Line("isolated: power cannot flow back through it"))
    lines += [
        Line(f"channel {end.channel} by", end.shown)
        for end in aircraft.channel_ends
        if end.channel is not None and any(port.address == one.address for one in end.way)
    ]
    for cable in setup.cables:
        ends = [end for end in (cable.start, cable.end) if end.port is not None]
        if any(end.port and end.port.address == port.address for end in ends):
            lines.append(Line("lead", f"{cable.start.written} to {cable.end.written}"))
    return Card(Line("port", port.address), tuple(lines[:_MOST]))


def lead_card(aircraft: Aircraft, report: FileReport, cable: Cable) -> Card:
    """Return the current in a lead and what it loses, in the load case in which it loses most."""
    lines: list[Line] = []
    power, signal = cable.carries_power, cable.carries_signal
    carried = [word for word, carries in (("power", power), ("signal", signal)) if carries]
    lines.append(Line("carries", " and ".join(carried) or "nothing"))
    start = cable.start.port.address if cable.start.port else cable.start.written
    end = cable.end.port.address if cable.end.port else cable.end.written
    names = {start, end, cable.start.written, cable.end.written}
    for row in _table(aircraft).leads:
        if {row.start, row.end} <= names:
            wire = (
                f"{row.wire}{' (assumed)' if row.wire_assumed else ''}" if row.wire else "not known"
            )
            lines.append(Line("wire", wire))
            if row.length is not None:
                assumed = " (assumed)" if row.length_assumed else ""
                lines.append(Line("length", f"{row.length * 100:.0f} cm{assumed}"))
            case = f" in {row.case}" if row.case else ""
            lines.append(Line(f"current{case}", _reading(row.amperes, "A")))
            lines.append(Line(f"drop{case}", _reading(row.volts, "V")))
    place = show_path(cable.place.path)
    lines += findings(report, place)
    return Card(Line("lead", f"{cable.start.written} to {cable.end.written}"), tuple(lines))


def channel_card(aircraft: Aircraft, number: int) -> Card | None:
    """Return what a channel drives and where it ends."""
    entry = aircraft.setup.channels.get(number)
    if entry is None:
        return None
    ends = [Line("ends at", end.shown) for end in aircraft.channel_ends if end.channel == number]
    lines = [Line("drives", ", ".join(entry.channel.drives)), *ends[:_MOST]]
    for box, failsafe in aircraft.setup.failsafe.items():
        if number in failsafe.channels:
            lines.append(Line(f"failsafe: {failsafe.channels[number][0]}, by", box))
    return Card(Line("channel", str(number)), tuple(lines))


def surface_card(aircraft: Aircraft, name: str) -> Card | None:
    """Return the servos of a surface, the channels that move them, and what its load asks."""
    surface = aircraft.setup.surfaces.get(name)
    if surface is None:
        return None
    channels = dict.fromkeys(
        end.channel for end in aircraft.channel_ends if end.device.name in surface.servo
    )
    lines = [
        Line("moved by", ", ".join(surface.servo)),
        *(Line("driven by channel", str(number)) for number in channels if number is not None),
        *([Line("goes", shown(surface.deflection))] if surface.deflection else []),
        *load_lines(aircraft, name),
    ]
    return Card(Line("surface", name), tuple(lines))


def link_card(aircraft: Aircraft, name: str) -> Card | None:
    """Return the receivers of a radio link."""
    link = aircraft.setup.links.get(name)
    if link is None:
        return None
    return Card(Line("link", name), (Line("heard by", ", ".join(link.heard_by)),))


def tank_card(aircraft: Aircraft, name: str) -> Card | None:
    """Return what is declared of a tank."""
    balance = aircraft.setup.balance
    tank = (balance.tanks or {}).get(name) if balance else None
    return None if tank is None else Card(Line("tank", name), tuple(_declared(tank)))


def item_card(aircraft: Aircraft, name: str) -> Card | None:
    """Return what is declared of an item of the balance."""
    balance = aircraft.setup.balance
    item = (balance.items or {}).get(name) if balance else None
    return None if item is None else Card(Line("item", name), tuple(_declared(item)))
