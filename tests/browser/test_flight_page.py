"""A flight's page in a browser: from disk, without network, on a phone, in the dark, on paper."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from flyoff.report.write import write_flight
from helpers.flown_days import day_of, hostile_day

pytestmark = pytest.mark.browser

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("flight") / "sample.html"
    write_flight(day_of("sample.csv"), path)
    return path.as_uri()


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
def flight(page: Page, faults: list[str], address: str) -> Page:
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
def test_the_page_never_scrolls_sideways(flight: Page, width: int) -> None:
    flight.set_viewport_size({"width": width, "height": 800})
    assert flight.evaluate("document.documentElement.scrollWidth") <= width


def test_a_phone_shows_the_narrow_charts_with_text_that_can_be_read(flight: Page) -> None:
    flight.set_viewport_size(PHONE)
    chart = flight.locator("#chart-sample-flight")
    expect(chart.locator(".narrow")).to_be_visible()
    expect(chart.locator(".wide")).to_be_hidden()
    least = flight.evaluate(
        """Math.min(...[...document.querySelectorAll('.narrow svg')].flatMap(svg => {
             const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
             const size = text => parseFloat(getComputedStyle(text).fontSize) * scale;
             return [...svg.querySelectorAll('text')].map(size);
           }))"""
    )
    assert least >= 11


def test_every_number_on_a_phone_says_what_it_is(flight: Page) -> None:
    flight.set_viewport_size(PHONE)
    cell = flight.locator("#points td").first
    assert cell.evaluate("e => getComputedStyle(e, '::before').content") == '"Pressure altitude, ft"'


def test_text_stays_inside_its_picture(flight: Page) -> None:
    """Nothing is drawn beyond the edge of a chart, where it would be cut off."""
    for width in (DESK, PHONE):
        flight.set_viewport_size(width)
        cut = flight.evaluate(
            """[...document.querySelectorAll('.chart svg')].filter(s => s.getBoundingClientRect().width)
                 .flatMap(svg => {
                   const box = svg.getBoundingClientRect();
                   return [...svg.querySelectorAll('text')].filter(t => {
                     const b = t.getBoundingClientRect();
                     return b.width && (b.left < box.left - 1 || b.right > box.right + 1
                                        || b.top < box.top - 1 || b.bottom > box.bottom + 1);
                   }).map(t => t.textContent);
                 })"""
        )
        assert cut == []


def test_light_and_dark(flight: Page) -> None:
    line = flight.locator("#chart-sample-velocity_circles .wide svg path[stroke='#0b64a0']").first
    flight.emulate_media(color_scheme="dark")
    assert line.evaluate("e => getComputedStyle(e).stroke") == "rgb(98, 181, 242)"
    flight.emulate_media(color_scheme="light")
    assert line.evaluate("e => getComputedStyle(e).stroke") == "rgb(11, 100, 160)"


def test_paper_bears_the_content_alone(flight: Page) -> None:
    flight.emulate_media(media="print", color_scheme="dark")
    expect(flight.locator("header.top")).to_be_hidden()
    expect(flight.locator("#chart-sample-flight .wide")).to_be_visible()


def test_markup_in_texts_does_not_run(page: Page, faults: list[str], tmp_path: Path) -> None:
    write_flight(hostile_day(), tmp_path / "page.html")
    spoken: list[str] = []
    page.on("dialog", lambda dialog: (spoken.append(dialog.message), dialog.dismiss()))
    page.goto((tmp_path / "page.html").as_uri())
    assert spoken == []
    expect(page.locator("h1")).to_have_text("<script>alert('x')</script>&\"</svg>")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
