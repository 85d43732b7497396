"""The page that takes a flight's entries keeps them and hands them back; the cards fit their paper."""

import functools
import http.server
import os
import shutil
import signal
import subprocess
import threading
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from browser.conftest import FLAGS, chromium_path
from flyoff.flights.read import parse_flight
from flyoff.study.plan import planned, write_cards
from helpers.airplanes import FOLDER

pytestmark = pytest.mark.browser
FLIGHT = """\
date = "2026-06-09"
aircraft = "vadmel"
title = "one </textarea><b> & two"
loading = { ramp_weight = "1,130 kg", fuel_at_start = "120 L", fuel_density = "0.80 kg/L" }
plan = { time = "90 min", airfield_elevation = "52 ft", lowest = "2,500 ft", highest = "8,500 ft" }
"""
GALLONS = FLIGHT.replace("vadmel", "kattun").replace("0.80", "0.72").replace("90 min", "150 min")
READ = {
    "start": "10:12:00", "end": "1013", "pressure_altitude": "6520", "indicated_airspeed": "112,5",
    "outside_air_temperature": "−3", "fuel_flow": "21.4", "note": 'smooth, "no" cloud\\haze',
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    study = tmp_path_factory.mktemp("planned") / "study"
    shutil.copytree(FOLDER, study)
    flight = study / "flights" / "next.toml"
    flight.write_text(FLIGHT, "utf-8")
    write_cards(planned(flight), flight, study / "cards")
    other = study / "flights" / "gallons.toml"
    other.write_text(GALLONS, "utf-8")
    write_cards(planned(other), other, study / "cards" / "gallons")
    return study / "cards"


@pytest.fixture(scope="module")
def server(folder: Path) -> Iterator[str]:
    class Quiet(http.server.SimpleHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            pass

    handler = functools.partial(Quiet, directory=folder)
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as started:
        threading.Thread(target=started.serve_forever, daemon=True).start()
        yield f"http://localhost:{started.server_port}/entry.html"
        started.shutdown()


def opened(page: Page, address: str) -> Page:
    page.goto(address)
    page.locator("body[data-ready]").wait_for()
    return page


def first_level(page: Page) -> str:
    card = page.locator('.card[data-title="Level"]').first.get_attribute("data-card")
    return f"c{card}.r1."


def fill(page: Page) -> str:
    run = first_level(page)
    for key, text in READ.items():
        page.fill(f'[id="{run}{key}"]', text)
    return run


def values(page: Page, run: str) -> dict[str, str]:
    return {key: page.input_value(f'[id="{run}{key}"]') for key in READ}


def addresses(folder: Path, server: str) -> tuple[str, str]:
    return (folder / "entry.html").as_uri(), server


@pytest.mark.parametrize("where", [0, 1])
def test_entries_outlive_a_reload_and_come_back_as_a_flight(
    page: Page, folder: Path, server: str, where: int
) -> None:
    faults: list[str] = []
    page.on("console", lambda message: faults.append(message.text))
    page.on("pageerror", lambda error: faults.append(str(error)))
    opened(page, addresses(folder, server)[where])
    run = fill(page)
    assert page.inner_text("#state") == "7 entries, kept on this device"
    page.reload()
    page.locator("body[data-ready]").wait_for()
    assert values(page, run) == READ
    with page.expect_download() as download:
        page.click("#save")
    text = Path(download.value.path()).read_text("utf-8")
    assert text == page.input_value("#file")
    flight = parse_flight(text, "back.toml", folder)
    (point,) = flight.card.points
    assert (point.start, point.end, point.kind) == ("10:12:00", "10:13:00", "level")
    assert str(point.indicated_airspeed) == "112.5 kt"
    assert point.outside_air_temperature is not None
    assert point.outside_air_temperature.si == pytest.approx(270.15)
    assert point.note.endswith('; smooth, "no" cloud\\haze')
    assert flight.card.plan is not None  # the file as it was, and the points
    assert flight.card.title == "one </textarea><b> & two"
    assert [fault for fault in faults if "Autofocus" not in fault] == []


@pytest.mark.parametrize("where", [0, 1])
def test_entries_outlive_a_closed_browser(
    browser: Browser, folder: Path, server: str, tmp_path: Path, where: int
) -> None:
    address = addresses(folder, server)[where]
    launch = functools.partial(
        browser.browser_type.launch_persistent_context, tmp_path, executable_path=chromium_path(),
        headless=True, args=FLAGS,
    )  # fmt: skip
    context = launch()
    run = fill(opened(context.new_page(), address))
    context.close()
    context = launch()
    assert values(opened(context.new_page(), address), run) == READ
    context.close()


def test_entries_outlive_a_dead_battery(browser: Browser, folder: Path, tmp_path: Path) -> None:
    """Every process of the browser is killed at once, a second after the last keystroke."""
    launch = functools.partial(
        browser.browser_type.launch_persistent_context, tmp_path, executable_path=chromium_path(),
        headless=True, args=FLAGS,
    )  # fmt: skip
    address = (folder / "entry.html").as_uri()
    context = launch()
    page = opened(context.new_page(), address)
    run = fill(page)
    page.wait_for_timeout(1000)
    listed = subprocess.run(["pgrep", "-f", f"user-data-dir={tmp_path}"], capture_output=True, text=True)
    own = [int(pid) for pid in listed.stdout.split()]
    assert own
    for pid in own:
        os.kill(pid, signal.SIGKILL)
    for lock in tmp_path.glob("Singleton*"):
        lock.unlink()
    context = launch()
    assert values(opened(context.new_page(), address), run) == READ
    context.close()


def test_refused_storage_is_said_and_entries_still_come_back(page: Page, folder: Path) -> None:
    page.add_init_script(
        "for (const name of ['localStorage', 'indexedDB']) Object.defineProperty(window, name,"
        " { get() { throw new DOMException('no', 'SecurityError'); } });"
    )
    opened(page, (folder / "entry.html").as_uri())
    run = first_level(page)
    page.fill(f'[id="{run}start"]', "10:12")
    assert "refuses to keep entries" in page.inner_text("#state")
    assert "Save the flight file" in page.inner_text("#state")
    assert "10:12:00" in page.input_value("#file")


def test_what_cannot_be_is_said_and_never_lost(page: Page, folder: Path) -> None:
    opened(page, (folder / "entry.html").as_uri())
    run = fill(page)
    page.fill(f'[id="{run}indicated_airspeed"]', "11x")
    assert page.get_attribute(f'[id="{run}indicated_airspeed"]', "aria-invalid") == "true"
    assert "indicated_airspeed '11x': not a number" in page.inner_text("#faults")
    text = page.input_value("#file")
    assert "points" not in tomllib.loads(text)
    assert '# indicated_airspeed = "11x"' in text
    page.fill(f'[id="{run}indicated_airspeed"]', "112")
    page.fill(f'[id="{run}end"]', "")
    assert "no end time" in page.inner_text("#faults")
    page.fill(f'[id="{run}end"]', "10:13:00")
    assert page.inner_text("#faults") == ""
    assert len(tomllib.loads(page.input_value("#file"))["points"]) == 1


ODD = (
    'three """',
    "\\\\n",
    "'''",
    "a\ttab",
    "\x7f\x1f!",
    "\U0001f680",
    "=[x]#",
    "a\u2028.",
    "ἄνεμος",
    "${a}",
)


def test_any_note_comes_back_letter_for_letter(page: Page, folder: Path) -> None:
    opened(page, (folder / "entry.html").as_uri())
    run = fill(page)
    for text in ODD:
        page.eval_on_selector(
            f'[id="{run}note"]',
            "(e, t) => { e.value = t; e.dispatchEvent(new Event('input', { bubbles: true })); }",
            text,
        )
        (point,) = tomllib.loads(page.input_value("#file"))["points"]
        assert point["note"].partition("; ")[2] == text


def test_climbs_units_dates_and_more_runs(page: Page, folder: Path) -> None:
    opened(page, (folder / "entry.html").as_uri())
    climb = page.locator('.card[data-kind="climb"]').first
    number, runs = climb.get_attribute("data-card"), climb.locator(".run").count()
    climb.locator(".another").click()
    run = f"c{number}.r{runs + 1}."
    read = {"start": "235930", "end": "000100", "start_altitude": "6500", "end_altitude": "7700"}
    for key, text in {**read, "indicated_airspeed": "174"}.items():
        page.fill(f'[id="{run}{key}"]', text)
    page.click("summary >> nth=0")
    page.select_option('[id="unit.indicated_airspeed"]', "km/h")
    page.fill("#date", "2026-06-11")
    page.reload()
    page.locator("body[data-ready]").wait_for()
    flight = parse_flight(page.input_value("#file"), "back.toml", folder)
    (point,) = flight.card.points
    assert flight.date.isoformat() == "2026-06-11"
    assert str(point.indicated_airspeed) == "174 km/h"
    assert str(point.rate_of_climb) == "800 ft/min"  # 1,200 ft in 90 s, over midnight
    assert str(point.pressure_altitude) == "7100 ft"
    assert "from 6500 ft to 7700 ft" in point.note
    assert point.end == "2026-06-12T00:01:00Z"
    page.fill(f'[id="{run}end"]', "22:00")
    assert "the end is before the start" in page.inner_text("#faults")


def test_works_by_keyboard_and_by_touch(browser: Browser, folder: Path) -> None:
    for scheme in ("light", "dark"):
        context = browser.new_context(viewport={"width": 390, "height": 844}, color_scheme=scheme)  # type: ignore[arg-type]
        page = opened(context.new_page(), (folder / "entry.html").as_uri())
        page.focus(".run input >> nth=0")
        page.keyboard.type("1012")
        page.keyboard.press("Enter")
        page.keyboard.type("1013")
        assert page.input_value(".run input >> nth=1") == "1013"
        page.click(".now >> nth=0")
        assert page.input_value(".run input >> nth=0").count(":") == 2
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        small = page.evaluate(
            "[...document.querySelectorAll('input, button, select, summary, nav a, .top a')]"
            ".filter(e => e.offsetParent && e.getBoundingClientRect().height < 44)"
            ".map(e => e.id || e.className)"
        )
        assert small == []
        context.close()


@pytest.mark.parametrize("file", ["cards.html", "gallons/cards.html"])
def test_cards_print_on_a5_one_to_a_page(page: Page, folder: Path, file: str) -> None:
    page.goto((folder / file).as_uri())
    cards = page.locator(".card").count()
    assert all("Traffic first" in text for text in page.locator(".card footer").all_inner_texts())
    least = page.evaluate(
        "Math.min(...[...document.querySelectorAll('.card *')].filter(e => e.textContent.trim())"
        ".map(e => parseFloat(getComputedStyle(e).fontSize)))"
    )
    assert least >= 14 * 96 / 72 - 0.01
    spilling = page.evaluate(
        "[...document.querySelectorAll('.runs th')].filter(e => e.scrollWidth > e.clientWidth + 1)"
        ".map(e => e.textContent)"
    )
    assert spilling == []
    pdf = page.pdf(prefer_css_page_size=True)
    assert pdf.count(b"/Type /Page\n") == cards or pdf.count(b"/Type /Page ") == cards
    assert b"/MediaBox [0 0 419" in pdf or b"/MediaBox [0 0 420" in pdf
