"""The browser itself: it runs, draws a file, and stays off the network."""

from pathlib import Path

import pytest
from playwright.sync_api import Page

pytestmark = pytest.mark.browser


def test_draws_a_file(page: Page, tmp_path: Path) -> None:
    document = tmp_path / "page.html"
    document.write_text("<title>Rates</title><p id=a></p><script>a.textContent = 6 * 7</script>")
    page.goto(document.as_uri())
    assert page.title() == "Rates"
    assert page.locator("#a").text_content() == "42"
    assert page.screenshot().startswith(b"\x89PNG")


def test_refuses_the_network(page: Page, refused: list[str], tmp_path: Path) -> None:
    document = tmp_path / "page.html"
    document.write_text("<img src='http://pictures.invalid/a.png' onerror='document.title = \"refused\"'>")
    page.goto(document.as_uri())
    page.locator("img").wait_for(state="attached")
    assert page.title() == "refused"
    assert refused == ["http://pictures.invalid/a.png"]
    refused.clear()
