"""Pages in a real browser: skipped where there is no playwright or no Chromium."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from holdshort.cli import main

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
HOSTILE = """\
holdshort: 1
aircraft:
  name: "</style><script>document.title='gone'</script>{{ 7*191 }} كركي"
  propulsion: turbine
parts:
  rx: {kind: receiver, ports: {1: servo, supply: supply}}
  servo: {kind: servo, voltage: {max: 6 V}}
  pack: {kind: battery, chemistry: lipo, cells: 2, capacity: 2000 mAh}
devices:
  "<img src=x onerror=alert(1)>": {part: pack}
  "\\" autofocus onfocus='alert(2)' x=\\"": {part: rx}
  %(long)s: {part: servo}
  "טייס": {part: servo}
leads:
  - {from: "<img src=x onerror=alert(1)>", to: "\\" autofocus onfocus='alert(2)' x=\\".supply"}
  - {from: "\\" autofocus onfocus='alert(2)' x=\\".1", to: %(long)s}
radio: {channels: {1: {drives: elevator}}}
surfaces: {elevator: {servo: %(long)s}}
""" % {"long": "w" * 80}  # noqa: UP031  - the text is full of braces

Open = Callable[..., "Page"]


@pytest.fixture(scope="session")
def browser() -> "Iterator[Browser]":
    """A Chromium of the system; none is downloaded."""
    playwright = pytest.importorskip("playwright.sync_api")
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip("no Chromium is installed")
    with playwright.sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, str], Path]:
    """Return what writes a page with a command, once, and gives its path."""
    folder = tmp_path_factory.mktemp("pages")
    written: dict[tuple[str, str], Path] = {}

    def write(command: str, name: str) -> Path:
        if (command, name) not in written:
            file = EXAMPLES / f"{name}.yaml"
            if name == "hostile":
                file = folder / "hostile.yaml"
                file.write_text(HOSTILE, encoding="utf-8")
            page = folder / f"{command}-{len(written)}.html"
            assert main([command, str(file), "-o", str(page)]) in {0, 1}
            written[command, name] = page
        return written[command, name]

    return write


class Watched:
    """What a page said and asked for while it was open."""

    def __init__(self) -> None:
        self.messages: list[str] = []
        self.requests: list[str] = []


@pytest.fixture
def watched() -> Watched:
    return Watched()


@pytest.fixture
def open_page(
    browser: "Browser", pages: Callable[[str, str], Path], watched: Watched
) -> Iterator[Open]:
    """Return what opens a page: a command, an example, and how the browser is set."""
    contexts: list[BrowserContext] = []

    def show(command: str, name: str, width: int = 1280, **given: Any) -> "Page":
        context = browser.new_context(viewport={"width": width, "height": 900}, **given)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: watched.messages.append(message.text))
        page.on("pageerror", lambda error: watched.messages.append(str(error)))
        page.on("dialog", lambda dialog: watched.messages.append(dialog.message))
        page.on("request", lambda request: watched.requests.append(request.url))
        page.goto(pages(command, name).as_uri())
        return page

    yield show
    for context in contexts:
        context.close()
