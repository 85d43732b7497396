"""A flight's page: whole, the same bytes in any process, each link leads somewhere, nothing runs or loads."""

import hashlib
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from urllib.parse import unquote

import pytest

from flyoff.core.caution import CAUTION
from flyoff.report.flight import flight_document
from flyoff.report.flown import FlownDay
from flyoff.report.write import write_flight
from helpers import flown_days
from helpers.report_page import Element, Page

PROGRAM = """
import sys
from pathlib import Path
from flyoff.report.write import write_flight
from helpers.flown_days import day_of
write_flight(day_of("carded.csv"), Path(sys.argv[1]))
"""


@pytest.fixture(scope="module")
def html(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("flight") / "page.html"
    write_flight(flown_days.day_of("sample.csv"), path)
    return path.read_text("utf-8")


@pytest.fixture(scope="module")
def page(html: str) -> Element:
    return Page(html).root


def test_nothing_is_loaded_and_only_the_one_script_may_run(html: str, page: Element) -> None:
    policy = next(e for e in page.all("meta") if "http-equiv" in e.attributes).attributes["content"]
    assert policy.startswith("default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-")
    assert len(page.all("script")) == 1
    outside = [
        v for e in page.walk() for n, v in e.attributes.items() if n in {"src", "href"} and v[:1] != "#"
    ]
    assert outside == []
    assert not re.search(r"url\((?!#)", html)


def test_ids_are_unique_and_links_lead_to_them(page: Element) -> None:
    for root in (page, Page(_written(flown_days.hostile_day())).root):
        ids = [e.attributes["id"] for e in root.walk() if "id" in e.attributes]
        assert len(ids) == len(set(ids))
        assert not [i for i in ids if re.search(r"[\s\"<>]", i)]
        links = [unquote(e.attributes["href"][1:]) for e in root.walk() if "href" in e.attributes]
        assert links
        assert set(links) <= set(ids)
        clips = [e.attributes["clip-path"] for e in root.walk() if "clip-path" in e.attributes]
        assert {clip[5:-1] for clip in clips} <= set(ids)


def _written(day: FlownDay) -> str:
    with tempfile.TemporaryDirectory() as folder:
        write_flight(day, Path(folder) / "page.html")
        return (Path(folder) / "page.html").read_text("utf-8")


def test_caution_header_charts_and_tables_are_there(page: Element) -> None:
    text = page.all("main")[0].text
    assert CAUTION in text
    titles = [e.text for e in page.all("h2")]
    assert len(titles) == len(flight_document(flown_days.day_of("sample.csv")).parts) == 10
    charts = page.all("figure")
    assert len(charts) == len(flown_days.day_of("sample.csv").pictures) == 5
    for chart in charts:
        drawn = [e for e in chart.walk() if e.tag == "svg"]
        assert [svg.attributes["role"] for svg in drawn] == ["img", "img"]
        assert all(len(svg.attributes["aria-label"]) > 40 for svg in drawn)


def test_the_page_tells_what_the_json_tells(page: Element) -> None:
    data = flown_days.day_of("sample.csv").data
    text = page.all("main")[0].text
    for group in data["legs"]:
        if not group["refused"]:
            assert f"{group['wind_from_deg']:03.0f}° ±" in text
    for warning in data["warnings"]:
        assert " ".join(warning.split()) in text
    numbered = [e for e in page.all("tr") if e.attributes.get("id", "").startswith("condition-")]
    assert len(numbered) == len(data["points"])


def test_what_users_write_stays_text() -> None:
    written = _written(flown_days.hostile_day())
    assert written.count("<script") == 1
    assert Page(written).root.all("h1")[0].text == flown_days.HOSTILE


def test_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    write_flight(flown_days.day_of("carded.csv"), tmp_path / "here.html")
    tests = str(Path(flown_days.__file__).parents[1])
    command = [sys.executable, "-c", PROGRAM, str(tmp_path / "there.html")]
    subprocess.run(command, check=True, env={"PYTHONPATH": tests, "PYTHONHASHSEED": "271"})
    here, there = (hashlib.sha256((tmp_path / f"{n}.html").read_bytes()).digest() for n in ("here", "there"))
    assert here == there


def test_no_time_of_making(html: str) -> None:
    assert "generated" not in html.lower()
    days = set(re.findall(r"\b20\d\d-\d\d-\d\d\b", html))
    assert days <= {str(flown_days.day_of("sample.csv").data["date"])}
