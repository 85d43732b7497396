"""The system's Chromium, kept off the network."""

import os
import shutil
from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, Route, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = [
    "--no-sandbox",  # root, as in a container, cannot have one
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",  # its own errands too
]
LOOPBACK = {"127.0.0.1", "localhost", "::1"}
OWN_SCHEMES = {"file", "data", "blob", "about"}


def chromium_path() -> str | None:
    """Return the system's Chromium: what CHROMIUM names, or the first known name on the PATH."""
    named = os.environ.get("CHROMIUM")
    return shutil.which(named) if named else next(filter(None, map(shutil.which, NAMES)), None)


def is_outside(url: str) -> bool:
    """Tell whether an address leads off this machine."""
    parts = urlsplit(url)
    return parts.scheme not in OWN_SCHEMES and parts.hostname not in LOOPBACK


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = chromium_path()
    if path is None:
        reason = "no Chromium: set CHROMIUM, or install it (make browser)"
        if os.environ.get("CI"):
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason)
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, headless=True, args=FLAGS)
        yield started
        started.close()


@pytest.fixture
def refused() -> list[str]:
    """Return the addresses off this machine that the page asked for; the page fixture expects none."""
    return []


@pytest.fixture
def page(browser: Browser, refused: list[str]) -> Iterator[Page]:
    """Yield a page whose requests off this machine are refused, and fail the test that made one."""

    def decide(route: Route) -> None:
        if is_outside(route.request.url):
            refused.append(route.request.url)
            route.abort()
        else:
            route.continue_()

    context = browser.new_context()
    context.route("**/*", decide)
    yield context.new_page()
    context.close()
    if refused:
        pytest.fail(f"the page asked for what is not on this machine: {', '.join(refused)}", pytrace=False)
