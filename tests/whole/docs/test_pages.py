"""The documentation cannot rot: each key, command, chart, figure is there; commands print what it shows."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from flyoff import cli
from flyoff.charts.catalogue import CHARTS, FLIGHT_CHARTS
from flyoff.comparison.compare import ROWS
from flyoff.core.units import DIMENSIONS, units_of
from flyoff.dossier.tables import COLUMNS
from flyoff.flights.channels import CHANNELS
from flyoff.report import tables
from flyoff.study.schema import KINDS, schema

ROOT = Path(__file__).parents[3]
DOCS = ROOT / "docs"
GENERATED = ("reference", "commands.md", "validation.md", "_build", "gallery")


def run(*command: str) -> None:
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.fail(done.stdout + done.stderr, pytrace=False)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of the documentation's sources with all generated pages, made anew."""
    folder = tmp_path_factory.mktemp("site") / "docs"
    shutil.copytree(DOCS, folder, ignore=shutil.ignore_patterns(*GENERATED, "__pycache__"))
    # Pages show parts of the demo's files.
    (folder.parent / "src/flyoff/demo").mkdir(parents=True)
    (folder.parent / "src/flyoff/demo/files").symlink_to(ROOT / "src/flyoff/demo/files")
    run(sys.executable, "docs/tools/make.py", str(folder))
    (folder / "validation.md").write_text("# Validation report\n")
    return folder


def keys_of(kind: str) -> set[str]:
    root = schema(kind)
    records = [root, *root["$defs"].values()]
    return {key for record in records for key in record.get("properties", {})}


def table_rows(text: str) -> set[str]:
    return set(re.findall(r"^\| `([^`]+)` \|", text, re.M))


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_of_a_file_is_explained(made: Path, kind: str) -> None:
    assert keys_of(kind) == table_rows((made / f"reference/{kind}.md").read_text("utf-8")) - set(CHANNELS) | (
        keys_of(kind) & set(CHANNELS)
    )


def test_every_channel_is_listed(made: Path) -> None:
    assert set(CHANNELS) <= table_rows((made / "reference/flight.md").read_text("utf-8"))


def test_every_table_column_is_listed(made: Path) -> None:
    assert table_rows((made / "reference/tables.md").read_text("utf-8")) == set(COLUMNS)


def test_every_unit_is_listed(made: Path) -> None:
    text = (made / "reference/values.md").read_text("utf-8")
    labels = [label for dimension in DIMENSIONS for label in units_of(dimension) if label]
    assert [label for label in labels if f"`{label}`" not in text] == []


def test_every_output_column_is_listed(made: Path) -> None:
    assert set(tables.COLUMNS) <= table_rows((made / "reference/outputs.md").read_text("utf-8"))


def test_every_command_and_option_is_listed(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = (made / "commands.md").read_text("utf-8")
    with pytest.raises(SystemExit):
        cli.main(["--help"])
    commands = re.findall(r"^    (\w+) {2,}", capsys.readouterr().out, re.M)
    assert len(commands) >= 4
    for name in commands:
        with pytest.raises(SystemExit):
            cli.main([name, "--help"])
        section = page.split(f"## flyoff {name}\n")[1].split("\n## ")[0]
        missing = [
            o
            for o in re.findall(r"--[\w-]+", capsys.readouterr().out)
            if not re.search(rf"`{o}[ `]|{o}`", section)
        ]
        assert missing == []
        assert f"`flyoff {name}" in (ROOT / "README.md").read_text("utf-8")


def test_every_chart_is_in_the_gallery() -> None:
    text = (DOCS / "gallery.md").read_text("utf-8")
    every = (*CHARTS, *FLIGHT_CHARTS)
    assert [chart.name for chart in every if f"`{chart.name}`" not in text] == []
    pictures = [f"gallery/{chart.name}-{theme}.svg" for chart in every for theme in ("light", "dark")]
    assert [picture for picture in pictures if picture not in text] == []


def test_every_compared_figure_has_its_method() -> None:
    text = "".join(path.read_text("utf-8") for path in (DOCS / "methods").glob("*.md"))
    assert [row.quantity for row in ROWS if f"`{row.quantity}`" not in text] == []


def test_commands_print_what_pages_show() -> None:
    run(sys.executable, "docs/tools/transcripts.py", "docs/day.md", "README.md")


def test_a_stale_page_is_told(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text("```console\n$ echo 2 > a; cat a\n1\n```\n\n<!-- output: echo 3 -->\n```text\n4\n```\n")
    command = [sys.executable, str(DOCS / "tools/transcripts.py")]
    told = subprocess.run([*command, str(page)], capture_output=True, text=True, check=False)
    assert told.returncode == 1
    assert "-1\n+2\n" in told.stdout
    assert subprocess.run([*command, "--write", str(page)], capture_output=True, check=False).returncode == 0
    assert "cat a\n2\n```" in page.read_text()
    assert subprocess.run([*command, str(page)], capture_output=True, check=False).returncode == 0


def test_a_broken_command_is_never_written(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(text := "```console\n$ python3 -c 'import no_such_module'\n```\n")
    command = [sys.executable, str(DOCS / "tools/transcripts.py"), "--write", str(page)]
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    assert told.returncode == 1
    assert "broke" in told.stderr
    assert page.read_text() == text


@pytest.mark.slow
def test_the_site_builds_without_a_warning_and_asks_nobody(made: Path, tmp_path: Path) -> None:
    site = tmp_path / "html"
    run(sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "-b", "html", str(made), str(site))
    pages = {path: path.read_text("utf-8") for path in site.rglob("*.html")}
    assert (site / "day.html") in pages
    fetched = re.compile(r"""(?:src|data)=["'](?:https?:)?//|<link[^>]*href=["'](?:https?:)?//|@import""")
    assert [path.name for path, text in pages.items() if fetched.search(text)] == []
    assert "<math" in pages[site / "methods/air-data.html"]


@pytest.mark.parametrize("page", ["README.md", "CHANGELOG.md"])
def test_links_of_the_front_pages_lead_somewhere(page: str) -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", (ROOT / page).read_text("utf-8"))
    assert [link for link in links if not (ROOT / link).exists()] == []
