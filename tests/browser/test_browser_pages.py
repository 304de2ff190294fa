"""Every page in a browser: quiet, alone, usable, and in order for axe, in light, dark and print."""

import re
from collections.abc import Callable
from typing import Any

import pytest

MANY = "studies/throttle-reversed-later"
PAGES = [
    ("sheet", "tarn-swift"), ("sheet", MANY), ("sheet", "hostile"), ("cards", "tarn-swift"),
]  # fmt: skip
UPRIGHT = 695
"""What lies between margins of 13 mm on upright A4 (210 mm), in CSS pixels of 1/96 inch."""
LYING = 1024
"""The same on A4 that lies on its side (297 mm)."""
LOOKS = {
    "phone": (360, "light", "screen"), "desk": (1280, "light", "screen"),
    "dark phone": (360, "dark", "screen"), "dark desk": (1280, "dark", "screen"),
    "paper": (UPRIGHT, "light", "print"),
}  # fmt: skip
CHECKED = [
    *(("sheet", MANY, look) for look in LOOKS),
    ("sheet", "tarn-swift", "desk"), ("sheet", "tarn-swift", "paper"),
    ("sheet", "hostile", "phone"),
    ("cards", "tarn-swift", "dark phone"), ("cards", "tarn-swift", "desk"),
    ("cards", "tarn-swift", "paper"),
]  # fmt: skip
"""Pages that axe goes through, and how they are looked at."""


@pytest.mark.parametrize(("command", "name"), PAGES)
def test_a_page_asks_for_nothing_and_breaks_no_policy(
    open_page: Callable[..., Any], watched: Any, command: str, name: str
) -> None:
    page = open_page(command, name)
    page.wait_for_load_state("networkidle")
    assert watched.messages == []
    assert watched.requests == [page.url]
    assert page.title() != "gone"
    assert page.locator("img, iframe, object, embed").count() == 0


@pytest.mark.parametrize(("command", "name", "look"), CHECKED)
def test_axe_finds_nothing_that_bars_anybody(
    open_page: Callable[..., Any], command: str, name: str, look: str
) -> None:
    width, scheme, media = LOOKS[look]
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    # The policy of the page would keep the checker out as well.
    page = open_page(command, name, width, color_scheme=scheme, bypass_csp=True)
    page.emulate_media(media=media)
    violations = axe.run(page).response["violations"]
    barring = [
        (item["id"], item["help"], [node["html"][:200] for node in item["nodes"][:3]])
        for item in violations
        if item["impact"] in {"serious", "critical"}
    ]
    assert barring == []


@pytest.mark.parametrize(("command", "name"), PAGES)
def test_a_page_does_not_scroll_sideways_on_a_phone(
    open_page: Callable[..., Any], command: str, name: str
) -> None:
    page = open_page(command, name, 360)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


@pytest.mark.parametrize("name", ["tarn-swift", MANY, "hostile"])
def test_no_table_is_cut_off_on_paper(open_page: Callable[..., Any], name: str) -> None:
    page = open_page("sheet", name, UPRIGHT)
    page.emulate_media(media="print")
    too_wide = """(side) => [...document.querySelectorAll(
        "section.part table, section.part svg, section.part .card, section.part .finding")]
        .filter((part) => part.closest("section.part").classList.contains("wide") === side)
        .filter((part) => part.getBoundingClientRect().right > document.body.clientWidth + 1)
        .map((part) => part.textContent.slice(0, 80))"""
    assert page.evaluate(too_wide, False) == []
    page.set_viewport_size({"width": LYING, "height": 700})
    assert page.evaluate(too_wide, True) == []
    assert page.locator("nav").is_hidden()


