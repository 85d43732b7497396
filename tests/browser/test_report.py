"""The report in a browser: from disk, without network, by keyboard, on a phone, in the dark, on paper."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from flyoff.report.write import write_report
from helpers import comparison_fixture

pytestmark = pytest.mark.browser

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}
BACKGROUND = "getComputedStyle(document.body).backgroundColor"
LIGHT, DARK = "rgb(251, 250, 246)", "rgb(18, 24, 31)"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("report")
    write_report(comparison_fixture.comparison(), comparison_fixture.SOURCES, folder, lambda _: None)
    return (folder / "report.html").as_uri()


@pytest.fixture
def faults(page: Page) -> Iterator[list[str]]:
    """Collect what the console complains of; the test expects none."""
    found: list[str] = []
    page.on(
        "console",
        lambda message: found.append(message.text) if message.type in {"error", "warning"} else None,
    )
    page.on("pageerror", lambda error: found.append(str(error)))
    yield found
    assert found == []


@pytest.fixture
def report(page: Page, faults: list[str], address: str) -> Page:
    page.set_viewport_size(DESK)
    page.goto(address)
    return page


def test_asks_for_nothing_but_itself(page: Page, faults: list[str], address: str) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(address)
    page.wait_for_load_state("networkidle")
    assert asked == [address]


@pytest.mark.parametrize("width", [320, 390, 768, 1280])
def test_the_page_never_scrolls_sideways(report: Page, width: int) -> None:
    report.set_viewport_size({"width": width, "height": 800})
    assert report.evaluate("document.documentElement.scrollWidth") <= width


def test_a_phone_shows_the_narrow_charts_and_every_cell_with_its_airplane(report: Page) -> None:
    report.set_viewport_size(PHONE)
    chart = report.locator("#chart-speed_altitude")
    expect(chart.locator(".narrow")).to_be_visible()
    expect(chart.locator(".wide")).to_be_hidden()
    cell = report.locator("#figures td").first
    assert cell.evaluate("e => getComputedStyle(e, '::before').content") == '"Lomvi 4"'
    box = report.locator("#figures td a.f").first.bounding_box()
    assert box is not None
    assert box["x"] + box["width"] <= PHONE["width"]


def test_the_keyboard_reaches_a_figure_and_opens_and_closes_its_trace(report: Page) -> None:
    report.locator("#figures .scroll").focus()
    report.keyboard.press("Tab")
    focused = report.evaluate("document.activeElement.dataset.figure")
    assert focused == "lomvi.useful_load"
    trace = report.locator("[id='trace-lomvi.useful_load']")
    expect(trace).to_be_hidden()
    report.keyboard.press("Enter")
    expect(trace).to_be_visible()
    expect(trace).to_contain_text("aircraft/lomvi.toml:10")
    expect(trace).to_be_focused()
    report.keyboard.press("Tab")
    assert report.evaluate("document.activeElement.className") == "close"
    report.keyboard.press("Escape")
    expect(trace).to_be_hidden()
    assert report.evaluate("document.activeElement.dataset.figure") == "lomvi.useful_load"


def test_a_trace_leads_to_the_next(report: Page) -> None:
    report.locator("#figures [data-figure='lomvi.range']").click()
    report.locator("[id='trace-lomvi.range'] .inputs a").first.click()
    expect(report.locator("[id='trace-lomvi.cruise_speed']")).to_be_visible()
    expect(report.locator("[id='trace-lomvi.range']")).to_be_hidden()
    report.locator("[id='trace-lomvi.cruise_speed'] .close").click()
    expect(report.locator(".trace:visible")).to_have_count(0)


def test_opening_a_trace_leaves_the_table_where_it_was(report: Page) -> None:
    link = report.locator("#figures [data-figure='lundi.range']")
    link.scroll_into_view_if_needed()
    before = report.evaluate("scrollY")
    link.click()
    expect(report.locator("[id='trace-lundi.range']")).to_be_visible()
    assert report.evaluate("scrollY") == before


def test_works_without_scripts(browser: Browser, address: str) -> None:
    context = browser.new_context(java_script_enabled=False, viewport=DESK)
    page = context.new_page()
    page.goto(address)
    page.locator("#figures [data-figure='lomvi.range']").click()
    trace = page.locator("[id='trace-lomvi.range']")
    expect(trace).to_be_visible()
    trace.locator(".close").click()
    expect(trace).to_be_hidden()
    expect(page.locator("#figures [data-figure='lomvi.range']")).to_be_in_viewport()
    context.close()


def test_light_and_dark(report: Page) -> None:
    line = report.locator("#chart-speed_altitude .wide svg path[stroke='#0b64a0']").first
    report.emulate_media(color_scheme="light")
    assert report.evaluate(BACKGROUND) == LIGHT
    assert line.evaluate("e => getComputedStyle(e).stroke") == "rgb(11, 100, 160)"
    report.emulate_media(color_scheme="dark")
    assert report.evaluate(BACKGROUND) == DARK
    assert line.evaluate("e => getComputedStyle(e).stroke") == "rgb(98, 181, 242)"


def test_paper_is_white_and_bears_the_content_alone(report: Page) -> None:
    report.emulate_media(media="print", color_scheme="dark")
    assert report.evaluate(BACKGROUND) == "rgb(255, 255, 255)"
    expect(report.locator("header.top")).to_be_hidden()
    expect(report.locator("#index")).to_be_hidden()
    expect(report.locator("#chart-trips .wide")).to_be_visible()
    line = report.locator("#chart-speed_altitude .wide svg path[stroke='#0b64a0']").first
    assert line.evaluate("e => getComputedStyle(e).stroke") == "rgb(11, 100, 160)"


def test_focus_is_seen(report: Page) -> None:
    report.keyboard.press("Tab")
    assert report.evaluate("document.activeElement.textContent") == "To the content"
    style = report.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert style == "solid"


def test_markup_in_names_does_not_run(page: Page, faults: list[str], tmp_path: Path) -> None:
    write_report(comparison_fixture.hostile(), {}, tmp_path, lambda _: None)
    spoken: list[str] = []
    page.on("dialog", lambda dialog: (spoken.append(dialog.message), dialog.dismiss()))
    page.goto((tmp_path / "report.html").as_uri())
    assert spoken == []
    expect(page.locator("h1")).to_have_text("<script>alert('x')</script>&\"</svg>")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
