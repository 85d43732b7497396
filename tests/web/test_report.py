"""The report's HTML: each number is its figure, each link leads somewhere, nothing runs or loads."""

import itertools
import json
import re
from collections import Counter
from pathlib import Path
from urllib.parse import unquote

import pytest

from flyoff.charts.catalogue import charts_of
from flyoff.comparison.results import Comparison
from flyoff.core.caution import CAUTION
from flyoff.report.write import write_report
from helpers import comparison_fixture
from helpers.report_page import Element, Page

WHOLE = comparison_fixture.comparison()


def built(comparison: Comparison, folder: Path) -> str:
    write_report(comparison, comparison_fixture.SOURCES, folder, lambda _: None)
    return (folder / "report.html").read_text("utf-8")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("report")
    built(WHOLE, path)
    return path


@pytest.fixture(scope="module")
def page(folder: Path) -> Element:
    return Page((folder / "report.html").read_text("utf-8")).root


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> str:
    return built(comparison_fixture.hostile(), tmp_path_factory.mktemp("hostile"))


def published(page: Element) -> list[Element]:
    return [element for element in page.walk() if "data-figure" in element.attributes]


def test_every_published_number_is_its_figure(page: Element, folder: Path) -> None:
    records = {r["key"]: r for r in json.loads((folder / "figures.json").read_text("utf-8"))["figures"]}
    found = published(page)
    assert {element.attributes["data-figure"] for element in found} == set(records)
    for element in found:
        record = records[element.attributes["data-figure"]]
        if record["value"] is None:
            assert "data-value" not in element.attributes
        else:
            assert float(element.attributes["data-value"]) == record["value"]


def test_printed_numbers_are_those_of_the_figures(page: Element) -> None:
    """What is read is what the figure prints, no digit finer than its uncertainty."""
    for element in published(page):
        figure = WHOLE.figures[element.attributes["data-figure"]]
        if "f" not in element.attributes.get("class", "").split():
            continue  # the index shows the key as its link
        if figure.si is None:
            assert element.text.startswith("missing")
        else:
            assert element.text.lstrip("+") == str(figure)


def test_a_missing_figure_says_why(page: Element) -> None:
    link = next(e for e in published(page) if e.attributes["data-figure"] == "rita.price_as_compared")
    assert link.text == "missing the handbook gives no price"


def test_every_figure_opens_its_trace(page: Element) -> None:
    ids = {e.attributes["id"]: e for e in page.walk() if "id" in e.attributes}
    for element in published(page):
        key = element.attributes["data-figure"]
        assert element.tag == "a"
        assert element.attributes["href"] == f"#trace-{key}"
        trace = ids[f"trace-{key}"]
        figure = WHOLE.figures[key]
        text = trace.text
        assert figure.trace.method in text
        assert figure.trace.source in text
        for given in figure.trace.inputs:
            assert given.text in text
            if given.place:
                assert str(given.place) in text
        for remark in figure.remarks:
            assert remark in text
        for name, words in figure.terms.items():
            assert f"{name}: {words}" in text


def test_ids_are_unique_and_every_link_inside_resolves(page: Element) -> None:
    ids = Counter(e.attributes["id"] for e in page.walk() if "id" in e.attributes)
    assert [name for name, count in ids.items() if count > 1] == []
    for element in page.walk():
        link = element.attributes.get("href")
        if link is not None:
            assert link.startswith("#")
            assert unquote(link[1:]) in ids, link
        for name in ("aria-labelledby", "aria-describedby"):
            if name in element.attributes:
                assert element.attributes[name] in ids
        if "clip-path" in element.attributes:
            assert element.attributes["clip-path"][5:-1] in ids


def test_nothing_is_loaded(page: Element) -> None:
    assert not any(
        e.tag in {"link", "img", "iframe", "object", "embed", "audio", "video"} for e in page.walk()
    )
    assert not any("src" in e.attributes or "srcset" in e.attributes for e in page.walk())
    assert all("url(" not in style.text and "@import" not in style.text for style in page.all("style"))
    policy = next(e for e in page.all("meta") if e.attributes.get("http-equiv") == "Content-Security-Policy")
    assert policy.attributes["content"].startswith("default-src 'none';")
    assert "http" not in policy.attributes["content"]


def test_landmarks_language_and_one_title(page: Element) -> None:
    assert page.all("html")[0].attributes["lang"] == "en"
    assert len(page.all("main")) == len(page.all("header")) == len(page.all("footer")) == 1
    assert len(page.all("h1")) == 1
    assert page.all("nav")[0].attributes["aria-label"]
    assert page.all("title")[0].text == WHOLE.title == page.all("h1")[0].text
    for section in page.all("section"):
        assert "aria-labelledby" in section.attributes


def test_headings_go_down_one_step_at_a_time(page: Element) -> None:
    levels = [int(e.tag[1]) for e in page.walk() if re.fullmatch(r"h[1-6]", e.tag)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_tables_name_their_rows_and_columns(page: Element) -> None:
    for table in page.all("table"):
        assert table.all("caption")[0].text
        heads = table.all("thead")[0].all("th")
        assert all(head.attributes["scope"] == "col" for head in heads)
        for row in (row for body in table.all("tbody") for row in body.all("tr")):
            assert row.all("th")[0].attributes["scope"] in {"row", "rowgroup"}
            cells = row.all("td")
            assert len(cells) in {0, len(heads) - 1}
            assert [c.attributes["data-column"] for c in cells] in ([], [h.text for h in heads[1:]])


def test_charts_are_described_and_drawn_for_both_widths(page: Element) -> None:
    figures = page.all("figure")
    assert len(figures) == len(charts_of(WHOLE))
    for figure in figures:
        drawings = [e for e in figure.all("svg") if e.attributes.get("role") == "img"]
        assert [int(d.attributes["width"]) > 500 for d in drawings] == [True, False]
        assert len({d.attributes["aria-label"] for d in drawings}) == 1
        assert len(drawings[0].attributes["aria-label"]) > 40
        assert figure.all("figcaption")[0].text


def test_cautions_marks_and_key(page: Element) -> None:
    cautions = [e for e in page.all("p") if e.attributes.get("class") == "caution"]
    assert len(cautions) >= 6
    assert all(CAUTION in caution.text for caution in cautions)
    key = next(e for e in page.all("dl") if e.attributes.get("class") == "key").text
    for word in ("measured in flight", "from the handbook", "fitted", "declared", "95 % interval"):
        assert word in key
    speed = next(e for e in page.all("td") if "146 ± 5 kt" in e.text)
    assert "extrapolated" in speed.text
    assert "other terms" in speed.text


def test_what_users_write_stays_text(hostile: str) -> None:
    root = Page(hostile).root
    bad = "<script>alert('x')</script>&\"</svg>"
    assert root.all("h1")[0].text == bad
    assert len(root.all("script")) == 1
    assert "alert" not in root.all("script")[0].text
    assert hostile.count("<script") == 1
    assert bad in root.all("main")[0].text
    ids = {e.attributes["id"] for e in root.walk() if "id" in e.attributes}
    links = [e.attributes["href"] for e in root.walk() if "href" in e.attributes]
    assert all(unquote(link[1:]) in ids for link in links)


def test_no_time_of_making(page: Element, folder: Path) -> None:
    assert not re.search(r"\b\d{1,2}:\d{2}:\d{2}\b", (folder / "report.html").read_text("utf-8"))
    assert "generated" not in page.text.lower()
