"""Wiring diagrams as SVG and PNG: well formed, inert, readable, and marked where it counts."""

import io
import re
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis.power_rows import Reading
from holdshort.analysis.wiring_plan import EndVolts, PlanDevice, PlanEnd, PlanLead, WiringPlan
from holdshort.fixlist.diagram_drawing import Area, Drawing, Mark
from holdshort.fixlist.diagram_layout import layout
from holdshort.fixlist.diagram_scene import scene_of
from holdshort.fixlist.diagram_style import DARK, LIGHT, LOOKS, SCOPE, WIRES
from holdshort.fixlist.diagram_svg import STYLE_SHEET, diagram_svg, part_svg
from holdshort.fixlist.diagram_words import MOST_NOTE, volts_lines

SVG = "{http://www.w3.org/2000/svg}"
SPOT = "a<script>alert(1)</script>"
HOSTILE = [
    "<script>alert(1)</script>", "]]>", "\"'><a href=\"//x\">", "\u202egnp", "</style><b>",
    "{{ 7 * 7 }}", "&lt;&amp;", "$x^2$", "\\mathrm{x}", "a\x1b[31m", "\ud7ff\ufffe",
]  # fmt: skip


def volts(rest: float, low: float) -> EndVolts:
    return EndVolts(Reading(rest, "known"), Reading(low, "known"), "hard-manoeuvre")


def plan(name: str = "pack", carries: str = "power", told: str = "2-cell lipo") -> WiringPlan:
    devices = (
        PlanDevice(name, "source", "battery", "lipo", told, 1),
        PlanDevice("rx", "receiver", "receiver", "rx-8", "rx-8", 9),
    )
    start = PlanEnd(0, "out", known=True, order=(1, 0), volts=volts(8.4, 7.9))
    end = PlanEnd(1, "supply", known=True, order=(1, 8), volts=volts(8.4, 7.12))
    lead = PlanLead(0, start, end, carries, "pack to rx.supply")  # type: ignore[arg-type]
    return WiringPlan("wren.yaml", name, devices, (lead,), ())


MARKS = (
    Mark("device", "rx", "warning", "1", "finding-1", "Too low"),
    Mark("device", "rx", "note", "3", "finding-3", "Worth knowing"),
    Mark("lead", 0, "caution", "2", "finding-2", "Too thin"),
    Mark("lead", 0, "not checked", "?", "not-checked", "needs the length"),
)


