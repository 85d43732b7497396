"""The marked copy of a draft: each reason by keyboard and by pointer, on a phone too, colour never alone."""

from importlib.resources import files
from pathlib import Path

import pytest
from playwright.sync_api import Page

from flyoff.study.check import check, write_page

pytestmark = pytest.mark.browser
DRAFT = Path(str(files("flyoff.demo") / "files" / "draft.md"))


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("check") / "check.html"
    write_page(check([DRAFT]), path, figures=False)
    return path.as_uri()


def test_reasons_show_by_keyboard_and_by_pointer(page: Page, address: str) -> None:
    page.goto(address)
    marks = page.locator(".q[tabindex]")
    assert page.locator(".why:visible").count() == 0
    for _ in range(100):
        page.keyboard.press("Tab")
        if page.locator(".q.impossible:focus").count():
            break
    assert page.locator(".q.impossible:focus .why").is_visible()
    assert "Impossible" in page.locator(".q.impossible:focus .why b").inner_text()
    page.locator("h1").click()
    marks.first.hover()
    assert marks.first.locator(".why").is_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_a_phone_and_needs_no_colour(page: Page, address: str, scheme: str) -> None:
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(address)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    sign = "e => getComputedStyle(e, '::after').content"
    signs = {
        verdict: page.locator(f".q.{verdict}[tabindex]").first.evaluate(sign)
        for verdict in ("impossible", "unsupported", "not-a-figure")
    }
    assert len(set(signs.values())) == 3
    accused = page.locator(".q.impossible[tabindex]").first
    accused.focus()
    box = accused.locator(".why").bounding_box()
    assert box
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= 360