def test_a_drawing_too_large_for_a_page_is_on_paper_in_parts_that_can_be_read(
    open_page: Callable[..., Any],
) -> None:
    page = open_page("sheet", MANY)
    assert page.locator(".on-paper:visible").count() == 0
    page.set_viewport_size({"width": UPRIGHT, "height": 1000})
    page.emulate_media(media="print")
    parts = page.locator(".drawing-part svg")
    assert parts.count() == 2
    scales = page.evaluate(
        """() => [...document.querySelectorAll(".drawing-part svg")].map((part) => {
        const shown = part.querySelector("use").getBoundingClientRect();
        return [part.getScreenCTM().a, part.getBoundingClientRect().height, shown.height];
        })"""
    )
    # The smallest letters are 9 units high; 8 pixels are 6 points.
    for scale, height, drawn in scales:
        assert scale * 9.0 >= 8.0
        assert 500 < height <= 930
        assert drawn > 500
    pictures = {parts.nth(number).screenshot() for number in range(2)}
    assert len(pictures) == 2
    # What a part shows has the style of the drawing: much of it is neither black nor white.
    assert all(len(picture) > 8_000 for picture in pictures)


def test_each_mark_is_read_out_once(open_page: Callable[..., Any]) -> None:
    page = open_page("sheet", MANY)
    tree = page.locator("#wiring svg").first.aria_snapshot()
    for mark in re.findall(r'link "(\d+, warning: [^"]+)"', tree):
        assert tree.count(mark) == 1
    assert tree.count(", warning: ") > 4


def test_shapes_are_seen_with_colours_that_the_reader_forces(
    open_page: Callable[..., Any],
) -> None:
    page = open_page("sheet", MANY, forced_colors="active")
    fill, ink = page.evaluate(
        """() => {
        const probe = document.createElement("p");
        probe.className = "shape";
        document.body.append(probe);
        const style = (part) => getComputedStyle(part);
        return [style(document.querySelector("h4 .shape path")).fill, style(probe).color];
        }"""
    )
    assert fill == ink


@pytest.mark.parametrize("name", ["tarn-swift", MANY])
def test_a_page_at_four_times_its_size_does_not_scroll_sideways(
    open_page: Callable[..., Any], name: str
) -> None:
    # WCAG 2.2, 1.4.10 (from memory): 1280 pixels at 400 % are 320.
    page = open_page("sheet", name, 320)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_pages_of_a_printed_sheet_are_a4_and_hold_every_finding(
    open_page: Callable[..., Any], tmp_path: Any
) -> None:
    page = open_page("sheet", MANY)
    page.locator("#filter input[type=search]").fill("no finding says this")
    assert page.locator("li[data-severity]:visible").count() == 0
    data = page.pdf(prefer_css_page_size=True)
    assert data.startswith(b"%PDF")
    page.emulate_media(media="print")
    assert page.locator("li[data-severity]:visible").count() == 8


def test_every_link_leads_to_something_that_is_seen(open_page: Callable[..., Any]) -> None:
    page = open_page("sheet", MANY)
    lost = page.evaluate(
        """() => [...document.querySelectorAll("a")]
        .map((link) => link.getAttribute("href"))
        .filter((target) => !target.startsWith("#")
          || !document.getElementById(target.slice(1))?.getClientRects().length)"""
    )
    assert lost == []


def test_the_filter_hides_shows_and_says_how_many(open_page: Callable[..., Any]) -> None:
    page = open_page("sheet", MANY)
    shown = page.locator("li[data-severity]:visible")
    count = page.locator("#filter-count")
    assert count.get_attribute("aria-live") == "polite"
    assert (shown.count(), count.inner_text()) == (8, "8 of 8 findings shown")

    page.get_by_role("combobox", name="Holds").select_option("engine-run")
    assert (shown.count(), count.inner_text()) == (4, "4 of 8 findings shown")
    assert page.locator("#before-flight").is_hidden()

    page.get_by_role("searchbox", name="Words").fill("REAR-rx set")
    few = shown.count()
    assert 0 < few < 4
    assert all("rear-rx" in text for text in shown.all_inner_texts())
    assert count.inner_text() == f"{few} of 8 findings shown"

    page.get_by_label("warning", exact=True).uncheck()
    assert (shown.count(), count.inner_text()) == (0, "0 of 8 findings shown")
    assert page.locator("#filter-none").is_visible()

    page.get_by_role("button", name="Show all").click()
    assert (shown.count(), count.inner_text()) == (8, "8 of 8 findings shown")
    assert page.locator("#filter-none").is_hidden()


