"""Take the picture of the demo's report for the front pages: the system's Chromium, off the network.

python docs/tools/screenshot.py REPORT.html PICTURE.png [WIDTH [HEIGHT [light|dark [ANCHOR]]]]
"""

import shutil
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright


def main() -> None:
    """Take one picture."""
    report, picture, *rest = sys.argv[1:]
    width, height, scheme, anchor = (*rest, *["1280", "1000", "light", ""][len(rest) :])
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if chromium is None:
        raise SystemExit("no Chromium: make browser")
    flags = ["--no-sandbox", "--disable-gpu", "--host-resolver-rules=MAP * ~NOTFOUND"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=flags)
        page = browser.new_page(
            viewport={"width": int(width), "height": int(height)},
            color_scheme="dark" if scheme == "dark" else "light",
        )
        page.goto(Path(report).resolve().as_uri() + (f"#{anchor}" if anchor else ""))
        page.wait_for_timeout(300)
        page.screenshot(path=picture)
        browser.close()


if __name__ == "__main__":
    main()