def parsed(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314  - our own text


def check_inert(text: str) -> ET.Element:
    """Check that nothing in a picture runs, loads, or reaches out of it."""
    root = parsed(text)
    names = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert names <= {
        "svg", "title", "desc", "style", "g", "a", "rect", "polyline", "polygon", "circle", "text",
    }  # fmt: skip
    for element in root.iter():
        for attribute, value in element.attrib.items():
            assert attribute != "style"
            assert not attribute.startswith("on")
            if attribute.endswith("href"):
                assert re.fullmatch(r"#[a-z0-9-]+", value)
            if attribute == "id":
                assert re.fullmatch(r"[a-z0-9-]+", value)
    styles = [element.text for element in root.iter(f"{SVG}style")]
    assert styles == [STYLE_SHEET]
    assert "url(" not in STYLE_SHEET
    assert "@import" not in STYLE_SHEET
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    return root


def texts(root: ET.Element) -> list[str]:
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def test_it_is_one_image_with_a_title_and_a_description() -> None:
    root = check_inert(diagram_svg(layout(plan())))
    assert root.get("role") == "img"
    labels = (root.get("aria-labelledby") or "").split()
    by_id = {element.get("id"): element.text for element in root.iter()}
    assert [by_id[label] for label in labels] == [
        "Wiring of pack",
        "2 devices and 1 lead, from the packs on the left to the servos and loads on the right.",
    ]
    assert {"8.40 V", "lowest 7.12 V", "supply", "rx", "pack", "2-cell lipo"} <= set(texts(root))


def test_devices_and_leads_have_ids_and_say_in_words_what_they_are() -> None:
    drawing = layout(plan())
    root = parsed(diagram_svg(drawing))
    said = {
        group.get("id"): group.findtext(f"{SVG}title")
        for group in root.iter(f"{SVG}g")
        if group.get("id")
    }
    assert said == {
        "lead-1": "pack to rx.supply: power, 8.40 V, lowest 7.12 V (hard-manoeuvre)",
        "device-1": "pack: battery, lipo, 2-cell lipo",
        "device-2": "rx: receiver, rx-8",
    }
    assert (drawing.device_id("rx"), drawing.lead_id(0)) == ("device-2", "lead-1")
    assert (drawing.device_id("nix"), drawing.lead_id(7)) == (None, None)


@pytest.mark.parametrize("embedded", [False, True])
def test_marks_are_links_with_names_at_what_they_are_about(*, embedded: bool) -> None:
    root = check_inert(diagram_svg(layout(plan()), MARKS, embedded=embedded))
    assert root.get("role") == "group"  # an image may have no links in it
    found: dict[str, list[tuple[str, str]]] = {}
    for group in root.iter(f"{SVG}g"):
        for link in group.findall(f"{SVG}a"):
            pair = (link.get("href") or "", link.get("aria-label") or "")
            found.setdefault(group.get("id") or "", []).append(pair)
    assert found == {
        "lead-1": [
            ("#finding-2", "2, caution: Too thin"),
            ("#not-checked", "?, not checked: needs the length"),
        ],
        "device-2": [
            ("#finding-1", "1, warning: Too low"),
            ("#finding-3", "3, note: Worth knowing"),
        ],
    }
    # The link says it all: what is drawn in it is not read out as well.
    inner = [link.find(f"{SVG}g") for link in root.iter(f"{SVG}a")]
    assert [group.get("aria-hidden") for group in inner if group is not None] == ["true"] * 4
    ids = {element.get("id") for element in root.iter()}
    targets = {link.get("href", "").removeprefix("#") for link in root.iter(f"{SVG}a")}
    # A page has the findings itself; a picture by itself lists them below the drawing.
    assert (targets <= ids) is not embedded
    assert ("warning at rx: Too low" in texts(root)) is not embedded
    assert ("caution at lead pack to rx.supply: Too thin" in texts(root)) is not embedded


def test_severities_differ_in_shape() -> None:
    root = parsed(diagram_svg(layout(plan()), MARKS, embedded=True))
    shapes = {
        look: {
            (element.tag.removeprefix(SVG), len((element.get("points") or "").split()))
            for element in root.iter()
            if element.get("class") == f"hd-mark-{look}"
        }
        for look in ("warning", "caution", "note", "not-checked")
    }
    assert shapes == {
        "warning": {("polygon", 3)}, "caution": {("polygon", 4)}, "note": {("circle", 0)},
        "not-checked": {("rect", 0)},
    }  # fmt: skip


def test_marks_that_do_not_fit_are_one_with_a_count() -> None:
    many = tuple(
        Mark("lead", 0, "note", f"{number}", f"finding-{number}", "x") for number in range(1, 6)
    )
    root = parsed(diagram_svg(layout(plan()), many, embedded=True))
    labels = [link.get("aria-label") for link in root.iter(f"{SVG}a")]
    assert labels == ["1, note: x", "and 4 more: 2, 3, 4, 5"]
    assert "+4" in texts(root)


def test_kinds_of_leads_differ_in_line_and_are_told_in_the_legend() -> None:
    lines: dict[str, Any] = {}
    for carries, looks in WIRES.items():
        lines[carries] = tuple((LOOKS[look].width, LOOKS[look].dashes) for look in looks)
        words = " ".join(texts(parsed(diagram_svg(layout(plan(carries=carries))))))
        assert carries.replace("nothing", "joins nothing") in words
    assert len(set(lines.values())) == len(WIRES)
    for carries in ("power only", "signal only"):
        drawn = texts(parsed(diagram_svg(layout(plan(carries=carries)))))
        assert f"{carries}, 8.40 V" in drawn


@pytest.mark.parametrize(
    ("rest", "low", "said"),
    [
        (Reading(8.4, "known"), Reading(8.4, "known"), ["8.40 V"]),
        (Reading(8.4, "known"), Reading(7.1, "known"), ["8.40 V", "lowest 7.10 V"]),
        (Reading(8, "incomplete"), Reading(7, "incomplete"), ["at most 8.00 V", "at most 7.00 V"]),
        (Reading(8.4, "known"), Reading(None, "collapse"), ["8.40 V", "collapse"]),
        (Reading(None, "no supply"), Reading(None, "no supply"), ["no supply"]),
        (Reading(None, "not known"), Reading(None, "not known"), ["volts not known"]),
    ],
)  # fmt: skip
def test_voltages_say_how_far_they_are_known(rest: Reading, low: Reading, said: list[str]) -> None:
    wired = plan()
    lead = wired.leads[0]
    end = lead.end._replace(volts=EndVolts(rest, low, "start"))
    changed = PlanLead(0, lead.start, end, lead.carries, lead.title)
    drawing = layout(WiringPlan("x.yaml", "", wired.devices, (changed,), ()))
    assert [label.text for label in drawing.wires[0].labels] == said


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_names_are_shown_and_do_nothing(text: str) -> None:
    marks = (Mark("device", text, "note", "1", "finding-1", text * 500),)
    drawing = layout(plan(text, told=text))
    for embedded in (False, True):
        drawn = diagram_svg(drawing, marks, embedded=embedded)
        root = check_inert(drawn)
        assert "<script" not in drawn
        shown = "".join(root.itertext())
        assert all(letter.isprintable() or letter in " \n" for letter in shown)


@settings(max_examples=40, deadline=None)
@given(st.text(min_size=1, max_size=80), st.text(max_size=200))
def test_any_name_gives_well_formed_text(name: str, title: str) -> None:
    marks = (Mark("lead", 0, "caution", "1", "finding-1", title),)
    check_inert(diagram_svg(layout(plan(name)), marks))


def test_all_style_stands_under_one_class_and_covers_what_is_drawn() -> None:
    root = parsed(diagram_svg(layout(plan()), MARKS))
    assert root.get("class") == SCOPE
    rules = re.sub(r"@media[^{]*\{(.*)\n\}", r"\1", STYLE_SHEET, flags=re.DOTALL)
    selectors = re.findall(r"([^{}]+)\{[^}]*\}", rules)
    assert len(selectors) > 2 * len(LOOKS)
    assert all(re.fullmatch(rf"\.{SCOPE}( [.a-z:-]+)*", each.strip()) for each in selectors)
    styled = {each.strip().split(".hd-")[-1] for each in selectors}
    used = {element.get("class", "").removeprefix("hd-") for element in root.iter()} - {SCOPE, ""}
    assert used <= styled


def test_a_page_may_keep_the_style_in_its_own() -> None:
    drawn = diagram_svg(layout(plan()), embedded=True, style=False)
    assert "<style" not in drawn
    assert not drawn.startswith("<?xml")


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours as WCAG 2.2 defines it (read)."""
    lights: list[float] = []
    for colour in (one, other):
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        red, green, blue = (
            part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
        )
        lights.append(0.2126 * red + 0.7152 * green + 0.0722 * blue)
    return (max(lights) + 0.05) / (min(lights) + 0.05)


def test_the_measure_of_contrast_gives_what_the_standard_says() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_letters_and_lines_stand_out(colours: dict[str, str]) -> None:
    for ground in ("ground", "box"):
        for letters in ("ink", "soft"):
            assert contrast(colours[letters], colours[ground]) >= 4.5
        assert contrast(colours["edge"], colours[ground]) >= 3.0
    for line in ("power", "both", "signal", "idle"):
        assert contrast(colours[line], colours["ground"]) >= 3.0
    for severity in ("warning", "caution", "note"):
        assert contrast(colours[f"on-{severity}"], colours[severity]) >= 4.5


def test_a_png_has_the_same_lines_in_the_same_places() -> None:
    pytest.importorskip("matplotlib")
    image_of = pytest.importorskip("PIL.Image")
    from holdshort.fixlist.diagram_png import png  # noqa: PLC0415  - needs matplotlib

    drawing: Drawing = layout(plan())
    scene = scene_of(drawing, MARKS)
    image = image_of.open(io.BytesIO(png(scene))).convert("RGB")
    assert image.size == pytest.approx((2 * scene.width, 2 * scene.height), abs=2)

    def colour(x: float, y: float) -> str:
        return "#{:02x}{:02x}{:02x}".format(*image.getpixel((int(2 * x), int(2 * y))))

    first, second = drawing.wires[0].points[:2]
    # The rightmost third of the lead is clear of the marks at its beginning.
    assert colour(second.x - (second.x - first.x) / 4, second.y) == LIGHT["power"]
    for box in drawing.boxes:
        assert colour(box.area.left + 4, box.area.bottom - 6) == LIGHT["box"]
    assert colour(4, 4) == LIGHT["ground"]


def test_a_part_shows_its_own_place_of_the_embedded_drawing() -> None:
    part = parsed(part_svg(Area(10.0, 20.5, 110.0, 220.5)))
    assert part.get("viewBox") == "10 20.5 100 200"
    (use,) = part.iter(f"{SVG}use")
    root = parsed(diagram_svg(layout(plan()), embedded=True))
    drawn = [group for group in root.iter(f"{SVG}g") if f"#{group.get('id')}" == use.get("href")]
    assert len(drawn) == 1
    assert "rx" in texts(drawn[0])


def test_marks_are_read_out_without_signs_for_code() -> None:
    marks = (Mark("device", "rx", "warning", "1", "finding-1", "`rx` is `too low`"),)
    root = parsed(diagram_svg(layout(plan()), marks, embedded=True))
    assert [a.get("aria-label") for a in root.iter(f"{SVG}a")] == ["1, warning: rx is too low"]


def test_a_collapse_stands_at_the_lead_in_place_of_its_lowest_voltage() -> None:
    rest = Reading(8.4, "known")
    fallen = EndVolts(rest, Reading(None, "collapse"), "stalled-pair")
    assert volts_lines(fallen) == ("8.40 V", "collapse")
    assert volts_lines(EndVolts(rest, rest, "rest")) == ("8.40 V",)
    least = EndVolts(rest, Reading(7.1, "known"), "cruise")
    assert volts_lines(least) == ("8.40 V", "lowest 7.10 V")
    unsure = EndVolts(rest, Reading(7.1, "incomplete"), "cruise")
    assert volts_lines(unsure) == ("8.40 V", "at most 7.10 V")


def test_the_legend_says_what_at_most_means_wherever_it_stands() -> None:
    known = plan(carries="power only")
    assert MOST_NOTE not in texts(parsed(diagram_svg(layout(known))))
    (lead,) = known.leads
    most = Reading(8.4, "incomplete")
    end = lead.end._replace(volts=EndVolts(most, most, "rest"))
    unsure = replace(known, leads=(replace(lead, end=end),))
    assert MOST_NOTE in texts(parsed(diagram_svg(layout(unsure))))