def test_a_link_to_a_hidden_finding_shows_it(open_page: Callable[..., Any]) -> None:
    page = open_page("sheet", MANY)
    page.get_by_role("searchbox", name="Words").fill("no finding says this")
    page.locator("#rules a[href='#finding-8']").click()
    page.wait_for_function("document.activeElement.id === 'finding-8'")
    assert page.locator("#finding-8").is_visible()
    assert page.locator("#filter-count").inner_text() == "8 of 8 findings shown"


def test_without_script_everything_is_there_to_read(open_page: Callable[..., Any]) -> None:
    page = open_page("sheet", MANY, java_script_enabled=False)
    assert page.locator("li[data-severity]:visible").count() == 8
    assert page.locator("#filter").is_hidden()
    assert page.locator("section.part:visible").count() == page.locator("section.part").count() > 9


def test_the_keyboard_reaches_all_that_can_be_used(open_page: Callable[..., Any]) -> None:
    page = open_page("sheet", MANY)
    wanted = page.evaluate(
        """() => {
        const all = [...document.querySelectorAll(
          "a, button, input, select, [tabindex='0']")].filter((part) => part.tabIndex >= 0);
        all.forEach((part, at) => { part.dataset.at = at; });
        return all.length;
        }"""
    )
    met: list[int] = []
    for _ in range(wanted + 5):
        page.keyboard.press("Tab")
        at = page.evaluate("Number(document.activeElement.dataset.at ?? -1)")
        if at < 0 or at in met:
            break
        met.append(at)
        if len(met) == 1:
            box = page.locator(".skip").bounding_box()
            assert box["y"] >= 0
    assert met == list(range(wanted))


def test_what_has_the_focus_is_outlined(open_page: Callable[..., Any]) -> None:
    page = open_page("sheet", MANY)
    for _ in range(4):
        page.keyboard.press("Tab")
        style = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        width = page.evaluate("parseFloat(getComputedStyle(document.activeElement).outlineWidth)")
        assert (style, width) == ("solid", 3)


def test_nothing_moves_for_those_who_want_no_motion(open_page: Callable[..., Any]) -> None:
    for wish, behaviour in (("reduce", "auto"), ("no-preference", "smooth")):
        page = open_page("sheet", "tarn-swift", reduced_motion=wish)
        shown = page.evaluate("getComputedStyle(document.documentElement).scrollBehavior")
        assert shown == behaviour


def test_right_to_left_names_keep_to_themselves(open_page: Callable[..., Any]) -> None:
    page = open_page("sheet", "hostile")
    heading = page.locator("h1")
    assert "{{ 7*191 }} كركي" in heading.inner_text()
    assert page.evaluate("getComputedStyle(document.querySelector('h1')).direction") == "ltr"
    message = page.locator("li[data-severity] .message", has_text="טייס").first
    assert message.inner_text().startswith("טייס is declared and no lead goes to it")
    # The sentence is read from the left, and what follows the name stands to the right of it.
    left = message.evaluate(
        """(part) => {
        const text = document.createTreeWalker(part, NodeFilter.SHOW_TEXT);
        const lefts = [];
        while (text.nextNode() && lefts.length < 2) {
          const range = document.createRange();
          range.setStart(text.currentNode, 0);
          range.setEnd(text.currentNode, 3);
          lefts.push(range.getBoundingClientRect().left);
        }
        return lefts;
        }"""
    )
    assert left[0] < left[1]
